"""What a lesson's own cells show: the opening questions, the twins, and all that is asked."""
from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Any

from acidbase_lib.teaching.questions.answer_text import ChartAnswer
from acidbase_lib.teaching.questions.exercise import Exercise
from acidbase_lib.teaching.questions.question_file import UnitPlan

from .asking import AskedWidget, Asking
from .earlier_questions import earlier_questions
from .twin_patients import twins_of, without_twin, wrong_ones

Answers = Callable[[str], ChartAnswer]


def opening_widget(unit_id: str, form: int, seed: str = "") -> AskedWidget:
    """Return three questions of earlier units; new ones at each opening, for no points."""
    return AskedWidget("From earlier units", Asking(earlier_questions(unit_id, form, seed)),
                       "This is the first unit: there is nothing earlier to ask.",
                       "That is all three. Nothing is marked or kept. Go on with this unit.",
                       "Three short questions from earlier units, for no points.", level=2)


def twins_widget(plan: UnitPlan, exercises: Mapping[str, Exercise], answer: Answers,
                 seed: str = "") -> AskedWidget:
    """Return what was not right at the first try, each with a twin patient."""
    answered = any(answer(name).values for name in exercises)
    nothing = ("Every answer that a rule can check was right at the first try. The practice brings "
               "new patients." if answered else
               "Nothing is answered yet. Answer the questions above; then come back here.")
    asked = twins_of(plan, exercises, wrong_ones(exercises, answer), seed)
    says = ("That is all. Nothing here is marked or kept. The practice brings more.", nothing)
    left_out = without_twin(exercises, answer)
    ended, nothing = (" ".join(filter(None, (one, left_out))) for one in says)
    return AskedWidget("Once more, with a twin patient", Asking(asked), nothing, ended)


class AllThatIsAsked:
    """A unit as its answer cells see it: its questions, and what it asks beside them."""

    def __init__(self, unit: Any) -> None:
        self._unit = unit

    @property
    def exercises(self) -> dict[str, Exercise]:
        """Every question by its id; those that count, and those that do not."""
        return {**self._unit.exercises, **self._unit.unmarked}

    def __getattr__(self, name: str) -> Any:
        return getattr(self._unit, name)
