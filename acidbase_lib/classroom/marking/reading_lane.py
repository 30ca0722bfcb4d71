"""One notebook marked by reading it: three states, never confused; nothing in it is run."""
from __future__ import annotations

import json
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any, Literal

from acidbase_lib.classroom.notebooks.assignment import (
    AssignmentSource,
    SourceError,
    nbgrader_metadata,
)
from acidbase_lib.classroom.notebooks.own_numbers import OwnSheet
from acidbase_lib.classroom.notebooks.read_notebook import (
    LIMITS,
    FileLimits,
    UnreadableNotebookError,
    parse_notebook,
    read_file,
)
from acidbase_lib.classroom.notebooks.repair import Repair, rebuild
from acidbase_lib.classroom.notebooks.waiting import waiting_in
from acidbase_lib.teaching.questions.exercise import Mark
from acidbase_lib.teaching.unit import MARK_MIME

from .check_cells import CheckCellError, CheckedCells, marker_for

NotebookState = Literal["marked", "marked after repair", "not marked"]
OURS = "acidbase"  # the key of our own note in a marked notebook's metadata


@dataclass(frozen=True, slots=True)
class MarkedNotebook:
    """What came of marking one notebook.

    Parameters
    ----------
    state : str
        "marked", "marked after repair" or "not marked".
    why : str
        Why it was not marked, and what can be done; empty otherwise.
    repairs : tuple of Repair
        What was put right first.
    marks : tuple of Mark
        One a marked question, in the order of the notebook; then those that wait for a person.
    scores : mapping of str to float or None
        By grade id; None waits for a person.
    maximum : float
        The most that can be earned.
    notebook : dict or None
        The marked notebook, as if its cells had been run.
    """

    state: NotebookState
    why: str = ""
    repairs: tuple[Repair, ...] = ()
    marks: tuple[Mark, ...] = ()
    scores: Mapping[str, float | None] = field(default_factory=dict)
    maximum: float = 0.0
    notebook: dict[str, Any] | None = None

    @property
    def score(self) -> float | None:
        """The points earned so far; None where the notebook was not marked."""
        if self.state == "not marked":
            return None
        return float(sum(points for points in self.scores.values() if points is not None))

    @property
    def waiting(self) -> tuple[str, ...]:
        """The grade ids that wait for a person."""
        return tuple(name for name, points in self.scores.items() if points is None)


def mark_notebook(submission: str | Path | bytes | Mapping[str, Any],
                  source: AssignmentSource | str | Path,
                  limits: FileLimits = LIMITS, own: OwnSheet | None = None) -> MarkedNotebook:
    """Mark one learner's notebook; nothing in it is run.

    Parameters
    ----------
    submission : path, bytes or mapping
        The learner's file, its bytes, or its content.
    source : AssignmentSource or path
        The instructor's notebook.
    limits : FileLimits
        What a file may be at most.
    own : OwnSheet, optional
        The learner's own numbers, where everybody has others.

    Returns
    -------
    MarkedNotebook
        Whatever the learner handed in; a file that cannot be read is "not marked".

    Raises
    ------
    SourceError
        If the instructor's notebook cannot be marked with.
    """
    if not isinstance(source, AssignmentSource):
        source = AssignmentSource.from_file(source)
    if source.holds_code:
        raise SourceError(f"{source.name} holds code to be run, not charts alone; it cannot be "
                          "marked by reading. Use running_lane.run_notebook, or mark_class.")
    marker = marker_for(source)
    try:
        if isinstance(submission, str | Path):
            submission = read_file(submission, limits)
        notebook = (parse_notebook(submission, limits) if isinstance(submission, bytes)
                    else submission)
        exercises = None
        if own is None:
            rebuilt = rebuild(notebook, source, limits)
        else:
            rebuilt = own.by_everybodys_number(rebuild(notebook, own.as_given(source), limits))
            source, exercises = own.in_gradebook(source), own.by_slot
        waits = waiting_in(rebuilt.repairs)
        charts = charts_of(source, rebuilt.texts)
        by_hand = marker.by_hand(charts, exercises)
        checked = marker.check({question: text for question, text in charts.items()
                                if question not in waits}, exercises=exercises)
        checked = {name: _waiting(one) if name.removesuffix("-check") in waits else one
                   for name, one in checked.items()}
    except UnreadableNotebookError as error:
        return MarkedNotebook("not marked", str(error), maximum=source.maximum)
    except CheckCellError as error:
        return MarkedNotebook("not marked", f"{error}. The fault is in the assignment, not in the "
                              "learner's work: mend the check cell and mark again.",
                              maximum=source.maximum)
    scores = scores_of(source, rebuilt.texts, checked)
    state = state_after(rebuilt.repairs)
    return MarkedNotebook(state, "", rebuilt.repairs, (*marks_of(checked), *by_hand), scores,
                          source.maximum,
                          notebook_of(source, rebuilt.texts, checked, state, rebuilt.repairs))


