"""How a learner's answers fared, at the first try and now; a sitting tells nothing."""
from __future__ import annotations

import ast
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

from acidbase_lib.reading.settings_in_force import by_settings
from acidbase_lib.teaching.own_questions.called import plan_called
from acidbase_lib.teaching.questions.answer_text import LONGEST
from acidbase_lib.teaching.questions.carried_settings import settings_of
from acidbase_lib.teaching.questions.exercise import Exercise
from acidbase_lib.teaching.questions.own_copy import is_of_another
from acidbase_lib.teaching.questions.question_file import UnitError
from acidbase_lib.teaching.questions.which_try import FIRST_TRY, LAST_TRY, MENDED_HALF
from acidbase_lib.teaching.unit import Unit

from .learner_units import LearnerUnit


@dataclass(frozen=True, slots=True)
class UnitProgress:
    """One unit's answers, counted.

    Attributes
    ----------
    checked : int
        Answered questions that a rule can mark.
    first, now : int
        How many of them were right in every line at the first try, and are now.
    points, maximum : float
        What they have earned as this copy counts tries, half points with them, and the most.
    thoughts : int
        First thoughts that are kept: any complete answer counts, so none is right or wrong here.
    """

    checked: int
    first: int
    now: int
    thoughts: int = 0
    points: float = 0.0
    maximum: float = 0.0


def opened(unit: LearnerUnit) -> tuple[Unit, Unit, Unit] | None:
    """A learner's unit by its first tries, by its last, and as it counts them; None in a sitting.

    None as well where the unit cannot be opened: the file may be anybody's.
    """
    try:
        values = _opening(unit.setup)
        settings = settings_of(values.pop("school", ""))
        with by_settings(settings):
            plan = plan_called(values.pop("unit_id"), questions=values.pop("questions", ""))
        own = values.pop("counts", MENDED_HALF)
        if plan.sitting or values.get("order"):
            return None
        first, last, as_counted = (
            Unit(plan, values.get("form", 1), values.get("picks", ""), counts=counts,
                 settings=settings) for counts in (FIRST_TRY, LAST_TRY, own))
    except (UnitError, ValueError, TypeError, SyntaxError, LookupError, AttributeError,
            RecursionError, MemoryError):
        return None
    return first, last, as_counted


def progress_in(unit: LearnerUnit) -> UnitProgress | None:
    """Count a unit's right answers; None in a sitting, or where the unit cannot be opened."""
    marked = opened(unit)
    if marked is None:
        return None
    right, points = [], []
    for counted in marked:
        marks = []
        for question in _answered(unit, counted):
            counted.record(question, unit.texts[question])
            marks.append(counted.mark_of(question))
        right.append(sum(mark.points == mark.maximum for mark in marks))
        points.append(sum(mark.points for mark in marks))
    first, now, _ = right
    return UnitProgress(len(marks), first, now, _thoughts(unit, marked[0]), points[-1],
                        sum(mark.maximum for mark in marks))


def _answered(unit: LearnerUnit, counted: Unit) -> Iterator[str]:
    for question in unit.answered:
        exercise = counted.exercises.get(question)
        if exercise is not None and asks_another(unit, exercise):
            continue  # another version's patient: this kit's key is not theirs
        if exercise is not None and exercise.key is not None and exercise.kind not in (
                "rationale", "first thought"):
            yield question


def asks_another(unit: LearnerUnit, exercise: Exercise) -> bool:
    """Whether a learner's copy asks this question of another patient than the kit does now."""
    return exercise.id in unit.prompts and is_of_another(exercise.prompt, unit.prompts[exercise.id])


def _thoughts(unit: LearnerUnit, counted: Unit) -> int:
    """First thoughts that count; what is asked beside the questions is none of them."""
    return sum(counted.exercises[question].kind == "first thought" for question in unit.answered
               if question in counted.exercises)


def _opening(setup: str) -> dict[str, Any]:
    """What a setup cell passes to ``open_unit``, read as data."""
    if len(setup) > LONGEST:
        raise ValueError("no cell of ours is so long")
    for call in ast.walk(ast.parse(setup)):
        if isinstance(call, ast.Call) and getattr(call.func, "id", "") == "open_unit":
            given = {word.arg: word.value for word in call.keywords if word.arg}
            given |= dict(zip(("unit_id", "form", "picks", "order"), call.args, strict=False))
            return {name: ast.literal_eval(value) for name, value in given.items()}
    raise ValueError("no unit is opened")
