"""An assignment that holds learners' code: their code runs fenced in, the checks run outside it.

Between the two goes plain data only. A check cell asks for a value by ``learner("f(12)")``; the
expression is worked out beside the learner's code, printed, and read back as a literal. So what
the code did to its own Python, or what an object says of itself, reaches no check and no other
learner, and the check cells, hidden tests included, are never where the learner's code is. What it
shows is kept as text and pictures only (``plain_outputs``).
"""
from __future__ import annotations

import ast
import asyncio
import json
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path
from typing import Any

from jupyter_core.utils import run_sync
from nbclient import NotebookClient
from nbclient.exceptions import DeadKernelError
from nbformat.v4 import new_code_cell, new_notebook
from traitlets.config import Config

from acidbase_lib.classroom.notebooks.assignment import AssignmentSource, SourceError
from acidbase_lib.classroom.notebooks.read_notebook import (
    LIMITS,
    FileLimits,
    UnreadableNotebookError,
    parse_notebook,
    read_file,
)
from acidbase_lib.classroom.notebooks.repair import own_cells, rebuild
from acidbase_lib.classroom.notebooks.waiting import none_waits

from .check_cells import CheckCellError, CheckedCells, Marker, NoValueError
from .plain_outputs import plain_output
from .reading_lane import (
    MarkedNotebook,
    charts_of,
    marks_of,
    notebook_of,
    scores_of,
    state_after,
)
from .sandbox import require_sandbox
from .sandbox_kernel import SandboxedKernelManager

Cell = dict[str, Any]
LONGEST_VALUE = 10_000  # characters of a value as it is printed
DEFAULT_SETTINGS: Mapping[str, Any] = {"cell_seconds": 30, "output": 2_000_000}


class CodeStoppedError(RuntimeError):
    """Everything that a learner's code had started was stopped; the text says why."""


@dataclass(frozen=True, slots=True)
class _Ran:
    """What a learner's code printed, cell by cell, and the values that the checks asked for."""

    cells: Sequence[Cell]
    values: Mapping[str, str | None]
    troubles: Mapping[str, str]

    def value(self, expression: str) -> Any:
        """Return a value as plain data, as a check cell is given it."""
        text = self.values.get(expression)
        if text is None:
            raise NoValueError(f"{expression} gave no value: "
                               f"{self.troubles.get(expression, 'nothing')}")
        try:
            return ast.literal_eval(text)
        except (ValueError, SyntaxError, RecursionError, MemoryError):
            raise NoValueError(f"{expression} gave something that is not plain data (numbers, "
                               f"text, lists of them): {text[:80]}") from None


def run_notebook(submission: str | Path | bytes | Mapping[str, Any], source: AssignmentSource,
                 limits: FileLimits = LIMITS, settings: Mapping[str, Any] | None = None,
                 ) -> MarkedNotebook:
    """Mark one notebook that holds code; the code runs under bubblewrap or not at all.

    Parameters
    ----------
    submission : path, bytes or mapping
        The learner's file, its bytes, or its content.
    source : AssignmentSource
        The instructor's notebook.
    limits : FileLimits
        What a file may be at most.
    settings : mapping, optional
        Of ``SandboxProvisioner``, and ``cell_seconds`` [s] and ``output`` [characters].

    Raises
    ------
    SandboxError
        If nothing can be fenced in here; nothing was run then.
    SourceError
        If the instructor's notebook cannot be marked with.
    """
    fence, marker = ready_to_run(source, settings)
    try:
        if isinstance(submission, str | Path):
            submission = read_file(submission, limits)
        notebook = (parse_notebook(submission, limits) if isinstance(submission, bytes)
                    else submission)
        rebuilt = none_waits(rebuild(notebook, source, limits), source)
        own = own_cells(notebook, source, limits)
        ran = _run(cells_to_run(source, rebuilt.texts, own), marker.asked, fence)
        charts = charts_of(source, rebuilt.texts)
        checked, by_hand = marker.check(charts, ran.value), marker.by_hand(charts)
    except (UnreadableNotebookError, CodeStoppedError) as error:
        return MarkedNotebook("not marked", str(error), maximum=source.maximum)
    except CheckCellError as error:
        return MarkedNotebook("not marked", f"{error}. The fault is in the assignment, not in the "
                              "learner's work: mend the check cell and mark again.",
                              maximum=source.maximum)
    state = state_after(rebuilt.repairs)
    done = notebook_of(source, rebuilt.texts, checked, state, rebuilt.repairs)
    done["cells"] = list(with_own_cells(done["cells"], ran.cells))
    return MarkedNotebook(state, "", rebuilt.repairs, (*marks_of(checked), *by_hand),
                          scores_of(source, rebuilt.texts, checked), source.maximum, done)


