"""Which try counts: the first, the last, or both, with half the points for what was mended."""
from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from types import MappingProxyType
from typing import Final

from acidbase_lib.teaching.worded import worded

from .answer_text import ChartAnswer
from .exercise import (
    RULES,
    Exercise,
    ExerciseKind,
    FirstMark,
    Mark,
    Part,
    all_or_nothing,
    mark,
    share_of_parts,
)

MENDED_HALF: Final = "mended half"
FIRST_TRY: Final = "first try"
LAST_TRY: Final = "last try"
#: How a release may count tries, the usual way first.
COUNTS = (MENDED_HALF, FIRST_TRY, LAST_TRY)

#: Said before the first press, so that nobody is surprised by what counts.
SAID_BEFORE: Mapping[str, str] = MappingProxyType({
    MENDED_HALF: "What is right at your first try earns its points, and what you mend after it "
                 "earns half.",
    FIRST_TRY: "Your first try earns the points; trying again helps you learn and changes none.",
    LAST_TRY: "Your last try earns the points, so you may try again.",
})


_COUNTED: Mapping[str, str] = MappingProxyType({
    MENDED_HALF: "Counted: the first try, and half of what was mended.",
    FIRST_TRY: "Counted: the first try.",
    LAST_TRY: "Counted: the last try.",
})


def said_before(exercise: Exercise, counts: str) -> str:
    """Say in one sentence what counts, for a learner who has not pressed anything yet."""
    if exercise.kind == "first thought" and exercise.points == 0:
        return (worded("A guess: no points. It is kept, so that you can look back.")
                if exercise.key else
                worded("For you alone: no points. It is kept, so that you can look back."))
    if exercise.kind == "first thought":
        return worded("This is your first thought: any complete answer earns the points.")
    if exercise.kind == "rationale":
        return worded("Your instructor reads this answer and gives the points.")
    return worded(SAID_BEFORE[counts])


def what_counted(mark: Mark) -> str:
    """Say which try earned the points of a mark; nothing where there was one try."""
    first = mark.first
    if first is None or mark.state == "waits for the instructor":
        return ""
    tries = (f"First try: {first.points:g} of {mark.maximum:g}. "
             f"Last try: {first.last:g} of {mark.maximum:g}.")
    if not first.sealed:
        tries = ("The first try kept in the cell was changed by hand, so it counts as not right. "
                 f"Last try: {first.last:g} of {mark.maximum:g}.")
    elif first.points == first.last == mark.points:
        return "Counted: your first try."
    return f"{tries} {_COUNTED[first.counts]}"


def first_text(exercise: Exercise | None, mark: Mark, part: Part) -> str:
    """Return what a written answer said before another text was shown, where it was not the same.

    Empty where nothing was compared, or nothing was changed since.
    """
    first = mark.first
    if first is None or exercise is None or exercise.kind != "rationale":
        return ""
    if not first.sealed:
        return "(unknown: the first try kept in the cell was changed by hand)"
    before = next((one.given for one in first.parts if one.field == part.field), None)
    same = " ".join(str(before or "").split()) == " ".join(str(part.given or "").split())
    return "" if same else str(before or "(nothing)")


def part_counted(exercise: Exercise | None, mark: Mark, part: Part) -> str:
    """Say of one line what its two tries earned, where they differ and lines earn alone."""
    first = mark.first
    if (first is None or exercise is None or RULES.get(exercise.kind) is not share_of_parts):
        return ""
    before = next((one for one in first.parts if one.field == part.field), None)
    was_right = before is not None and before.right
    if was_right == part.right or (before is None and not part.right):
        return ""
    if part.right:
        return "wrong at the first try, right at the last: " + {
            MENDED_HALF: "half", FIRST_TRY: "the first counts"}.get(first.counts, "full")
    return "right at the first try, wrong at the last: " + {
        LAST_TRY: "the last counts"}.get(first.counts, "the first counts")


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
    tried = FirstMark(first.points, first.parts if kept.sealed else (), kept.how_sure, kept.reason,
                     kept.sealed, last.points, counts)
    if exercise.kind in ("first thought", "rationale") or exercise.key is None:
        return replace(last, first=tried)
    points = {FIRST_TRY: first.points, LAST_TRY: last.points}.get(counts)
    if points is None:
        points = _mended_half(exercise, first, last)
    return replace(last, points=points, first=tried)


def counted_again(kind: ExerciseKind, mark: Mark) -> Mark:
    """Return a mark with its points counted anew from its parts, by the rule of its question.

    Parameters
    ----------
    kind : str
        The question's kind.
    mark : Mark
        Its parts may have been changed since it was given, such as by a second right answer.
    """
    exercise = Exercise(mark.question, kind, mark.maximum, "", (), None)
    rule = RULES[kind]

    def worth(parts: tuple[Part, ...]) -> float:
        return round(mark.maximum * rule(exercise, parts), 4)
    last = replace(mark, points=worth(mark.parts))
    if mark.first is None:
        return last
    nothing = tuple(replace(part, given=None, right=False, suggests=()) for part in mark.parts)
    first = replace(last, parts=mark.first.parts or nothing,
                    points=worth(mark.first.parts or nothing))
    points = {FIRST_TRY: first.points, LAST_TRY: last.points}.get(mark.first.counts)
    tried = replace(mark.first, points=first.points, last=last.points)
    if kind == "first thought":
        return replace(last, first=tried)
    return replace(last, first=tried,
                   points=_mended_half(exercise, first, last) if points is None else points)


def _mended_half(exercise: Exercise, first: Mark, last: Mark) -> float:
    """The first try's points, and half of what the better of both tries has beyond them."""
    rule = RULES[exercise.kind]
    if rule is all_or_nothing:  # lines that were never right together earn nothing
        return round(first.points + max(0.0, last.points - first.points) / 2, 4)

    def worth(part: Part) -> float:
        return rule(exercise, (part,))
    best = tuple(max(pair, key=worth) for pair in zip(first.parts, last.parts, strict=True))
    full = float(exercise.points) * rule(exercise, best)
    return round(first.points + max(0.0, full - first.points) / 2, 4)
