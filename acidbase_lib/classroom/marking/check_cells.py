"""The instructor's setup and check cells, compiled once and run for each learner's answers."""
from __future__ import annotations

import ast
import io
from collections.abc import Callable, Iterator, Mapping
from contextlib import chdir, contextmanager, nullcontext, redirect_stderr, redirect_stdout
from dataclasses import dataclass
from functools import lru_cache
from threading import Lock
from types import CodeType
from typing import Any

from acidbase_lib.classroom.notebooks.assignment import AssignmentSource, SourceCell, SourceError
from acidbase_lib.classroom.notebooks.question_versions import stand_by
from acidbase_lib.teaching.questions.exercise import Exercise, Mark
from acidbase_lib.teaching.unit import Unit

Output = dict[str, Any]


class CheckCellError(RuntimeError):
    """A check cell that gave no points for an answer; the author's slip, never the learner's."""


class NoValueError(Exception):
    """What a check cell asked of the learner's code is not there; the text says why."""


def _nothing(expression: str) -> Any:
    raise NoValueError(f"{expression} gave no value: nothing was run")


@dataclass(frozen=True, slots=True)
class CheckedCells:
    """What one check cell gave: points, and the outputs it would have left in a notebook.

    ``points`` is None where the question waits for a person.
    """

    points: float | None
    outputs: tuple[Output, ...]


@dataclass(frozen=True, slots=True)
class _Compiled:
    cell: SourceCell
    body: CodeType
    last: CodeType | None


class Marker:
    """Runs an assignment's check cells; what a learner wrote is handed to the unit as text.

    Parameters
    ----------
    source : AssignmentSource
        The instructor's notebook. Its setup cells must leave a ``unit``.

    Raises
    ------
    SourceError
        If a setup cell fails or leaves no unit, a check cell cannot mark a blank notebook, or
        the source's own answers do not earn full marks.
    """

    def __init__(self, source: AssignmentSource) -> None:
        self.source = source
        self._lock = Lock()  # threads share the unit and the process's standard output
        self._names: dict[str, Any] = {"__name__": "__main__"}
        with chdir(source.folder) if source.folder else nullcontext():
            for cell in source.code_to_run():
                self._run_setup(_compiled(cell))
        self._unit = self._names.get("unit")
        if self._unit is None and source.holds_code:
            self._unit = _NoUnit()  # an assignment of code alone
        if not all(hasattr(self._unit, name) for name in ("record", "clear", "show")):
            raise SourceError(f"{source.name}: the setup cell leaves no unit. It must hold a line "
                              'such as unit = open_unit("02_primary_disorder", form=1), and its '
                              'grade id must be "setup" or end in "-setup".')
        self.moved = stand_by(self._unit, source) if isinstance(self._unit, Unit) else ()
        self._checks = [_compiled(cell) for cell in source.cells if cell.role == "check"]
        self.asked = tuple(dict.fromkeys(
            asked for check in self._checks for asked in _asked_of_the_learner(check.cell.text)))
        try:
            self.blank = self.check({})
        except CheckCellError as error:
            raise SourceError(
                f"{source.name}: a blank notebook cannot be marked. {error}") from error
        if source.as_written and not source.holds_code:
            self._try_the_solutions()

    def check(self, texts: Mapping[str, str],
              learner: Callable[[str], Any] = _nothing,
              exercises: Mapping[str, Exercise] | None = None) -> dict[str, CheckedCells]:
        """Mark one learner's chart cells.

        Parameters
        ----------
        texts : mapping of str to str
            The cells' text by question; a question left out is not answered.
        learner : callable
            Gives the value that an expression has beside the learner's code, as plain data.
        exercises : mapping of str to Exercise, optional
            The learner's own, where everybody has other patients.

        Returns
        -------
        dict of str to Checked
            By the check cell's grade id.

        Raises
        ------
        CheckCellError
            If a check cell fails or gives something that is not a mark.
        """
        with self._lock, self._asking(exercises):
            unit: Any = self._unit
            unit.clear()
            for question, text in texts.items():
                unit.record(question, text)
            names = dict(self._names)
            if self.source.holds_code:
                names["learner"] = learner
            try:
                return {str(check.cell.name): self._run_check(check, names)
                        for check in self._checks}
            finally:
                unit.clear()

    @contextmanager
    def _asking(self, exercises: Mapping[str, Exercise] | None) -> Iterator[None]:
        """Let the unit ask what one learner was asked, for as long as the block lasts."""
        if exercises is None or not isinstance(self._unit, Unit):
            yield
            return
        everybodys, self._unit.exercises = self._unit.exercises, exercises
        try:
            yield
        finally:
            self._unit.exercises = everybodys

    def by_hand(self, texts: Mapping[str, str],
                exercises: Mapping[str, Exercise] | None = None) -> tuple[Mark, ...]:
        """Return the records of the chart cells that a person marks: what was answered."""
        asked = [question for question, cell in self.source.answers.items()
                 if cell.by_hand and question in texts]
        with self._lock, self._asking(exercises):
            unit: Any = self._unit
            unit.clear()
            for question in asked:
                unit.record(question, texts[question])
            try:
                return tuple(unit.mark_of(question) for question in asked)
            finally:
                unit.clear()

    def _try_the_solutions(self) -> None:
        """The instructor's own answers must earn full marks: a key that has moved fails here."""
        texts = {question: cell.solution for question, cell in self.source.answers.items()
                 if cell.solution is not None}
        try:
            own = self.check(texts)
        except CheckCellError as error:
            raise SourceError(f"{self.source.name}: the source's own answers cannot be marked. "
                              f"{error}") from error
        short = [f"{name} gives {own[name].points:g} of {cell.points:g}"
                 for question in texts if (name := f"{question}-check") in own
                 if (own[name].points or 0.0)
                 < float((cell := self.source.by_name[name]).points or 0)]
        if short:
            raise SourceError(f"{self.source.name}: the source's own answers do not earn full "
                              f"marks ({'; '.join(short[:4])}). The kit or the question file has "
                              "changed since the questions were written into the notebook, or an "
                              "answer in it is wrong. Before release, write the form again or "
                              "mend the answer; where learners have it already, mark with the "
                              "version of the kit it was written with.")

    def _run_setup(self, setup: _Compiled) -> None:
        try:
            with redirect_stdout(io.StringIO()), redirect_stderr(io.StringIO()):
                exec(setup.body, self._names)
                if setup.last is not None:
                    eval(setup.last, self._names)
        except Exception as error:
            raise SourceError(f"{self.source.name}: the setup cell {setup.cell.name} stopped with "
                              f"{type(error).__name__}: {error}") from error

    def _run_check(self, check: _Compiled, names: dict[str, Any]) -> CheckedCells:
        outputs: list[Output] = []
        printed, complaints = _Stream("stdout", outputs), io.StringIO()
        unit: Any = self._unit
        unit.show = lambda bundle: outputs.append(
            {"output_type": "display_data", "data": dict(bundle), "metadata": {}})
        try:
            with redirect_stdout(printed), redirect_stderr(complaints):
                exec(check.body, names)
                value = eval(check.last, names) if check.last is not None else None
        except (Exception, SystemExit) as error:
            if self.source.holds_code:  # as nbgrader has it: a check that stops gives no points
                outputs.append({"output_type": "stream", "name": "stdout", "text":
                                f"{type(error).__name__}: {error}"[:400]})
                return CheckedCells(0.0, tuple(outputs))
            raise CheckCellError(f"The check cell {check.cell.name} stopped with "
                                 f"{type(error).__name__}: {error}") from error
        if complaints.getvalue():
            raise CheckCellError(f"The check cell {check.cell.name} wrote to the error stream: "
                                 f"{complaints.getvalue()[:200]!r}")
        if self.source.holds_code and (value is None or isinstance(value, bool)):
            value = 0.0 if value is False else float(check.cell.points or 0)
        points = _points(check.cell, value)
        outputs.append({"output_type": "execute_result", "execution_count": None,
                        "data": {"text/plain": repr(value)}, "metadata": {}})
        return CheckedCells(points, tuple(outputs))


