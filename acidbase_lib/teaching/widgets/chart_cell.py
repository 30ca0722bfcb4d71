"""The ``%%chart`` cell magic: records an answer and shows its form, with a check in a lesson."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from typing import TYPE_CHECKING, Any, Protocol

from acidbase_lib.teaching.escaping import escape
from acidbase_lib.teaching.questions.answer_text import HOW_SURE, ChartAnswer, show_value
from acidbase_lib.teaching.questions.fields import Field
from acidbase_lib.teaching.questions.first_try import asked_for
from acidbase_lib.teaching.questions.own_copy import OTHER_PATIENT
from acidbase_lib.teaching.questions.spelling import fold
from acidbase_lib.teaching.questions.text_boxes import empty_boxes_told
from acidbase_lib.teaching.theme import mark
from acidbase_lib.teaching.worded import worded

from .answer_check import LETTERS, AnswerCheck, as_lines
from .compare_text import NOTHING_TO_COMPARE, TextCompared, is_compared
from .front_end import cell_of, has_reader, request_of, window_of
from .lost_first_line import register_lost_line

if TYPE_CHECKING:
    from acidbase_lib.teaching.questions.exercise import Exercise

    from .chart_form import ChartForm

HOW_TO_CHECK = ("Complete. Press Check my answer in the form above, or write a line `check: now` "
                "in the answer cell and run that cell.")
NO_CHECK = "This is a sitting: what is right is told after you have handed it in."
_WINDOWS = 2  # more windows than this on one notebook are given up, the oldest first


class AskingUnit(Protocol):
    """What the magic needs of a unit."""

    @property
    def exercises(self) -> Mapping[str, Exercise]:
        """The questions by their ids."""

    def record(self, question_id: str, text: str) -> ChartAnswer:
        """Keep what a chart cell says, and return how it was understood."""


def register(shell: Any, unit: AskingUnit) -> ChartCells:
    """Make ``%%chart`` cells of a running IPython answer the questions of a unit.

    Parameters
    ----------
    shell : IPython.core.interactiveshell.InteractiveShell
        The notebook's shell.
    unit : Unit
        Whose questions are asked; a later call puts another unit in its place.
    """
    before = getattr(shell.magics_manager.magics["cell"].get("chart"), "__self__", None)
    cells = ChartCells(shell, unit, before if isinstance(before, ChartCells) else None)
    shell.register_magic_function(cells.run, magic_kind="cell", magic_name="chart")
    register_lost_line(shell, cells.run, lambda: unit.exercises)
    transforms = shell.input_transformers_cleanup
    if keep_empty_chart not in transforms:
        transforms.insert(0, keep_empty_chart)
    return cells


def keep_empty_chart(lines: list[str]) -> list[str]:
    """Give a ``%%chart`` cell without a body an empty one; IPython would refuse it on stderr."""
    written = [line for line in lines if line.strip()]
    if len(written) == 1 and written[0].lstrip().startswith("%%chart"):
        return [written[0].strip() + "\n", "\n"]
    return lines


class ChartCells:
    """The chart cells of one unit in one kernel, and the form that each one shows."""

    def __init__(self, shell: Any, unit: AskingUnit, before: ChartCells | None = None) -> None:
        self.shell = shell
        self.unit = unit
        self.forms: dict[str, ChartForm] = {}
        self.checks: dict[str, AnswerCheck] = {}
        # a setup cell that is run again, as a second window does, forgets no first try
        self._kept: dict[str, tuple[str, ...]] = (
            before._kept if before is not None and _same_form(before.unit, unit) else {})
        self.elsewhere: dict[str, list[ChartForm]] = {}

    def run(self, line: str, cell: str) -> None:
        """Record an answer, a ``field: value`` line each; shows the question's form."""
        question_id, *more = line.split() or [""]
        if question_id not in self.unit.exercises:
            print(self._unknown(question_id))
            return
        if more:
            print(f"{' '.join(more)[:60]!r} stands beside the question's name and is not read: "
                  "write each answer on its own line below.")
        text = f"%%chart {question_id}\n{cell}".rstrip("\n")
        request = request_of(self.shell)
        lines_said: list[str] = []
        if self.is_read():
            text, lines_said = self._asked(question_id, text)
        if has_reader(request):
            self._show_form(question_id, text, request)
            if lines_said and not cell_of(request):
                self._say(lines_said)
        else:
            self._show_text(question_id, text, lines_said)

    def check_of(self, question_id: str) -> AnswerCheck | None:
        """Return the check of a question; none in a sitting, or where a person reads the answer."""
        exercise: Any = self.unit.exercises.get(question_id)
        if getattr(self.unit, "sitting", True) or exercise is None or exercise.kind == "rationale":
            return None
        if not self._knows(question_id):
            return None
        if question_id not in self.checks:
            self.checks[question_id] = AnswerCheck(
                self.unit, question_id, self._kept)  # type: ignore[arg-type]
        return self.checks[question_id]

    def _knows(self, question_id: str) -> bool:
        """Whether the copy at hand asks what the kit knows; a stand-in of a unit need not say."""
        knows = getattr(self.unit, "knows", None)
        return knows is None or bool(knows(question_id))

    def compared_of(self, question_id: str) -> TextCompared | None:
        """Return the comparing of a written answer; none in a sitting, or with no other text."""
        exercise = self.unit.exercises[question_id]
        if getattr(self.unit, "sitting", True) or not is_compared(exercise):
            return None
        return TextCompared(self.unit, question_id, self._kept)  # type: ignore[arg-type]

    def is_read(self) -> bool:
        """True where a person runs the cell that runs now."""
        return has_reader(request_of(self.shell)) or not hasattr(self.shell, "kernel")

    def check(self, question_id: str) -> list[str]:
        """Return what the form says of an answer that was checked, or how to check it.

        It commits nothing: whoever runs all cells of a notebook has not pressed anything.
        """
        check = self.check_of(question_id)
        if check is None:
            return []
        view = check.follow(check.text)
        return list(as_lines(view)) if view["shown"] else [
            *filter(None, [view["note"]]), HOW_TO_CHECK]

    def _asked(self, question_id: str, text: str) -> tuple[str, list[str]]:
        """Do what lines such as ``check: now`` ask for; return the new text and what is said."""
        asked = asked_for(text, self.unit.exercises[question_id].fields)
        check = self.check_of(question_id)
        if not asked:
            return text, []
        if not self._knows(question_id):
            return text, [OTHER_PATIENT]
        if check is None:
            return self._compared(question_id, text)
        view: dict[str, Any] = {}
        if "reason" in asked:
            view = check.ask("reason", text, LETTERS.index(asked["reason"]))
        if "check" in asked:
            view = check.ask(asked["check"], view.get("text") or text)
        text = view["text"] or text
        self.shell.set_next_input(text, replace=True)
        return text, list(as_lines(view))

    def _compared(self, question_id: str, text: str) -> tuple[str, list[str]]:
        """Do what ``check: now`` asks for where no key judges the answer."""
        if getattr(self.unit, "sitting", True):
            return text, [NO_CHECK]
        compared = self.compared_of(question_id)
        if compared is None:
            return text, [NOTHING_TO_COMPARE]
        text, lines = compared.typed(text)
        self.shell.set_next_input(text, replace=True)
        return text, lines

    def _show_form(self, question_id: str, text: str, request: Mapping[str, Any]) -> None:
        from .chart_form import ChartForm

        before = self.forms.pop(question_id, None)
        if before is not None:
            # A click that the form could not write, unless the learner has typed since.
            if before.held is not None and text == before.text:
                text = before.held
                self.shell.set_next_input(text, replace=True)
            self._retire(question_id, before, window_of(request))
        exercise = self.unit.exercises[question_id]

        compared = self.compared_of(question_id)

        def read(text: str, compare: bool = False) -> dict[str, Any]:
            if compared is None:
                return _state(self.unit.record(question_id, text), exercise.fields)
            answer, beside = compared.press(text) if compare else compared.follow(text)
            return {**_state(answer, exercise.fields, bool(beside)), **beside}

        form = ChartForm(
            question=_plain(exercise),
            cell_id=cell_of(request),
            text=text,
            read=read,
            check=self.check_of(question_id),
        )
        form.window = window_of(request)
        self.forms[question_id] = form
        self.shell.display_pub.publish(form.bundle(request))

    def _retire(self, question_id: str, before: ChartForm, window: str) -> None:
        """Close what this window showed before; a form in another window stays alive there."""
        shown = [*self.elsewhere.pop(question_id, ()), before]
        kept = [form for form in shown if form.window != window][-_WINDOWS:]
        for form in shown:
            if form not in kept:
                form.close()
        self.elsewhere[question_id] = kept

    def _show_text(self, question_id: str, text: str, lines_said: Sequence[str] = ()) -> None:
        answer = self.unit.record(question_id, text)
        fields = self.unit.exercises[question_id].fields
        lines = [f"Question {question_id}", *summary(answer, fields),
                 *(problem.sentence for problem in answer.problems), *lines_said]
        self._say(lines)

    def _say(self, lines: Sequence[str]) -> None:
        bundle = {
            "text/plain": "\n".join(lines),
            "text/html": "".join(f"<p>{escape(line)}</p>" for line in lines),
        }
        self.shell.display_pub.publish(bundle)

    def _unknown(self, question_id: str) -> str:
        near = [name for name in self.unit.exercises if fold(name) == fold(question_id)]
        meant = f" Did you mean {near[0]!r}?" if near else ""
        opening = (f"This unit has no question {question_id[:40]!r}." if question_id else
                   "The first line names no question.")
        return (f"{opening} The questions are {', '.join(self.unit.exercises)}.{meant} "
                "Correct the cell's first line; nothing you typed is lost.")


