"""Check my answer: the first try kept, then hints, one reason, another try and the reading."""
from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import TYPE_CHECKING, Any, Protocol

from acidbase_lib.teaching.questions.answer_text import ChartAnswer
from acidbase_lib.teaching.questions.exercise import Exercise
from acidbase_lib.teaching.questions.first_try import (
    kept_lines,
    place_of,
    put_back,
    with_first_try,
    with_reason,
    without_requests,
)
from acidbase_lib.teaching.questions.which_try import said_before
from acidbase_lib.teaching.worded import worded

if TYPE_CHECKING:
    from acidbase_lib.teaching.feedback.feedback_on_answer import Feedback

LETTERS = "abcd"
UNCHANGED = "Nothing has changed since your last try."
CHANGED_BY_HAND = ("The first try in this cell was changed by hand, so it counts as not right. "
                   "Your answer itself is untouched.")
TOO_LONG = "This cell is too long to keep a first try in. Shorten it, then check again."
WHICH = "Which of these sentences is true here and settles the question?"
TOLD_LATER = "The right one is shown with the reading, or once your answer is right."
DOUBTS = ("unsure", "guess")
AS_TYPED = ("Working by typing? Write a line `check: hint` or `check: reading` in the cell, or "
            "`reason: a`, and run it. To try again, change the answer and write `check: now`.")


class CheckingUnit(Protocol):
    """What a check needs of a unit."""

    form: int
    counts: str
    exercises: Mapping[str, Exercise]

    def record(self, question_id: str, text: str) -> ChartAnswer:
        """Keep what a chart cell says, and return how it was understood."""


class AnswerCheck:
    """The check of one question in one kernel; the cell's text is the record, this follows it."""

    def __init__(self, unit: CheckingUnit, question_id: str,
                 kept: dict[str, tuple[str, ...]] | None = None) -> None:
        self.unit = unit
        self.question = question_id
        self.text = ""  # the cell's, as it was read last
        self._place = place_of(question_id, unit.form)
        self._all_kept = {} if kept is None else kept
        self._checked: dict[str, Any] | None = None
        self._tries = 0
        self._hints = 0
        self._read = False

    @property
    def _kept(self) -> tuple[str, ...]:
        """The lines of the first try, in whichever window it was made."""
        return self._all_kept.get(self.question, ())

    @property
    def _exercise(self) -> Exercise:
        return self.unit.exercises[self.question]

    def follow(self, text: str) -> dict[str, Any]:
        """Return what to show for a cell's text, after a change that is no press."""
        return self._view(self._record(text), text)

    def ask(self, what: str, text: str, choice: int = 0) -> dict[str, Any]:
        """Do what a button or a typed line asks for, and return what to show.

        Parameters
        ----------
        what : str
            "now" checks the answer; "hint", "reading" and "reason" tell more after an error.
        text : str
            The cell's text as it stands.
        choice : int
            For "reason": the place of the one that was chosen.
        """
        before = text
        text = put_back(without_requests(text, self._exercise.fields), self._kept)
        answer = self._record(text)
        said = ""
        if what == "now":
            text, said = self._try(text, answer)
            answer = self._record(text)
        elif self._checked is None or answer.first is None:
            said = worded("Check your answer first.")
        elif what == "hint":
            self._hints += 1
        elif what == "reading":
            self._read = True
        elif what == "reason":
            says = self._feedback(_as_at_first(answer))
            if 0 <= choice < len(says.reasons):
                text = with_reason(text, self._exercise.fields, self._place, says.reasons[choice])
                answer = self._record(text)
        view = self._view(answer, text, said, what)
        return view | {"text": text if text != before else None, "before": before}

    def _try(self, text: str, answer: ChartAnswer) -> tuple[str, str]:
        """Check an answer: keep it where it is the first one."""
        if not answer.complete:
            return text, _left(answer)
        values = dict(answer.values)
        if answer.first is None:
            kept = with_first_try(text, self._exercise.fields, self._place)
            if kept == text:
                return text, worded(TOO_LONG)
            text, self._tries = kept, 1
        elif values == self._checked:
            right = self._feedback(answer).right
            return text, worded("This answer is right already.") if right else worded(UNCHANGED)
        else:
            self._tries = max(1, self._tries) + 1
        self._checked = values
        return text, ""

    def _record(self, text: str) -> ChartAnswer:
        answer = self.unit.record(self.question, text)
        self.text = text
        if kept := kept_lines(text, self._place):
            self._all_kept[self.question] = kept
        first = answer.first
        if first is not None and self._tries == 0:  # kept on another day
            self._tries = 1
            if first.sealed and dict(first.values) == dict(answer.values):
                self._checked = dict(first.values)
        return answer

    def _feedback(self, answer: ChartAnswer) -> Feedback:
        from acidbase_lib.teaching.feedback.feedback_on_answer import (
            feedback_on,  # not before it is needed
        )

        return feedback_on(self._exercise, answer)

    def _view(self, answer: ChartAnswer, text: str, said: str = "",
              what: str = "") -> dict[str, Any]:
        """What to show, as plain data."""
        view: dict[str, Any] = {
            "counts": said_before(self._exercise, self.unit.counts), "said": said,
            "how_sure": answer.how_sure or "", "kept": list(self._kept), "button":
            worded("Check my answer"), "shown": False, "note": "", "text": None, "before": text}
        if answer.first is None:
            return view
        if not answer.first.sealed:
            view["note"] = worded(CHANGED_BY_HAND)
        if dict(answer.values) != self._checked:
            stale = (worded("Your answer has changed since it was checked.") if self._checked else
                     "")
            return view | {"button": worded("Try again"), "note": " ".join(
                filter(None, (view["note"], stale)))}
        return view | self._told(self._feedback(answer), answer, said, what)

    def _told(self, says: Feedback, answer: ChartAnswer, said: str, what: str) -> dict[str, Any]:
        right = all(line.right is not False for line in says.lines)
        # lines that say why need no second telling; who was not sure sees the whole reading too
        said_why = _say_why(says) and answer.how_sure not in DOUBTS
        read = (right and not said_why) or self._read or self._tries > 1
        hints = [] if right else list(says.hints[:self._hints])
        reason = answer.first.reason if answer.first is not None else None
        at_first = self._feedback(_as_at_first(answer))
        sealed = answer.first is not None and answer.first.sealed
        reasons = list(at_first.reasons) if sealed and (reason or not right) else []
        if not said and what == "hint":
            said = "" if hints else worded("There is no hint here.")  # it speaks below its button
        elif not said and what == "reading":
            said = worded("The reading is shown below.")
        elif not said and what == "reason" and reason is not None:
            said = _judged(at_first, reason, tell=right or read)
        return {
            "shown": True, "right": right, "verdict": says.verdict, "said": said,
            "button": worded("Check my answer") if right else worded("Try again"),
            "lines": [{"field": line.field, "given": line.given or worded("nothing"),
                       "right": line.right,
                       "why": "\n".join(filter(None, (line.why, line.left))),
                       "partly": line.partly, "reading": line.reading
                       if read and line.right is False and line.reading not in says.reading else "",
                       "limits": self._exercise.limits.get(line.field, "")
                       if read or line.right else ""} for line in says.lines],
            "next": "" if right else to_change(self._exercise),
            "idea": says.idea_says, "hints": hints,
            "more_hints": not right and len(hints) < len(says.hints),
            "asked": what, "which": worded(WHICH), "reasons": reasons, "reason": reason,
            "judged": "" if reason is None else _judged(at_first, reason, tell=right or read),
            "reading": list(says.reading) if read else [],
            "more_reading": not read and bool(says.reading)}


