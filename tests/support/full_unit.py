"""The small unit and the kinds of question it lacks; a kernel can import it too."""
from __future__ import annotations

from types import MappingProxyType

from small_unit import EXERCISES as SMALL
from small_unit import SmallUnit

from acidbase_lib.teaching.questions.exercise import Exercise
from acidbase_lib.teaching.questions.fields import STANDARD_FIELDS, Choice, Field
from acidbase_lib.teaching.unit import _shell

_STATES = tuple(Choice(word) for word in ("low", "normal", "high"))
EXERCISES = (
    *SMALL,
    Exercise("q1-7", "grid", 3.0, "Say for each patient.",
             tuple(Field(f"bed {bed}", "one", _STATES) for bed in (1, 2, 3)),
             MappingProxyType({"bed 1": "low", "bed 2": "normal", "bed 3": "high"})),
    Exercise("q1-8", "linked pair", 2.0, "Name it and say what shows it.",
             (STANDARD_FIELDS["disorder"], STANDARD_FIELDS["pH"]),
             MappingProxyType({"disorder": "metabolic acidosis", "pH": "low"})),
    Exercise("q1-9", "first thought", 1.0, "Your first thought?",
             (Field("thought", "one", _STATES),), MappingProxyType({"thought": "low"})),
)

# For each question what a learner may write and what it earns, by hand from the rules; None
# waits for a person.
ANSWERS: dict[str, tuple[tuple[str, float | None], ...]] = {
    "q1-1": (("pH: low\nbicarbonate: high\ndisorder: respiratory acidosis", 3),
             ("pH: acidemia\nbicarbonate: raised\ndisorder: resp acidosis", 3),
             ("pH: acidosis\nbicarbonate: raised\ndisorder: resp acidosis", 2),
             ("pH: low\nbicarbonate: low", 1), ("pH: loww\ndisorder: normal", 0), ("", 0)),
    "q1-2": (("answer: B", 1), ("answer: b. call", 1), ("answer: A", 0), ("answer: Z", 0), ("", 0)),
    "q1-3": (("signs: flushed skin, drowsiness", 2), ("signs: drowsiness", 1),
             ("signs: drowsiness, flushed skin, muscle cramps", 1),
             ("signs: drowsiness, muscle cramps", 0), ("signs: none", 0), ("", 0)),
    "q1-4": (("steps: pH > PaCO2 > bicarbonate > name", 3),
             ("steps: pH, PaCO2, bicarbonate, name", 3),
             ("steps: name > pH > PaCO2 > bicarbonate", 2),
             ("steps: name > bicarbonate > PaCO2 > pH", 0), ("steps: pH > pH", 0), ("", 0)),
    "q1-5": (("expected PaCO2: 30", 1), ("expected PaCO2: 28 mmHg", 1),
             ("expected PaCO2: 4.0 kPa", 1), ("expected PaCO2: 4,0 kPa", 1),
             ("expected PaCO2: 33", 0), ("expected PaCO2: inf", 0), ("", 0)),
    "q1-6": (("because: carbon dioxide stays", None), ("because: <b>x</b> %%bash", None), ("", 0)),
    "q1-7": (("bed 1: low\nbed 2: normal\nbed 3: high", 3), ("bed 1: low\nbed 2: high", 1),
             ("bed 3: high\nbed 2: normal", 2), ("bed 1: high", 0), ("", 0)),
    "q1-8": (("disorder: metabolic acidosis\npH: low", 2), ("disorder: metabolic acidosis", 0),
             ("disorder: metabolic acidosis\npH: high", 0), ("", 0)),
    "q1-9": (("thought: high", 1), ("thought: low", 1), ("thought: perhaps", 0), ("", 0)),
}


class AllKinds(SmallUnit):
    """A unit with a question of every kind."""

    def __init__(self, counts: str = "mended half") -> None:
        super().__init__(counts)
        self.exercises = MappingProxyType({one.id: one for one in EXERCISES})


def open_all_kinds(counts: str = "mended half") -> AllKinds:
    """Open the unit in a notebook or outside one."""
    unit = AllKinds(counts)
    if (shell := _shell()) is not None:
        from acidbase_lib.teaching.widgets.chart_cell import register

        register(shell, unit)
    return unit