def ready_to_run(source: AssignmentSource, settings: Mapping[str, Any] | None = None,
                 ) -> tuple[dict[str, Any], Marker]:
    """Return the settings in full, and the marker; see ``run_notebook`` for what is raised."""
    fence = dict(DEFAULT_SETTINGS) | dict(settings or {})
    if not fence.get("run_learner_code_unprotected"):
        require_sandbox()
    return fence, _marker_for(source, json.dumps(fence, sort_keys=True))


def cells_to_run(source: AssignmentSource, texts: Mapping[str, str],
                 own: Mapping[str, Sequence[str]]) -> list[Cell]:
    """Return the cells to run, in order: the instructor's, the answers, and the learner's own."""
    def cell(name: str, text: str) -> Cell:
        return {"name": name, "text": text}
    cells = [cell("", text) for text in own.get("", ())]
    for one in source.cells:
        name = one.name or ""
        if one.kind == "code" and one.role != "check" and one.question is None:
            cells.append(cell(name, texts.get(name, one.released)))
        cells += [cell("", text) for text in (own.get(name, ()) if name else ())]
    return cells


class _Client(NotebookClient):
    """Runs cells one by one, and stops everything where they print too much."""

    room = 0
    km: Any

    def process_message(self, msg: dict[str, Any], cell: Any, cell_index: int) -> Any:
        """Take one message from inside the fence, while there is room for it."""
        if msg["msg_type"] != "status":
            self.room -= len(str(msg["content"])) if self.room > 0 else 0
            if self.room <= 0:
                self.km.provisioner.stop("it printed more than is kept")
                return None
            if msg["msg_type"].startswith("comm"):
                return None
        return super().process_message(msg, cell, cell_index)

    async def async_execute_cell(self, cell: Any, cell_index: int, *more: Any, **named: Any) -> Any:
        """Run one cell, and leave no task of it behind, whatever its code sent."""
        before = asyncio.all_tasks()
        try:
            return await super().async_execute_cell(cell, cell_index, *more, **named)
        finally:
            for task in asyncio.all_tasks() - before:
                task.cancel()

    execute_cell = run_sync(async_execute_cell)


def _run(cells: Sequence[Cell], asked: Sequence[str], settings: Mapping[str, Any]) -> _Ran:
    rest = {key: value for key, value in settings.items() if key not in DEFAULT_SETTINGS}
    client = _Client(new_notebook(cells=[new_code_cell()]),  # each cell in turn stands in it
                     kernel_manager_class=SandboxedKernelManager, kernel_name="python3",
                     timeout=settings["cell_seconds"], interrupt_on_timeout=True,
                     allow_errors=True, iopub_timeout=5, raise_on_iopub_timeout=False,
                     error_on_timeout={"ename": "TooSlow", "traceback": [],
                                       "evalue": f"stopped after {settings['cell_seconds']} s"},
                     config=Config({"SandboxProvisioner": rest}))
    client.room = settings["output"]
    client.log.setLevel("CRITICAL")  # what goes wrong in a learner's code is no news of ours
    client.reset_execution_trackers()
    values: dict[str, str | None] = {}
    troubles: dict[str, str] = {}
    watcher = None
    try:
        with client.setup_kernel():
            watcher = client.km.provisioner.watcher
            if watcher is not None:
                watcher.close_folder()
            ran = [_ran(client, cell["name"], cell["text"]) for cell in cells]
            for expression in asked:
                values[expression], troubles[expression] = _value(client, expression)
    except DeadKernelError:
        why = watcher.stopped_because if watcher is not None else ""
        raise CodeStoppedError(
            f"The learner's code was stopped: {why or 'it ended its own Python'}. Nobody else's "
            "marks are touched. Read it, mark it by hand, or ask for another version.") from None
    return _Ran(ran, values, troubles)


