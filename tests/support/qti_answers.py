"""Answers to try on an exercise, in the kit's own words, and units that know their keys."""
from __future__ import annotations

import random
from collections.abc import Iterator, Mapping
from itertools import chain, combinations, islice, permutations, product
from pathlib import Path
from types import MappingProxyType

import nbformat

from acidbase_lib.classroom.notebooks.write_questions import know_keys
from acidbase_lib.teaching.questions.answer_text import ChartAnswer
from acidbase_lib.teaching.questions.exercise import Exercise, Mark, mark
from acidbase_lib.teaching.questions.fields import STANDARD_FIELDS, Choice, Field, Value, lettered
from acidbase_lib.teaching.questions.question_file import UnitPlan
from acidbase_lib.teaching.unit import Unit, open_unit

SOLUTIONS = Path(__file__).parents[2] / "solutions"
MOST = 40  # answers tried on one exercise; all there are where they are fewer

Given = Mapping[str, Value]


def unit_with_keys(unit_id: str, form: int = 1) -> Unit:
    """A unit that knows the keys its instructor holds."""
    unit = open_unit(unit_id, form=form)
    know_keys(unit, nbformat.read(SOLUTIONS / unit_id / f"{unit_id}.ipynb", as_version=4))
    return unit


def marked(exercise: Exercise, given: Given) -> Mark:
    """What the kit's own rule makes of an answer."""
    missing = tuple(field.name for field in exercise.fields if field.name not in given)
    return mark(exercise, ChartAnswer(given, missing, ()))


def points(exercise: Exercise, given: Given) -> float:
    """The points that the kit's own rule gives."""
    return marked(exercise, given).points


def answers(exercise: Exercise) -> Iterator[Given]:
    """Yield the right answer, none, what each misconception answers, and others, no more than MOST.

    An order is always whole: no chart cell is read with steps left out.
    """
    assert exercise.key is not None
    yield dict(exercise.key)
    yield {}
    yield from (dict(given) for given in exercise.predicted.values())
    every = [list(_values(exercise, field)) for field in exercise.fields]
    size = 1
    for values in every:
        size *= len(values)
    names = [field.name for field in exercise.fields]
    chosen = product(*every) if size <= MOST else _some(every)
    for values in islice(chosen, MOST):
        yield {name: value for name, value in zip(names, values, strict=True) if value is not None}


def _some(every: list[list[Value | None]]) -> Iterator[tuple[Value | None, ...]]:
    draw = random.Random(7)
    while True:
        yield tuple(draw.choice(values) for values in every)


def _values(exercise: Exercise, field: Field) -> Iterator[Value | None]:
    yield None
    if field.kind == "one":
        yield from field.words
    elif field.kind == "many":  # nothing chosen is no answer to QTI, and earns the same
        yield from chain.from_iterable(combinations(field.words, n)
                                       for n in range(1, len(field.words) + 1))
    elif field.kind == "order":
        yield from permutations(field.words)
    elif field.kind == "number" and exercise.key is not None:
        right = float(exercise.key[field.name])  # type: ignore[arg-type]
        within = exercise.within.get(field.name, 0.0)
        steps = (-within - 0.01, -within, 0.0, within, within + 0.01, 40.0)
        yield from (round(right + step, 4) for step in steps if right + step >= 0)


_SIX = tuple(Choice(word) for word in ("one", "two", "three", "four", "five", "six"))

ODD = (
    Exercise("q9-1", "select all", 1.0,  # a third of a mark, and half a mark lost nowhere
             "Which signs are `x < 7` & \"so\"?\n\n| a | b |\n|:--|--:|\n| 1 < 2 | **3 & 4** |",
             (Field("signs", "many", _SIX),),
             MappingProxyType({"signs": ("one", "two", "three")}), ("2 < 3 & 5 > 4.",),
             MappingProxyType({"directions swapped": {"signs": ("four",)}})),
    Exercise("q9-2", "put in order", 1.0, "Order them.\n\n1. first\n2. then <b>this</b>",
             (Field("order", "order", lettered(("p", "q", "r", "s"))),),
             MappingProxyType({"order": ("B", "A", "D", "C")})),
    Exercise("q9-3", "several parts", 2.0, "Read it.",
             (STANDARD_FIELDS["pH"], Field("gap", "number", unit="mmol/L"),
              Field("which", "many", _SIX[:3])),
             MappingProxyType({"pH": "low", "gap": 4.9, "which": ("two", "three")}),
             within=MappingProxyType({"gap": 0.1})),
    Exercise("q9-4", "number", 1.0, "How many?", (Field("how many", "number"),),
             MappingProxyType({"how many": 0.0})),
    Exercise("q9-5", "linked pair", 2.0, "Both.",
             (Field("a-b / c", "one", (Choice("+1"), Choice("-1"), Choice("1"))),
              Field("gap", "number", unit="mmHg")),
             MappingProxyType({"a-b / c": "-1", "gap": 30.0}),
             predicted=MappingProxyType({"directions swapped": {"a-b / c": "+1", "gap": 33.0},
                                         "sides swapped": {"a-b / c": "+1", "gap": 36.0}}),
             within=MappingProxyType({"gap": 2.0})),
    Exercise("q9-6", "select all", 1.0, "None fits.", (Field("signs", "many", _SIX),),
             MappingProxyType({"signs": ()})),
    Exercise("q9-7", "first thought", 1.0, "Which?", (Field("signs", "many", _SIX),),
             MappingProxyType({"signs": ("one",)})),
    Exercise("q9-8", "rationale", 3.0, "Say why, in\x0bwords.", (Field("answer", "text"),), None),
    Exercise("q9-9", "choose one", 1.0, "Judge.", (Field("answer", "one", lettered("xyz")),), None),
    Exercise("q9-10", "several parts", 1.0, "Name it.", (Field("name", "text"),),
             MappingProxyType({"name": "gap"})),
)
HELD = ("q9-1", "q9-2", "q9-3", "q9-4", "q9-5", "q9-8", "q9-9")


class OddUnit(Unit):
    """Exercises that strain a format: odd shares of marks, odd letters, no key, nothing to choose.
    """

    def __init__(self) -> None:
        super().__init__(UnitPlan("odd", "Odd < ends & others", ()), 3)
        self.exercises = MappingProxyType({one.id: one for one in ODD})
