"""Answers to every question of the course, one line wrong or several, drawn by a seed."""
from __future__ import annotations

from collections.abc import Iterator
from functools import cache

from acidbase_lib.teaching.questions.exercise import Answers, Exercise, same
from acidbase_lib.teaching.questions.fields import Field, Value
from acidbase_lib.teaching.questions.question_file import load_plan, sitting_ids, unit_ids
from acidbase_lib.teaching.recipes.deal import draw_order
from acidbase_lib.teaching.seeded_random import SeededRandom
from acidbase_lib.teaching.unit import open_unit


@cache
def every_exercise(forms: range, dealt: bool = False) -> tuple[tuple[str, int, Exercise], ...]:
    """Every question of every unit and sitting, as its lesson asks it or as a form is dealt."""
    found = []
    for unit_id in (*unit_ids(), *sitting_ids()):
        for form in forms:
            order = draw_order(load_plan(unit_id), form) if dealt else ""
            found += [(unit_id, form, one) for one in open_unit(unit_id, form=form, order=order)]
    return tuple(found)


def wrong_answers(number: int, forms: range = range(1, 4)) -> Iterator[tuple[Exercise, Answers]]:
    """Yield this many wrong answers: half have one line changed, the others several."""
    draw = SeededRandom("wrong answers")
    asked = [e for _, _, e in every_exercise(forms) if e.key is not None and e.kind != "rationale"]
    made = 0
    while made < number:
        exercise = draw.pick(asked)
        most = 1 if made % 2 == 0 else draw.whole(2, 4)
        answer = dict(exercise.key or {})
        for field in draw.shuffled(exercise.fields)[:most]:
            answer[field.name] = _another(exercise, field, draw)
        if any(not same(f, answer[f.name], (exercise.key or {})[f.name],
                        exercise.within.get(f.name, 0.0)) for f in exercise.fields):
            made += 1
            yield exercise, answer


def _another(exercise: Exercise, field: Field, draw: SeededRandom) -> Value:
    """Another answer to a field: half of the time one that some wrong idea gives."""
    key = (exercise.key or {})[field.name]
    ideas = [told[field.name] for told in exercise.predicted.values()
             if field.name in told and told[field.name] != key]
    if ideas and draw.whole(0, 1):
        return draw.pick(ideas)
    if field.kind == "one":
        return draw.pick([word for word in field.words if word != key])
    if field.kind == "number":
        return float(key) + draw.pick([-7.0, -2.0, 3.0, 9.0])  # type: ignore[arg-type]
    if field.kind == "order":
        return tuple(draw.shuffled(field.words))
    chosen = {word for word in field.words if draw.whole(0, 1)}
    return tuple(word for word in field.words if word in chosen)