def _ran(client: _Client, name: str, text: str) -> Cell:
    cell = new_code_cell(text)
    client.nb.cells = [cell]
    client.reset_execution_trackers()  # a display of an earlier cell is none of this one
    try:
        client.execute_cell(cell, 0)
    except DeadKernelError:
        raise
    except Exception as error:  # learners' code can send whatever it likes in its kernel's name
        raise CodeStoppedError("The learner's code was stopped: it sent messages that no kernel "
                               f"sends ({type(error).__name__}). Mark it by hand.") from error
    return {"name": name, "text": text, "outputs": [plain_output(one) for one in cell.outputs],
            "execution_count": cell.execution_count}


def _value(client: _Client, expression: str) -> tuple[str | None, str]:
    """What an expression prints as, or None and why not."""
    text = "it gave nothing back"
    for output in _ran(client, "", expression)["outputs"]:
        if output["output_type"] == "execute_result":
            text = output["data"].get("text/plain")
            if isinstance(text, str) and len(text) <= LONGEST_VALUE:
                return text, ""
            text = "it is too long"
        elif output["output_type"] == "error":
            text = f"{str(output['ename'])[:40]}: {str(output['evalue'])[:200]}"
    return None, text


@lru_cache(maxsize=4)
def _marker_for(source: AssignmentSource, settings: str) -> Marker:
    """The marker of a source, once the instructor's own answers have earned full marks."""
    marker = Marker(source)
    if not source.as_written:
        return marker
    texts = {str(cell.name): cell.solution for cell in source.cells
             if cell.role == "answer" and cell.solution is not None}
    charts = {question: texts[str(cell.name)] for question, cell in source.answers.items()
              if str(cell.name) in texts}
    try:
        ran = _run(cells_to_run(source, texts, {}), marker.asked, json.loads(settings))
        own = marker.check(charts, ran.value)
    except (CheckCellError, CodeStoppedError) as error:
        raise SourceError(f"{source.name}: the source's own answers cannot be marked. {error}") \
            from error
    short = [f"{name} gives {own[name].points:g} of {source.by_name[name].points:g}"
             f"{_why(own[name])}"
             for name in own if (own[name].points or 0.0) < float(source.by_name[name].points or 0)]
    if short:
        raise SourceError(f"{source.name}: the source's own answers do not earn full marks "
                          f"({'; '.join(short[:4])}). A check cell sees nothing of the learner's "
                          'but what it asks for, such as learner("f(12)").')
    return marker


def _why(checked: CheckedCells) -> str:
    texts = [str(o.get("text", "")).strip() for o in checked.outputs if "text" in o]
    return f" ({texts[-1][:120]})" if texts else ""


def with_own_cells(cells: Sequence[Cell], ran: Sequence[Cell]) -> Iterator[Cell]:
    """Yield a notebook's cells with what the learner's code printed, their own cells in place."""
    by_name = {cell["name"]: cell for cell in ran if cell["name"]}
    after: dict[str, list[Cell]] = {}
    last = ""
    for cell in ran:
        last = cell["name"] or last
        if not cell["name"]:
            after.setdefault(last, []).append(cell)
    yield from (_own(cell, f"own-0-{n}") for n, cell in enumerate(after.get("", ())))
    for cell in cells:
        name = cell["metadata"].get("nbgrader", {}).get("grade_id", "")
        if name in by_name:
            cell = cell | _outputs(by_name[name])
        yield cell
        yield from (_own(mine, f"own-{name}-{n}"[:64])
                    for n, mine in enumerate(after.get(name, ()) if name else ()))


def _own(cell: Cell, cell_id: str) -> Cell:
    return {"cell_type": "code", "id": cell_id, "metadata": {}, "source": cell["text"],
            } | _outputs(cell)


def _outputs(cell: Cell) -> Cell:
    return {"outputs": cell.get("outputs", []), "execution_count": cell.get("execution_count")}
