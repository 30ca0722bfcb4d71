"""Marks adjusted after marking: what was decided, why, by whom, when, and what was taken back."""
from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any, Literal, get_args

from acidbase_lib.classroom.gradebook.course_folder import CourseFolder
from acidbase_lib.classroom.phrases import number_of, printable
from acidbase_lib.teaching.questions.exercise import RULES, points_in_words
from acidbase_lib.teaching.questions.fields import Value

from .class_history import user_name
from .history import ADJUSTED, UNDONE, History, HistoryError, Line
from .receipts import history_of

AdjustmentKind = Literal["void", "accept", "points", "allow", "on time"]
LONGEST_REASON = 300  # letters


class AdjustmentError(ValueError):
    """An adjustment that cannot be made; the text says why and what can."""


@dataclass(frozen=True, slots=True)
class Adjustment:
    """One decision about marks.

    Parameters
    ----------
    unit : str
        The sitting.
    kind : str
        "void": the question counts for nobody, or not for one learner. "accept": a second answer
        is right. "points": the question is worth other points. "allow": points are added for one
        learner. "on time": nothing is taken off for lateness.
    reason : str
        As learners and instructors read it.
    question, learner : str
        Whom or what it is about; empty where it is about all.
    field : str
        Of a second answer: the line of the question.
    value, instead_of : str, tuple of str or float
        The second answer, and the right one beside which it stands: it is accepted where the
        question had that key, and nowhere else.
    within : float
        Of a number: how far from it still counts. [the field's unit]
    rule : str
        Of a second answer: the kind of the question, by which points are counted.
    points : float or None
        The new worth of a question, or what is added for a learner.
    number : int
        Its place among the adjustments of the course; 0 while it is only proposed.
    at, by : str
        When (UTC) and by whom.
    """

    unit: str
    kind: AdjustmentKind
    reason: str
    question: str = ""
    learner: str = ""
    field: str = ""
    value: Value | None = None
    instead_of: Value | None = None
    within: float = 0.0
    rule: str = ""
    points: float | None = None
    number: int = 0
    at: str = ""
    by: str = ""

    @property
    def what(self) -> str:
        """What it does, for an instructor, without the reason."""
        number = number_of(self.question)
        whom = f" for {self.learner}" if self.learner else ""
        value = " > ".join(self.value) if isinstance(self.value, tuple) and self.rule == \
            "put in order" else ", ".join(self.value) if isinstance(self.value, tuple) else (
                f"{self.value:g} (within {self.within:g})" if isinstance(self.value, float)
                else self.value)
        return {"void": f"question {number} does not count{whom}",
                "accept": f"question {number}: {self.field}: {value} is right too",
                "points": f"question {number} is worth {points_in_words(self.points or 0.0)}",
                "allow": f"{points_in_words(self.points or 0.0)} more{whom}",
                "on time": f"nothing is taken off for lateness{whom}"}[self.kind]

    def record(self) -> dict[str, Any]:
        """Return it as the history tells it."""
        told: dict[str, Any] = {
            "unit": self.unit, "kind": self.kind, "reason": self.reason, "by": self.by,
            "question": self.question, "learner": self.learner}
        if self.points is not None:
            told |= {"points": self.points}
        if self.kind == "accept":
            told |= {"field": self.field, "value": _plain(self.value), "within": self.within,
                     "instead of": _plain(self.instead_of), "rule": self.rule}
        return told

    @classmethod
    def from_line(cls, line: Line, number: int) -> Adjustment:
        """Read it from its line.

        Raises
        ------
        HistoryError
            If the line tells what this kit does not write.
        """
        told = line.details or {}
        try:
            made = cls(told["unit"], told["kind"], told["reason"], told["question"],
                       told["learner"], str(told.get("field", "")), _value(told.get("value")),
                       _value(told.get("instead of")), float(told.get("within", 0.0)),
                       str(told.get("rule", "")),
                       None if told.get("points") is None else float(told["points"]), number,
                       line.at, told["by"])
            if (made.kind not in get_args(AdjustmentKind)
                    or (made.kind == "accept") != (made.rule in RULES)
                    or (made.kind in {"points", "allow"}) != (made.points is not None)):
                raise ValueError(line.number)
        except (KeyError, TypeError, ValueError):
            raise HistoryError(f"Line {line.number} of the history tells of an adjustment of marks "
                               "that this kit does not know. No marks are shown until it is clear "
                               "what was decided: use the newest kit, or put the history back from "
                               "your own backup of the folder.") from None
        return made


