"""Compare with another text: first the text as it stands is kept, then the other one is shown."""
from __future__ import annotations

from typing import TYPE_CHECKING, Any

from acidbase_lib.teaching.feedback.feedback_on_answer import held_against
from acidbase_lib.teaching.questions.answer_text import ChartAnswer
from acidbase_lib.teaching.questions.exercise import Exercise
from acidbase_lib.teaching.questions.first_try import (
    kept_lines,
    place_of,
    put_back,
    with_first_try,
    without_requests,
)
from acidbase_lib.teaching.questions.text_boxes import empty_boxes_told

from .answer_check import TOO_LONG

if TYPE_CHECKING:
    from .answer_check import CheckingUnit

WRITTEN = 20  # words, before a text is compared with another one
BEFORE = ("Your text as it stands now is kept as your first try; your instructor sees it.")
KEPT = ("Your first try is kept, and your instructor sees it. You may go on writing.")
TOO_SHORT = f"Write at least {WRITTEN} words first. Then compare them with another text."
NOTHING_TO_COMPARE = "Your instructor reads this answer. There is no other text here."


def is_compared(exercise: Exercise) -> bool:
    """Whether there is another text, or a list, that a written answer may be held against."""
    return exercise.kind == "rationale" and bool(exercise.model_call or exercise.ticks)


class TextCompared:
    """The comparing of one written answer in one kernel; the cell's text is the record.

    Nothing of the other text is sent before a first try stands in the cell.
    """

    def __init__(self, unit: CheckingUnit, question_id: str,
                 kept: dict[str, tuple[str, ...]]) -> None:
        self.unit = unit
        self.question = question_id
        self._place = place_of(question_id, unit.form)
        self._all_kept = kept

    @property
    def _exercise(self) -> Exercise:
        return self.unit.exercises[self.question]

    def follow(self, text: str) -> tuple[ChartAnswer, dict[str, Any]]:
        """Record a text; return how it was understood, and what may be compared."""
        answer = self.unit.record(self.question, text)
        lines = kept_lines(text, self._place)
        if lines:
            self._all_kept[self.question] = lines
        kept = self._all_kept.get(self.question, ())
        if kept or answer.first is not None:
            return answer, {"compare": {
                "says": self._says(KEPT, answer), "kept": list(kept), "open": True,
                "model": list(self._exercise.model_call), "ticks": list(self._exercise.ticks)}}
        if _words(answer) < WRITTEN:
            return answer, {}
        return answer, {"compare": {"says": self._says(BEFORE, answer), "kept": [],
                                    "open": False}}

    def _says(self, sentence: str, answer: ChartAnswer) -> str:
        """A sentence, and which boxes are still empty."""
        return " ".join(filter(None, (sentence, empty_boxes_told(self._exercise.fields, answer))))

    def keep(self, text: str) -> str:
        """Return a cell's text with the answer kept as its first try; the first one stays."""
        fields = self._exercise.fields
        text = put_back(without_requests(text, fields), self._all_kept.get(self.question, ()))
        answer = self.unit.record(self.question, text)
        return with_first_try(text, fields, self._place) if _words(answer) >= WRITTEN else text

    def press(self, text: str) -> tuple[ChartAnswer, dict[str, Any]]:
        """Keep a text, record it, and return what is compared with it."""
        kept = self.keep(text)
        answer, compared = self.follow(kept)
        if "compare" in compared and not compared["compare"]["open"]:
            compared["compare"]["says"] = TOO_LONG
        return answer, compared

    def typed(self, text: str) -> tuple[str, list[str]]:
        """Do the same for a typed line ``check: now``; return the new text and what is said."""
        kept = self.keep(text)
        answer, compared = self.follow(kept)
        if not compared:
            return kept, [TOO_SHORT]
        if not compared["compare"]["open"]:
            return kept, [TOO_LONG]
        return kept, [self._says(KEPT, answer), *held_against(self._exercise, blank=answer.blank)]


def _words(answer: ChartAnswer) -> int:
    return sum(len(str(value).split()) for value in answer.values.values())
