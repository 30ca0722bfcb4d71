"""A small unit with every kind of question, for the browser tests; copied beside their notebook."""

from __future__ import annotations

from collections.abc import Mapping
from types import MappingProxyType

from acidbase_lib.teaching.questions.answer_text import ChartAnswer, parse_chart
from acidbase_lib.teaching.questions.exercise import Exercise, Mark, mark
from acidbase_lib.teaching.questions.fields import STANDARD_FIELDS, Choice, Field, lettered

_SIGNS = ("drowsiness", "tingling fingers", "flushed skin", "muscle cramps")
_STEPS = ("look at the pH", "look at the PaCO2", "look at the bicarbonate", "name the disorder")

EXERCISES: tuple[Exercise, ...] = (
    Exercise("q1-1", "several parts", 3.0, "Read this gas.",
             tuple(STANDARD_FIELDS[name] for name in ("pH", "bicarbonate", "disorder")),
             MappingProxyType({"pH": "low", "bicarbonate": "high",
                               "disorder": "respiratory acidosis"})),
    Exercise("q1-2", "choose one", 1.0, "Which gas fits?",
             (Field("answer", "one", lettered((
                 "pH 7.28, PaCO2 66 mmHg, bicarbonate 30 mmol/L",
                 "pH 7.52, PaCO2 28 mmHg, bicarbonate 22 mmol/L",
                 "pH 7.31, PaCO2 30 mmHg, bicarbonate 15 mmol/L"))),),
             MappingProxyType({"answer": "A"})),
    Exercise("q1-3", "select all", 2.0, "Select all that apply.",
             (Field("signs", "many", tuple(Choice(sign) for sign in _SIGNS)),),
             MappingProxyType({"signs": ("drowsiness", "flushed skin")})),
    Exercise("q1-4", "put in order", 3.0, "Put the steps in order.",
             (Field("steps", "order", tuple(Choice(_STEPS[i]) for i in (2, 0, 3, 1))),),
             MappingProxyType({"steps": _STEPS})),
    Exercise("q1-5", "number", 1.0, "What PaCO2 do you expect?",
             (Field("expected PaCO2", "number", unit="mmHg"),),
             MappingProxyType({"expected PaCO2": 30.0}), within=MappingProxyType(
                 {"expected PaCO2": 2.0})),
    Exercise("q1-6", "rationale", 2.0, "Say why.", (Field("because", "text"),), None),
)


class SmallUnit:
    """As much of a unit as a chart cell and a marker need."""

    def __init__(self) -> None:
        self.exercises: Mapping[str, Exercise] = {one.id: one for one in EXERCISES}
        self.answers: dict[str, ChartAnswer] = {}

    def record(self, question_id: str, text: str) -> ChartAnswer:
        """Keep an answer."""
        self.answers[question_id] = parse_chart(text, self.exercises[question_id].fields)
        return self.answers[question_id]

    def mark_of(self, question_id: str) -> Mark:
        """Mark the answer that is kept."""
        return mark(self.exercises[question_id], self.answers[question_id])


def open_small_unit() -> SmallUnit:
    """Open the unit in a notebook."""
    from IPython import get_ipython

    from acidbase_lib.teaching.widgets.chart_cell import register

    unit = SmallUnit()
    register(get_ipython(), unit)
    return unit