@dataclass(frozen=True, slots=True)
class Decided:
    """An adjustment and, where it was taken back, when and why."""

    adjustment: Adjustment
    undone: str = ""


def decided(folder: CourseFolder, unit: str) -> tuple[Decided, ...]:
    """Return every adjustment of a unit, those that were taken back as well, in order.

    Raises
    ------
    HistoryError
        If a line that tells of adjustments cannot be read: marks without them would be wrong.
    """
    history = history_of(folder)
    undone = {line.details["number"]: f"{line.at[:10]}, {line.details['reason']}"
              for line in history.each(UNDONE) if line.details}
    return tuple(Decided(one, undone.get(one.number, ""))
                 for _, one in _adjustments(history) if one.unit == unit)


def adjustments_of(folder: CourseFolder, unit: str) -> tuple[Adjustment, ...]:
    """Return the adjustments of a unit that hold, in order; see `decided`."""
    return tuple(one.adjustment for one in decided(folder, unit) if not one.undone)


def adjust(folder: CourseFolder, adjustment: Adjustment) -> Adjustment:
    """Keep an adjustment in the course's history: all of it or nothing.

    Raises
    ------
    HistoryError
        If the history cannot be read or written.
    """
    history = history_of(folder)
    told = adjustment.record() | {"by": user_name()}
    line = history.add(ADJUSTED, told)[-1]
    return next(one for at, one in _adjustments(history) if at == line.number)


def undo(folder: CourseFolder, unit: str, number: int, reason: str) -> None:
    """Take an adjustment back; it stays in the history, and so does this.

    Raises
    ------
    AdjustmentError
        If there is none of that number, or it was taken back already.
    HistoryError
        If the history cannot be read or written.
    """
    standing(folder, unit, number)
    history_of(folder).add(UNDONE, {"unit": unit, "number": number, "reason": reason,
                                    "by": user_name()})


def standing(folder: CourseFolder, unit: str, number: int) -> Adjustment:
    """Return the adjustment of a number, where it holds.

    Raises
    ------
    AdjustmentError
        If there is none of that number, or it was taken back already.
    """
    for one in decided(folder, unit):
        if one.adjustment.number == number:
            if one.undone:
                raise AdjustmentError(f"adjustment {number} was taken back already: {one.undone}")
            return one.adjustment
    there = ", ".join(str(one.number) for one in adjustments_of(folder, unit))
    raise AdjustmentError(f"{unit} has no adjustment {number}; those that hold are: "
                          f"{there or 'none'}")


def reason_of(text: str) -> str:
    """Return a reason as it is kept: one line.

    Raises
    ------
    AdjustmentError
        If it is empty or too long.
    """
    plain = " ".join(printable(text).split())
    if not plain:
        raise AdjustmentError("give the reason in a few words, with --reason: learners read it "
                              "on their pages")
    if len(plain) > LONGEST_REASON:
        raise AdjustmentError(f"the reason has {len(plain)} letters; at most {LONGEST_REASON} are "
                              "kept. Learners read it on their pages: say it shortly")
    return plain


def _adjustments(history: History) -> Iterator[tuple[int, Adjustment]]:
    """Yield each with the number of its line; one that was erased keeps its own number."""
    for number, line in enumerate(history.each(ADJUSTED), 1):
        if line.details is not None:
            yield line.number, Adjustment.from_line(line, number)


def _plain(value: Value | None) -> Any:
    return list(value) if isinstance(value, tuple) else value


def _value(told: Any) -> Value | None:
    if isinstance(told, list):
        return tuple(str(one) for one in told)
    return float(told) if isinstance(told, int | float) else None if told is None else str(told)


def fitting(adjustments: tuple[Adjustment, ...], *learner: str) -> tuple[Adjustment, ...]:
    """Return those that are about everyone or about this learner, by any of their ids."""
    return tuple(one for one in adjustments if one.learner in {"", *learner})