def _waiting(checked: CheckedCells) -> CheckedCells:
    """A check cell whose question waits for a person: no points, and no key beside the answer."""
    outputs = [dict(one) for one in checked.outputs if MARK_MIME in one.get("data", {})]
    for output in outputs:
        record = output["data"][MARK_MIME]
        output["data"] = {
            MARK_MIME: {**record, "state": "waits for the instructor", "problems": [],
                        "parts": [{**part, "key": None, "suggests": []}
                                  for part in record["parts"]]},
            "text/plain": f"{record['question']}: waits for the instructor."}
    return CheckedCells(None, tuple(outputs))


def state_after(repairs: Sequence[Repair]) -> NotebookState:
    """Return the state of a notebook that was marked."""
    return "marked after repair" if repairs else "marked"


def charts_of(source: AssignmentSource, texts: Mapping[str, str]) -> dict[str, str]:
    """Return the chart cells' texts by question, as running them would have recorded them."""
    return {question: texts[str(cell.name)] for question, cell in source.answers.items()}


def scores_of(source: AssignmentSource, texts: Mapping[str, str],
              checked: Mapping[str, CheckedCells]) -> dict[str, float | None]:
    """Return each graded cell's points; a written answer waits unless it was left untouched."""
    scores: dict[str, float | None] = {}
    for cell in source.cells:
        if cell.points is None or cell.name is None:
            continue
        if cell.role == "check":
            scores[cell.name] = checked[cell.name].points
        else:
            untouched = cell.role == "answer" and texts[cell.name] == cell.text
            scores[cell.name] = 0.0 if untouched else None
    return scores


def marks_of(checked: Mapping[str, CheckedCells]) -> tuple[Mark, ...]:
    """Return the marks that the check cells left in their outputs."""
    return tuple(Mark.from_record(output["data"][MARK_MIME])
                 for one in checked.values() for output in one.outputs
                 if MARK_MIME in output.get("data", {}))


def notebook_of(source: AssignmentSource, texts: Mapping[str, str],
                checked: Mapping[str, CheckedCells], state: NotebookState,
                repairs: tuple[Repair, ...]) -> dict[str, Any]:
    """Return the instructor's notebook with the learner's answers in it, as if it had been run."""
    cells, count = [], 0
    for place, cell in enumerate(source.cells):
        metadata = json.loads(cell.metadata)
        if cell.name is not None:
            metadata["nbgrader"] = nbgrader_metadata(cell)
        if cell.role in {"answer", "check", "locked"}:
            metadata["deletable"] = False
        if cell.role in {"check", "locked"}:
            metadata["editable"] = False
        text = texts[cell.name] if cell.role == "answer" and cell.name else cell.text
        one: dict[str, Any] = {"cell_type": cell.kind, "metadata": metadata, "source": text}
        if source.minor >= 5:
            one["id"] = cell.cell_id or f"cell-{place}"
        if cell.kind == "code":
            one_checked = checked.get(cell.name or "")
            outputs = [dict(output) for output in one_checked.outputs] if one_checked else []
            count += 1
            for output in outputs:
                if output["output_type"] == "execute_result":
                    output["execution_count"] = count
            one |= {"execution_count": count if outputs else None, "outputs": outputs}
        cells.append(one)
    note = {"state": state, "repairs": [[r.kind, r.cell, r.sentence] for r in repairs]}
    return {"cells": cells, "metadata": json.loads(source.metadata) | {OURS: note},
            "nbformat": 4, "nbformat_minor": source.minor}