class _NoUnit:
    """Stands where an assignment has no chart cells."""

    show: Any = None

    def record(self, question: str, text: str) -> None:
        """Keep nothing."""

    def clear(self) -> None:
        """Forget nothing."""


def _asked_of_the_learner(text: str) -> list[str]:
    """The expressions that a check cell asks for, as ``learner("f(12)")``."""
    return [call.args[0].value for call in ast.walk(ast.parse(text))
            if isinstance(call, ast.Call) and isinstance(call.func, ast.Name)
            and call.func.id == "learner" and len(call.args) == 1
            and isinstance(call.args[0], ast.Constant) and isinstance(call.args[0].value, str)]


@lru_cache(maxsize=4)
def marker_for(source: AssignmentSource) -> Marker:
    """Return the marker of a source; each process makes one, once."""
    return Marker(source)


class _Stream(io.TextIOBase):
    """Standard output as a notebook keeps it: joined to the output before it where it can be."""

    def __init__(self, name: str, outputs: list[Output]) -> None:
        self._name, self._outputs = name, outputs

    def write(self, text: str) -> int:
        last = self._outputs[-1] if self._outputs else {}
        if last.get("output_type") == "stream":
            last["text"] += text
        else:
            self._outputs.append({"output_type": "stream", "name": self._name, "text": text})
        return len(text)


def _compiled(cell: SourceCell) -> _Compiled:
    """Compile a cell; its last line, if an expression, gives the cell's value as in Jupyter."""
    try:
        tree = ast.parse(cell.text, filename=str(cell.name))
    except SyntaxError as error:
        raise SourceError(f"The cell {cell.name} is not plain Python (line {error.lineno}: "
                          f"{error.msg}). Setup and check cells may hold no magics.") from None
    last = tree.body.pop() if tree.body and isinstance(tree.body[-1], ast.Expr) else None
    body = compile(tree, str(cell.name), "exec")
    value = compile(ast.Expression(last.value), str(cell.name), "eval") if isinstance(
        last, ast.Expr) else None
    return _Compiled(cell, body, value)


def _points(cell: SourceCell, value: Any) -> float:
    if isinstance(value, bool) or not isinstance(value, int | float):
        raise CheckCellError(f"The check cell {cell.name} gave {str(value)[:40]!r}, not a number "
                             "of points. Its last line must be unit.mark(...).")
    if not 0 <= value <= float(cell.points or 0):
        raise CheckCellError(f"The check cell {cell.name} gave {value:g} points; it is worth 0 to "
                             f"{cell.points:g}.")
    return float(value)
