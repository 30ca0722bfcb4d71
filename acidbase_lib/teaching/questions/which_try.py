"""Which try counts: the first, the last, or both, with half the points for what was mended."""
from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from types import MappingProxyType
from typing import Final

from .answer_text import ChartAnswer
from .exercise import RULES, Exercise, FirstMark, Mark, Part, mark

MENDED_HALF: Final = "mended half"
FIRST_TRY: Final = "first try"
LAST_TRY: Final = "last try"
#: How a release may count tries, the usual way first.
COUNTS = (MENDED_HALF, FIRST_TRY, LAST_TRY)

#: Said before the first press, so that nobody is surprised by what counts.
SAID_BEFORE: Mapping[str, str] = MappingProxyType({
    MENDED_HALF: "What is right at your first try earns its points. What you mend after it "
                 "earns half.",
    FIRST_TRY: "Your first try earns the points. Trying again helps you learn and changes no "
               "points.",
    LAST_TRY: "Your last try earns the points. You may try again.",
})


def said_before(exercise: Exercise, counts: str) -> str:
    """Say in one sentence what counts, for a learner who has not pressed anything yet."""
    if exercise.kind == "first thought":
        return "This is your first thought: any complete answer earns the points."
    if exercise.kind == "rationale":
        return "Your instructor reads this answer and gives the points."
    return SAID_BEFORE[counts]


def mark_tries(exercise: Exercise, answer: ChartAnswer, counts: str = MENDED_HALF) -> Mark:
    """Mark an answer with the first try that it keeps.

    Parameters
    ----------
    exercise : Exercise
        The question.
    answer : ChartAnswer
        What the chart cell says. Without a first try it is marked as it stands.
    counts : str
        One of ``COUNTS``.

    Notes
    -----
    A first try that was changed since counts as a wrong one. With "mended half" a part that was
    right first earns all, whatever stands there now; one that is right only now earns half.
    """
    last = replace(mark(exercise, answer), how_sure=answer.how_sure)
    kept = answer.first
    if kept is None:
        return last
    first = mark(exercise, ChartAnswer(kept.values if kept.sealed else {}, (), ()))
    told = FirstMark(first.points, first.parts if kept.sealed else (), kept.how_sure, kept.reason,
                     kept.sealed, last.points, counts)
    if exercise.kind in ("first thought", "rationale") or exercise.key is None:
        return replace(last, first=told)
    points = {FIRST_TRY: first.points, LAST_TRY: last.points}.get(counts)
    if points is None:
        points = _mended_half(exercise, first, last)
    return replace(last, points=points, first=told)


def _mended_half(exercise: Exercise, first: Mark, last: Mark) -> float:
    """The first try's points, and half of what the better of both tries has beyond them."""
    rule = RULES[exercise.kind]

    def worth(part: Part) -> float:
        return rule(exercise, (part,))
    best = tuple(max(pair, key=worth) for pair in zip(first.parts, last.parts, strict=True))
    full = float(exercise.points) * rule(exercise, best)
    return round(first.points + max(0.0, full - first.points) / 2, 4)
