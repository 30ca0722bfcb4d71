"""What has changed in a class between two sittings, idea by idea, and how surely."""
from __future__ import annotations

from collections.abc import Mapping

from acidbase_lib.classroom.diagnosis.diagnosis import HELD, NOT_HELD, TOO_FEW, Diagnosis

from .idea_changes import Change, ClassProgress
from .report import Report

SURE = 0.80


def progress_since(earlier: Report, later: Report) -> ClassProgress:
    """Compare two reports of one class.

    Parameters
    ----------
    earlier, later : Report
        Of the same learners, known by the same ids; who sat only one of them is left out, and so
        is who gave too few answers in either.

    Notes
    -----
    Of each idea only those are compared of whom both sittings tell whether they hold it, see
    ``Diagnosis.standing``: whoever's answers now fit no single idea has not lost it. Their
    probability of holding it is taken from each sitting on its own. The certainty that fewer hold
    it now is the chance that more learners lost it than gained it, both counted exactly from these
    probabilities; it is told only where so one-sided a change is also rare by chance, by the sign
    test of those who surely lost and gained it.
    """
    both = tuple(who for who in earlier.diagnoses if who in later.diagnoses and not any(
        r.diagnoses[who].verdict == TOO_FEW for r in (earlier, later)))
    shared = [i for i in earlier.ideas_asked if i in later.ideas_asked]
    rows = [_change(idea, later.misconceptions[idea].name, both, earlier.diagnoses,
                    later.diagnoses) for idea in shared]
    seen = [row for row in rows if max(row.before, row.now) >= 0.5 or row.untold]
    return ClassProgress(
        earlier.title, both, tuple(sorted(seen, key=lambda row: -max(row.before, row.now))),
        tuple(i.idea for i in earlier.ideas if i.holders and i.idea not in later.ideas_asked))


def _change(idea: str, name: str, both: tuple[str, ...], before: Mapping[str, Diagnosis],
            now: Mapping[str, Diagnosis]) -> Change:
    stood = {who: (before[who].standing(idea), now[who].standing(idea)) for who in both}
    held = {who: (before[who].holds(idea), now[who].holds(idea)) for who, where in stood.items()
            if set(where) <= {HELD, NOT_HELD}}
    return Change(
        idea, name, sum(p for p, _ in held.values()), sum(q for _, q in held.values()),
        tuple(w for w, (p, q) in held.items() if p * (1 - q) >= SURE),
        tuple(w for w, (p, q) in held.items() if p * q >= SURE),
        tuple(w for w, (p, q) in held.items() if (1 - p) * q >= SURE),
        chance_of_fewer([(p * (1 - q), (1 - p) * q) for p, q in held.values()]),
        len(held), tuple(w for w, where in stood.items() if where[0] == HELD and w not in held))


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