def summary(answer: ChartAnswer, fields: Sequence[Field], beside: bool = False) -> Iterator[str]:
    """Say what an answer holds and what it lacks, if not said beside; never whether it is right."""
    kept = [f"{f.name}: {_short(show_value(f, answer.values[f.name]))}"
            for f in fields if f.name in answer.values]
    yield (worded("Recorded: {lines}.", lines="; ".join(kept)).replace("….", "…") if kept else
           worded("Nothing recorded yet."))
    if answer.missing and kept:
        yield worded("Still to answer: {lines}.", lines=", ".join(answer.missing))
    if not beside and (empty := empty_boxes_told(fields, answer)):
        yield empty


def _short(text: str) -> str:
    flat = " ".join(text.split())
    return flat if len(flat) <= 80 else f"{flat[:79].rstrip()}…"


def _state(answer: ChartAnswer, fields: Sequence[Field], beside: bool = False) -> dict[str, Any]:
    """An answer as the form shows it, as plain data."""
    return {
        "values": {name: list(value) if isinstance(value, tuple) else value
                   for name, value in answer.values.items()},
        "summary": list(summary(answer, fields, beside)),
        "problems": [{"field": problem.field, "sentence": problem.sentence}
                     for problem in answer.problems],
    }


def _plain(exercise: Exercise) -> dict[str, Any]:
    """A question as the form needs it; its key is no part of that."""
    return {"id": exercise.id, "fields": [_plain_field(field) for field in exercise.fields],
            "how_sure": list(HOW_SURE) if _is_sure_of(exercise) else []}


def _same_form(one: Any, other: Any) -> bool:
    """True for two openings of one form of one unit."""
    names = [(getattr(unit, "id", None), getattr(unit, "form", None)) for unit in (one, other)]
    return names[0] == names[1] != (None, None)


def _is_sure_of(exercise: Exercise) -> bool:
    """True where it makes sense to ask how sure one is: not of one's own words, nor of a guess."""
    return exercise.kind != "rationale" and exercise.points > 0


def _plain_field(field: Field) -> dict[str, Any]:
    return {
        "name": field.name,
        "names": sorted({fold(name) for name in (field.name, *field.also)}),
        "kind": field.kind,
        "unit": field.unit,
        "units": list(field.units),
        "choices": [{"word": choice.word, "shown": choice.shown,
                     "mark": mark(choice.word).removesuffix(choice.word).strip()}
                    for choice in field.choices],
        "says": field.says,
        "boxes": [{"name": box.word, "says": box.text} for box in field.boxes],
    }
