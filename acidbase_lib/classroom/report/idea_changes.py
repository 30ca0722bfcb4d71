"""What a class report says of two sittings: each idea before and now."""
from __future__ import annotations

from dataclasses import dataclass
from math import comb

FAIRLY, VERY = (0.80, 1 / 8), (0.95, 1 / 32)  # how likely a change is, and how rare by chance


@dataclass(frozen=True, slots=True)
class Change:
    """One idea before and now, over the learners of whom both sittings tell.

    `mended` and `new` hold the learners of whom each is said with 80 of 100 or more; `expected`
    counts are sums of probabilities, so that a learner who is half sure counts half. `compared`
    counts the learners; `untold` are those who held it, and of whom nothing can be said now.
    """

    idea: str
    name: str
    before: float
    now: float
    mended: tuple[str, ...]
    still: tuple[str, ...]
    new: tuple[str, ...]
    surely_fewer: float
    compared: int = 0
    untold: tuple[str, ...] = ()

    @property
    def certainty(self) -> str:
        """How surely the number of holders has fallen or risen, in words."""
        fewer = self.surely_fewer >= 0.5
        most = max(self.surely_fewer, 1 - self.surely_fewer)
        lost, gained = len(self.mended), len(self.new)
        rare = chance_of_so_many(*((lost, gained) if fewer else (gained, lost)))
        word = next((word for word, (sure, chance) in (("very", VERY), ("fairly", FAIRLY))
                     if most >= sure and rare <= chance), "")
        return f"{word} sure: {'fewer' if fewer else 'more'} now" if word else "too close to say"

    @property
    def sentence(self) -> str:
        """The row in words."""
        untold = (f" Of {len(self.untold)} who held it nothing can be said now."
                  if self.untold else "")
        return (f"{self.name}: of {self.compared} who can be compared about {self.before:.0f} "
                f"before, about {self.now:.0f} now ({self.certainty}).{untold}")


def chance_of_so_many(one_way: int, other_way: int) -> float:
    """Chance of as many changes one way, or more, if both ways were as likely: the sign test.

    Examples
    --------
    >>> chance_of_so_many(5, 0), chance_of_so_many(2, 2)
    (0.03125, 0.6875)
    """
    changes = one_way + other_way
    return float(sum(comb(changes, n) for n in range(one_way, changes + 1)) / 2**changes)


@dataclass(frozen=True, slots=True)
class ClassProgress:
    """A class between two sittings."""

    earlier: str
    both: tuple[str, ...]
    rows: tuple[Change, ...]
    not_asked_again: tuple[str, ...]
