"""A small unit with every kind of question, for the marking tests; a kernel can import it too."""
from __future__ import annotations

from types import MappingProxyType

from acidbase_lib.teaching.questions.exercise import Exercise
from acidbase_lib.teaching.questions.fields import STANDARD_FIELDS, Choice, Field, lettered
from acidbase_lib.teaching.questions.question_file import UnitPlan
from acidbase_lib.teaching.unit import Unit, open_unit  # noqa: F401

_SIGNS = ("drowsiness", "tingling fingers", "flushed skin", "muscle cramps")
_STEPS = ("pH", "PaCO2", "bicarbonate", "name")

EXERCISES = (
    Exercise("q1-1", "several parts", 3.0, "Read this gas.",
             tuple(STANDARD_FIELDS[name] for name in ("pH", "bicarbonate", "disorder")),
             MappingProxyType({"pH": "low", "bicarbonate": "high",
                               "disorder": "respiratory acidosis"})),
    Exercise("q1-2", "choose one", 1.0, "What does the nurse do first?",
             (Field("answer", "one", lettered(("raise the head", "call", "wait"))),),
             None),  # an authored key: it stands in the hidden test only
    Exercise("q1-3", "select all", 2.0, "Select all that apply.",
             (Field("signs", "many", tuple(Choice(sign) for sign in _SIGNS)),),
             MappingProxyType({"signs": ("drowsiness", "flushed skin")})),
    Exercise("q1-4", "put in order", 3.0, "Put the steps in order.",
             (Field("steps", "order", tuple(Choice(_STEPS[i]) for i in (2, 0, 3, 1))),),
             MappingProxyType({"steps": _STEPS})),
    Exercise("q1-5", "number", 1.0, "What PaCO2 do you expect?",
             (Field("expected PaCO2", "number", unit="mmHg"),),
             MappingProxyType({"expected PaCO2": 30.0}),
             within=MappingProxyType({"expected PaCO2": 2.0})),
    Exercise("q1-6", "rationale", 2.0, "Say why.", (Field("because", "text"),), None),
)


class SmallUnit(Unit):
    """A unit whose exercises are written out, not drawn."""

    def __init__(self, counts: str = "mended half") -> None:
        super().__init__(UnitPlan("small", "A small unit", ()), 1, counts=counts)
        self.exercises = MappingProxyType({one.id: one for one in EXERCISES})


def open_small_unit() -> SmallUnit:
    """Open the unit in a notebook or outside one."""
    from acidbase_lib.teaching.unit import _shell

    unit = SmallUnit()
    if (shell := _shell()) is not None:
        from acidbase_lib.teaching.widgets.chart_cell import register

        register(shell, unit)
    return unit
