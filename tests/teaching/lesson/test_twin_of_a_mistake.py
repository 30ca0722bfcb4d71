"""A twin tests the mistake: the same right answer once more, never the wrong one just given."""
from __future__ import annotations

from collections.abc import Iterator

import pytest
from wrong_answers import wrong_answers

from acidbase_lib.teaching.lesson.twin_patients import twins_of
from acidbase_lib.teaching.questions.answer_text import parse_chart, write_chart
from acidbase_lib.teaching.questions.exercise import Answers, Exercise, Mark, mark
from acidbase_lib.teaching.questions.question_file import unit_ids
from acidbase_lib.teaching.unit import Unit, open_unit

NO_TWIN = ("first thought", "rationale")


def marked(exercise: Exercise, answer: Answers) -> Mark:
    return mark(exercise, parse_chart(write_chart(exercise.id, exercise.fields, answer),
                                      exercise.fields))


def twins(unit: Unit, exercise: Exercise, answer: Answers, turns: int) -> Iterator[Exercise]:
    (place,) = twins_of(unit.plan, unit.exercises, {exercise.id: marked(exercise, answer)}, "a")
    return (place.draw(turn) for turn in range(turns))


def words(exercise: Exercise, field: str, value: object) -> set[str]:
    """An answer without its letters."""
    texts = {c.word: c.text or c.word for f in exercise.fields if f.name == field
             for c in f.choices}
    return {texts[word] for word in (value if isinstance(value, tuple) else (value,))}


@pytest.mark.slow
def test_no_twin_of_any_question_has_the_wrong_answer_just_given_as_its_right_one() -> None:
    units = {unit_id: open_unit(unit_id) for unit_id in unit_ids()}
    own = {exercise.prompt: unit for unit in units.values() for exercise in unit}
    tried = set()
    for exercise, answer in wrong_answers(250, range(1, 2)):
        if exercise.prompt not in own or exercise.kind in NO_TWIN:
            continue
        tried.add(exercise.id)
        for twin in twins(own[exercise.prompt], exercise, answer, 2):
            assert twin.prompt != exercise.prompt
            key = twin.key or {}
            for part in marked(exercise, answer).parts:
                asked = next((f for f in twin.fields if f.name == part.field), None)
                if part.right or asked is None:
                    continue
                if asked.kind in ("number", "order"):
                    assert key[part.field] != part.given, (exercise.id, answer)
                    continue
                wrong = (words(exercise, part.field, part.given)
                         - words(exercise, part.field, part.key))
                assert not wrong & words(twin, part.field, key[part.field]), (exercise.id, answer)
    assert len(tried) > 60


@pytest.mark.parametrize("name", ["q2-1", "q2-2", "q2-3", "q2-4"])
def test_a_twin_has_the_same_disorder_whichever_wrong_one_was_named(name: str) -> None:
    """A metabolic acidosis called respiratory comes back as a metabolic acidosis."""
    unit = open_unit("02_primary_disorder")
    exercise = unit.exercises[name]
    field = exercise.fields[-1]
    key = (exercise.key or {})[field.name]
    for wrong in field.words:
        if wrong != key:
            for twin in twins(unit, exercise, {**(exercise.key or {}), field.name: wrong}, 3):
                assert words(twin, field.name, (twin.key or {})[field.name]) == words(
                    exercise, field.name, key)
