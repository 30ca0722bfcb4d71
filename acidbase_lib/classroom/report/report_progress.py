"""What has changed in a class between two sittings, idea by idea, and how surely."""
from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING

from acidbase_lib.classroom.diagnosis.diagnosis import TOO_FEW, Diagnosis

if TYPE_CHECKING:
    from .report import Report

SURE = 0.80


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
class Progress:
    """A class between two sittings."""

    earlier: str
    both: tuple[str, ...]
    rows: tuple[Change, ...]
    not_asked_again: tuple[str, ...]


def progress_since(earlier: Report, later: Report) -> Progress:
    """Compare two reports of one class.

    Parameters
    ----------
    earlier, later : Report
        Of the same learners, known by the same ids; who sat only one of them is left out, and so
        is who gave too few answers in either.

    Notes
    -----
    Every learner's probability of holding an idea is taken from each sitting on its own. The
    certainty that fewer hold it now is the chance that more learners lost it than gained it, both
    counted exactly from these probabilities.
    """
    both = tuple(who for who in earlier.diagnoses if who in later.diagnoses and not any(
        r.diagnoses[who].verdict == TOO_FEW for r in (earlier, later)))
    shared = [i for i in earlier.ideas_asked if i in later.ideas_asked]
    rows = [_change(idea, later.misconceptions[idea].name, both, earlier.diagnoses,
                    later.diagnoses) for idea in shared]
    seen = [row for row in rows if max(row.before, row.now) >= 0.5]
    return Progress(
        earlier.title, both, tuple(sorted(seen, key=lambda row: -max(row.before, row.now))),
        tuple(i.idea for i in earlier.ideas if i.holders and i.idea not in later.ideas_asked))


def _change(idea: str, name: str, both: tuple[str, ...], before: Mapping[str, Diagnosis],
            now: Mapping[str, Diagnosis]) -> Change:
    held = {who: (before[who].holds(idea), now[who].holds(idea)) for who in both}
    return Change(
        idea, name, sum(p for p, _ in held.values()), sum(q for _, q in held.values()),
        tuple(w for w, (p, q) in held.items() if p * (1 - q) >= SURE),
        tuple(w for w, (p, q) in held.items() if p * q >= SURE),
        tuple(w for w, (p, q) in held.items() if (1 - p) * q >= SURE),
        chance_of_fewer([(p * (1 - q), (1 - p) * q) for p, q in held.values()]))


def chance_of_fewer(moves: list[tuple[float, float]]) -> float:
    """Chance that more learners lost an idea than gained it; an even split counts half.

    Parameters
    ----------
    moves : list of (float, float)
        For each learner, the chance to have lost it and the chance to have gained it.
    """
    chance = {0: 1.0}  # by how many more have lost it than gained it
    for lost, gained in moves:
        after: dict[int, float] = {}
        for net, p in chance.items():
            for step, q in ((1, lost), (-1, gained), (0, 1 - lost - gained)):
                if q > 1e-12:
                    after[net + step] = after.get(net + step, 0.0) + p * q
        chance = after
    return sum(p for net, p in chance.items() if net > 0) + chance.get(0, 0.0) / 2