def to_change(exercise: Exercise) -> str:
    """What is to be changed in an answer that is not right yet, named for what the form shows."""
    if len(exercise.fields) > 1:
        return worded("Change a line that is not right yet, then press Try again.")
    kind = exercise.fields[0].kind
    if kind == "order":
        return worded("Change the order, then press Try again.")
    if kind == "number":
        return worded("Change the number, then press Try again.")
    return (worded("Change what you ticked, then press Try again.") if kind == "many" else
            worded("Change your choice, then press Try again."))


def _say_why(says: Feedback) -> bool:
    """Whether each line is right and gives a reason; ticks are called right without one."""
    return bool(says.lines) and all(line.right and line.why and not line.why.endswith(": right.")
                                    for line in says.lines)


def _left(answer: ChartAnswer) -> str:
    """Say which lines are left, and that nothing was checked."""
    lines = list(dict.fromkeys([*answer.missing, *(p.field for p in answer.problems if p.field)]))
    if not lines:
        return worded("One line of the cell was not understood. Mend it, then check again.")
    if len(lines) == 1:
        return worded("Not checked yet. Still to answer: {line}.", line=lines[0])
    return worded("Not checked yet. Still to answer: {lines} and {last}.",
                  lines=", ".join(lines[:-1]), last=lines[-1])


def _as_at_first(answer: ChartAnswer) -> ChartAnswer:
    """The first try as an answer: the reason that is asked for is about its error."""
    values = answer.first.values if answer.first is not None and answer.first.sealed else {}
    return ChartAnswer(values, (), ())


def _judged(says: Feedback, reason: str, *, tell: bool) -> str:
    """Judge the reason that was chosen; the right one may give the key, so it is told later."""
    if not says.reasons:
        return ""
    right = says.reasons[says.right_reason]
    if reason == " ".join(right.split()):
        return worded("That reason is right.")
    if tell:
        return worded("That reason is not right here. Right is: {reason}", reason=right)
    return f"{worded('That reason is not right here.')} {worded(TOLD_LATER)}"


def as_lines(view: Mapping[str, Any]) -> Iterator[str]:
    """Say a check in lines of text, for a front end without forms."""
    if view["note"]:
        yield view["note"]
    if view["shown"]:
        yield view["verdict"]
        for line in view["lines"]:
            word = "◐ partly right" if line["partly"] else {
                True: "✓ right", False: "✗ not right yet", None: "– not judged"}[line["right"]]
            yield " ".join(filter(None, (f"{line['field']}: {line['given']}: {word}.",
                                         line["why"], line["reading"])))
        if view["idea"]:
            yield view["idea"]
        yield from (f"Hint {n}: {hint}" for n, hint in enumerate(view["hints"], 1))
        if view["reasons"] and view["reason"] is None:
            yield WHICH
            yield from (f"{letter}. {reason}"
                        for letter, reason in zip(LETTERS, view["reasons"], strict=False))
        if view["judged"]:
            yield f"Your reason: {view['reason']} {view['judged']}"
        if view["reading"]:
            yield "The reading:"
            yield from (f"{n}. {step}" for n, step in enumerate(view["reading"], 1))
        if not view["right"]:
            yield AS_TYPED
    if view["said"] and not view["shown"]:
        yield view["said"]
