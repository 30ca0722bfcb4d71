"""A learner sits a form: plain answers become marks, by the kit's own marking."""
from __future__ import annotations

import random
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Any

from acidbase_lib.classroom.diagnosis.diagnosis import observe
from acidbase_lib.classroom.diagnosis.observation import Observation
from acidbase_lib.classroom.report.report import ideas_asked
from acidbase_lib.teaching.misconceptions.catalog import MISCONCEPTIONS
from acidbase_lib.teaching.questions.answer_text import parse_chart, write_chart
from acidbase_lib.teaching.questions.exercise import Exercise, Mark, mark
from acidbase_lib.teaching.questions.fields import Field, Value

from .forms import form_of
from .items import RIGHT, SLIP, Learner, items


@dataclass(frozen=True, slots=True)
class Sheet:
    """What one learner handed in: who it was, and every answer as evidence."""

    holds: frozenset[str]  # those ideas alone that the form can show
    kind: str
    form: tuple[str, int]
    seen: tuple[Observation, ...]


def asked(unit: str, seed: int) -> tuple[str, ...]:
    """Return the ideas that a form can show, as the report asks for them."""
    return tuple(ideas_asked(form_of(unit, seed).exercises, MISCONCEPTIONS))


def sit(learner: Learner, unit: str, seed: int, dice: random.Random) -> Sheet:
    """Let a learner answer a form.

    Raises
    ------
    ValueError
        An answer is none that the form offers: the maker is to be told.
    """
    exercises = form_of(unit, seed).exercises
    marks = []
    for item in items(unit, seed):
        exercise = exercises[item.question]
        given = dict(_filled(learner.answer(item), exercise, dice))
        marks.append(_mark(exercise, given))
    can = frozenset(asked(unit, seed))
    return Sheet(learner.holds & can, learner.kind, (unit, seed),
                 observe(exercises, marks))


def slipping(unit: str, seed: int, slip: float, dice: random.Random) -> Sheet:
    """Return the sheet of a sound learner who misses each answer with this chance."""
    exercises = form_of(unit, seed).exercises
    marks = [_mark(e, dict(_filled({f.name: SLIP if dice.random() < slip else RIGHT
                                    for f in e.fields}, e, dice))) for e in exercises.values()]
    return Sheet(frozenset(), "sound", (unit, seed), observe(exercises, marks))


def _mark(exercise: Exercise, given: Mapping[str, Value]) -> Mark:
    return mark(exercise, parse_chart(write_chart(exercise.id, exercise.fields, given),
                                      exercise.fields))


def _filled(answers: Mapping[str, Any], exercise: Exercise, dice: random.Random,
            ) -> Iterator[tuple[str, Value]]:
    fields = {field.name: field for field in exercise.fields}
    for name, value in answers.items():
        if name not in fields:
            raise ValueError(f"{exercise.id} has no line {name!r}.")
        if value is None or (fields[name].kind == "text" or exercise.key is None):
            continue
        key = exercise.key[name]
        found = key if value == RIGHT else _another(fields[name], key, dice) if (
            value == SLIP) else value
        if fields[name].kind == "one" and found not in fields[name].words:
            raise ValueError(f"{exercise.id}: {found!r} is no choice of {name!r}.")
        yield name, found


def _another(field: Field, key: Value, dice: random.Random) -> Value:
    if field.kind == "number":
        return float(key) + dice.choice((-4, -3, -2, 2, 3, 4))  # type: ignore[arg-type]
    if field.kind == "one":
        return dice.choice([word for word in field.words if word != key])
    if field.kind == "order":
        words = list(key)  # type: ignore[arg-type]
        at = dice.randrange(len(words) - 1)
        words[at], words[at + 1] = words[at + 1], words[at]
        return tuple(words)
    word = dice.choice(field.words)  # one tick too many or too few
    ticked = set(key) ^ {word}  # type: ignore[arg-type]
    return tuple(one for one in field.words if one in ticked)
