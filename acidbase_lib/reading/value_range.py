"""A range with both ends inside it, and the error of a setting that is refused."""
from __future__ import annotations

from dataclasses import dataclass
from math import inf
from typing import Final

from acidbase_lib.physiology.quantities import QuantityError, plain, quoted

from .disorders import RangeState


class SettingsError(QuantityError):
    """A setting the library refuses; the message names the key and, if read from one, the file."""


@dataclass(frozen=True, slots=True)
class Range:
    """A range with both ends inside it."""

    low: float
    high: float

    def __post_init__(self) -> None:
        for end in (self.low, self.high):
            if isinstance(end, bool) or not isinstance(end, int | float) or not _finite(end):
                raise SettingsError("the ends of a range are two finite numbers, not "
                                    f"{quoted(end)}")
        if self.low >= self.high:
            raise SettingsError(f"the low end {plain(self.low)} is not below the high end "
                                f"{plain(self.high)}")

    @property
    def middle(self) -> float:
        """Halfway between the two ends."""
        return (self.low + self.high) / 2

    def state(self, value: float) -> RangeState:
        """Whether a value is low, normal or high; a value at either end is normal."""
        if value < self.low:
            return "low"
        return "high" if value > self.high else "normal"

    def __str__(self) -> str:
        return f"{plain(self.low)}–{plain(self.high)}"


#: Of these quantities only a low value is an alarm, where the limit is one number.
LOW_ALONE: Final = ("pao2", "sao2", "pf_ratio", "hemoglobin")


def ends_of(key: str, limits: Range | float) -> tuple[float, float]:
    """Both ends of a range or a single limit of a quantity; infinite where there is none."""
    if isinstance(limits, Range):
        return limits.low, limits.high
    return (limits, inf) if key.endswith(LOW_ALONE) else (-inf, limits)


def _finite(value: float) -> bool:
    return -inf < value < inf  # no overflow, however large an integer is
