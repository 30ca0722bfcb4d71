"""Three questions from earlier units, freshly drawn: what a unit opens with."""
from __future__ import annotations

import secrets
from collections.abc import Iterator
from dataclasses import replace

from acidbase_lib.teaching.questions.exercise import Exercise
from acidbase_lib.teaching.questions.question_file import Question, UnitPlan, load_plan, unit_ids
from acidbase_lib.teaching.recipes.book import cook_one
from acidbase_lib.teaching.seeded_random import SeededRandom

from .asking import AskedQuestion

ASKED = 3
#: Short enough to warm up with: one choice, one number, or a few lines of choices.
KINDS = ("choose one", "number", "linked pair", "several parts", "first thought")
_MOST_LINES = 4


def earlier_units(unit_id: str) -> tuple[str, ...]:
    """Return the lessons that come before a unit, the nearest first."""
    ids = unit_ids()
    before = ids[:ids.index(unit_id)] if unit_id in ids else ids
    return tuple(name for name in reversed(before) if not name.endswith("_sitting"))


def earlier_questions(unit_id: str, form: int, seed: str = "") -> list[AskedQuestion]:
    """Draw three questions of earlier units: one of the last unit, two of those before it.

    Parameters
    ----------
    unit_id : str
        The unit that opens.
    form : int
        Its form.
    seed : str, optional
        The same seed brings the same patients; left out, each opening brings new ones.
    """
    draw = SeededRandom(f"{unit_id}|opening|{form}|{seed or secrets.token_hex(8)}")
    units = earlier_units(unit_id)
    if not units:
        return []
    dealt = [units[0], *draw.shuffled(units[1:])]
    wanted = [dealt[place % len(dealt)] for place in range(ASKED)]
    asked: list[AskedQuestion] = []
    taken: set[str] = set()
    for name in wanted:
        plan = load_plan(name)
        question, exercise = next(_askable(plan, draw, taken))
        taken.add(question.id)
        title = f"From unit {int(plan.id[:2])}: {plan.title.rstrip('.')}"
        asked.append(AskedQuestion(title, "", lambda _turn, made=exercise: made))  # type: ignore[misc]
    return asked


def _askable(plan: UnitPlan, draw: SeededRandom, taken: set[str],
             ) -> Iterator[tuple[Question, Exercise]]:
    """Yield a unit's questions in a drawn order, those that are short and have a key."""
    for question in draw.shuffled(plan.questions):
        if question.id in taken:
            continue
        form = draw.whole(1_000, 999_999)
        exercise = cook_one(plan, question, form, 0, draw.whole(0, 3))
        if (exercise.key is not None and exercise.kind in KINDS
                and len(exercise.fields) <= _MOST_LINES
                and all(field.kind in ("one", "number") for field in exercise.fields)):
            # a first thought was asked before any teaching; here it is a question like any other
            yield question, (replace(exercise, kind="several parts")
                             if exercise.kind == "first thought" else exercise)
