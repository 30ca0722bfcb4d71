"""What a learner may move on a picture, in the school's unit; inside, pressures are in mmHg."""
from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from math import ceil, floor

from acidbase_lib.physiology.units import kpa_to_mmhg, mmhg_to_kpa
from acidbase_lib.reading.kilopascal import kpa_first
from acidbase_lib.reading.settings_in_force import in_force
from acidbase_lib.reading.value_range import Range


@dataclass(frozen=True, slots=True)
class Control:
    """One number a learner may move, within the limits that the picture can show."""

    key: str
    label: str
    unit: str
    low: float
    high: float
    step: float
    value: float


@dataclass(frozen=True, slots=True)
class Preset:
    """A starting point by name."""

    name: str
    values: Mapping[str, float]


def whole_mmhg(kpa: float) -> float:
    """Return a tension in whole mmHg that lies where the same tension in kPa lies.

    Examples
    --------
    >>> whole_mmhg(4.6), whole_mmhg(4.7)  # 34.5 would round into the range
    (34.0, 35.0)
    """
    span = in_force().paco2
    as_printed = Range(round(mmhg_to_kpa(span.low), 1), round(mmhg_to_kpa(span.high), 1))
    near = sorted({floor(kpa_to_mmhg(kpa)), ceil(kpa_to_mmhg(kpa))},
                  key=lambda mmhg: abs(mmhg - kpa_to_mmhg(kpa)))
    return float(next((mmhg for mmhg in near if span.state(mmhg) == as_printed.state(kpa)),
                      near[0]))


class ShownUnits:
    """Numbers as the learner moves them, and as the picture takes them.

    Parameters
    ----------
    controls : tuple of Control
        Pressures in mmHg.
    as_they_are : bool
        True where a picture shows both units by itself.
    """

    def __init__(self, controls: tuple[Control, ...], *, as_they_are: bool = False) -> None:
        self._in_kpa = frozenset(one.key for one in controls if one.unit == "mmHg"
                                 and kpa_first() and not as_they_are)
        self.controls = tuple(self._shown(one) for one in controls)

    def _shown(self, control: Control) -> Control:
        if control.key not in self._in_kpa:
            return control
        return replace(control, unit="kPa", low=ceil(mmhg_to_kpa(control.low) * 10) / 10,
                       high=floor(mmhg_to_kpa(control.high) * 10) / 10, step=0.1,
                       value=_kpa(control.value))

    def shown(self, values: Mapping[str, float]) -> dict[str, float]:
        """Numbers of the picture as the learner sees them."""
        return {key: _kpa(value) if key in self._in_kpa else value
                for key, value in values.items()}

    def inside(self, values: Mapping[str, float]) -> dict[str, float]:
        """Numbers that a learner has set as the picture takes them. [mmHg]"""
        return {key: value if key not in self._in_kpa else
                _where_it_is_printed(value) if key == "paco2" else round(kpa_to_mmhg(value), 1)
                for key, value in values.items()}


def _where_it_is_printed(kpa: float) -> float:
    """A PaCO2 in mmHg that lies where the same number in kPa lies, by the ranges as printed."""
    span, mmhg = in_force().paco2, round(kpa_to_mmhg(kpa), 1)
    as_printed = Range(_kpa(span.low), _kpa(span.high)).state(kpa)
    if span.state(mmhg) == as_printed:
        return mmhg
    return min(span.low, span.high, key=lambda end: abs(end - mmhg)) if as_printed == "normal" \
        else whole_mmhg(kpa)


def _kpa(mmhg: float) -> float:
    return round(mmhg_to_kpa(mmhg), 1)
