"""The ``%%chart`` cell magic: records an answer and shows its form, never whether it is right."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from html import escape
from typing import TYPE_CHECKING, Any, Protocol

from acidbase_lib.teaching.questions.answer_text import ChartAnswer, show_value
from acidbase_lib.teaching.questions.fields import Field
from acidbase_lib.teaching.questions.spelling import fold
from acidbase_lib.teaching.theme import mark

from .front_end import cell_of, has_reader, request_of

if TYPE_CHECKING:
    from acidbase_lib.teaching.questions.exercise import Exercise

    from .chart_form import ChartForm

_UNITS = {"mmHg": ("mmHg", "kPa")}


class AskingUnit(Protocol):
    """What the magic needs of a unit."""

    exercises: Mapping[str, Exercise]

    def record(self, question_id: str, text: str) -> ChartAnswer:
        """Keep what a chart cell says, and return how it was understood."""


def register(shell: Any, unit: AskingUnit) -> None:
    """Make ``%%chart`` cells of a running IPython answer the questions of a unit.

    Parameters
    ----------
    shell : IPython.core.interactiveshell.InteractiveShell
        The notebook's shell.
    unit : Unit
        Whose questions are asked; a later call puts another unit in its place.
    """
    cells = ChartCells(shell, unit)
    shell.register_magic_function(cells.run, magic_kind="cell", magic_name="chart")
    transforms = shell.input_transformers_cleanup
    if keep_empty_chart not in transforms:
        transforms.insert(0, keep_empty_chart)


def keep_empty_chart(lines: list[str]) -> list[str]:
    """Give a ``%%chart`` cell without a body an empty one; IPython would refuse it on stderr."""
    written = [line for line in lines if line.strip()]
    if len(written) == 1 and written[0].lstrip().startswith("%%chart"):
        return [written[0].strip() + "\n", "\n"]
    return lines


class ChartCells:
    """The chart cells of one unit in one kernel, and the form that each one shows."""

    def __init__(self, shell: Any, unit: AskingUnit) -> None:
        self.shell = shell
        self.unit = unit
        self.forms: dict[str, ChartForm] = {}

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
        if has_reader(request):
            self._show_form(question_id, text, request)
        else:
            self._show_text(question_id, text)

    def _show_form(self, question_id: str, text: str, request: Mapping[str, Any]) -> None:
        from .chart_form import ChartForm

        before = self.forms.pop(question_id, None)
        if before is not None:
            # A click that the form could not write, unless the learner has typed since.
            if before.held is not None and text == before.text:
                text = before.held
                self.shell.set_next_input(text, replace=True)
            before.close()
        exercise = self.unit.exercises[question_id]
        form = ChartForm(
            question=_plain(exercise),
            cell_id=cell_of(request),
            text=text,
            read=lambda text: _state(self.unit.record(question_id, text), exercise.fields),
        )
        self.forms[question_id] = form
        self.shell.display_pub.publish(form.bundle(request))

    def _show_text(self, question_id: str, text: str) -> None:
        answer = self.unit.record(question_id, text)
        fields = self.unit.exercises[question_id].fields
        lines = [f"Question {question_id}", *summary(answer, fields),
                 *(problem.sentence for problem in answer.problems)]
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


def summary(answer: ChartAnswer, fields: Sequence[Field]) -> Iterator[str]:
    """Say what an answer holds and what it lacks; never whether it is right."""
    kept = [f"{f.name}: {_short(show_value(f, answer.values[f.name]))}"
            for f in fields if f.name in answer.values]
    yield f"Recorded: {'; '.join(kept)}.".replace("….", "…") if kept else "Nothing recorded yet."
    if answer.missing and kept:
        yield f"Still to answer: {', '.join(answer.missing)}."


def _short(text: str) -> str:
    flat = " ".join(text.split())
    return flat if len(flat) <= 80 else f"{flat[:79].rstrip()}…"


def _state(answer: ChartAnswer, fields: Sequence[Field]) -> dict[str, Any]:
    """An answer as the form shows it, as plain data."""
    return {
        "values": {name: list(value) if isinstance(value, tuple) else value
                   for name, value in answer.values.items()},
        "summary": list(summary(answer, fields)),
        "problems": [{"field": problem.field, "sentence": problem.sentence}
                     for problem in answer.problems],
    }


def _plain(exercise: Exercise) -> dict[str, Any]:
    """A question as the form needs it; its key is no part of that."""
    return {"id": exercise.id, "fields": [_plain_field(field) for field in exercise.fields]}


def _plain_field(field: Field) -> dict[str, Any]:
    return {
        "name": field.name,
        "names": sorted({fold(name) for name in (field.name, *field.also)}),
        "kind": field.kind,
        "unit": field.unit,
        "units": list(_UNITS.get(field.unit or "", (field.unit,) if field.unit else ())),
        "choices": [{"word": choice.word, "shown": choice.shown,
                     "mark": mark(choice.word).removesuffix(choice.word).strip()}
                    for choice in field.choices],
        "says": field.says,
        "boxes": [{"name": box.word, "says": box.text} for box in field.boxes],
    }
