"""What a class report says of two sittings: each idea before and now."""
from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Change:
    """One idea before and now, over the learners who sat both.

    `mended` and `new` hold the learners of whom each is said with 80 of 100 or more; `expected`
    counts are sums of probabilities, so that a learner who is half sure counts half.
    """

    idea: str
    name: str
    before: float
    now: float
    mended: tuple[str, ...]
    still: tuple[str, ...]
    new: tuple[str, ...]
    surely_fewer: float

    @property
    def certainty(self) -> str:
        """How surely the number of holders has fallen or risen, in words."""
        most = max(self.surely_fewer, 1 - self.surely_fewer)
        if most < 0.80:
            return "too close to say"
        way = "fewer" if self.surely_fewer >= 0.5 else "more"
        return f"{'very' if most >= 0.95 else 'fairly'} sure: {way} now"

    @property
    def sentence(self) -> str:
        """The row in words."""
        return (f"{self.name}: about {self.before:.0f} before, about {self.now:.0f} now "
                f"({self.certainty}).")


@dataclass(frozen=True, slots=True)
class ClassProgress:
    """A class between two sittings."""

    earlier: str
    both: tuple[str, ...]
    rows: tuple[Change, ...]
    not_asked_again: tuple[str, ...]
