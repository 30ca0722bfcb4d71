"""A learner's own notebook marked at home: no instructor, no nbgrader, nothing in it is run."""
from __future__ import annotations

import ast
from collections.abc import Mapping
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from acidbase_lib.classroom.notebooks.assignment import SourceCell
from acidbase_lib.classroom.notebooks.question_versions import asked_otherwise
from acidbase_lib.classroom.notebooks.read_notebook import (
    ANSWER,
    LIMITS,
    FileLimits,
    UnreadableNotebookError,
    cells_of,
    is_blank,
    parse_notebook,
    read_file,
    text_of,
)
from acidbase_lib.classroom.notebooks.repair import Repair, answers_in
from acidbase_lib.classroom.phrases import number_of
from acidbase_lib.reading.lab_settings import DEFAULT_SETTINGS, LabSettings
from acidbase_lib.teaching.questions.answer_text import write_chart
from acidbase_lib.teaching.questions.exercise import Exercise
from acidbase_lib.teaching.questions.question_file import UnitError
from acidbase_lib.teaching.questions.which_try import MENDED_HALF
from acidbase_lib.teaching.unit import Unit, open_unit

from .reading_lane import MarkedNotebook, state_after

_NEWER = "`acidbase study` brings the new version and carries your other answers over."


@dataclass(frozen=True, slots=True)
class OwnNotebook:
    """A notebook marked at home, with what is needed to explain the marks."""

    marked: MarkedNotebook
    title: str = ""
    exercises: Mapping[str, Exercise] = field(default_factory=dict)
    settings: LabSettings = DEFAULT_SETTINGS


def mark_own_notebook(path: str | Path, limits: FileLimits = LIMITS) -> OwnNotebook:
    """Mark a notebook with the keys that the kit works out itself.

    Questions whose key only the instructor has, and those that a person marks, wait.

    Parameters
    ----------
    path : str or Path
        The notebook.
    limits : FileLimits
        What a file may be at most.

    Returns
    -------
    OwnNotebook
        Its ``marked.notebook`` is None: there is nothing to hand back.
    """
    try:
        notebook = parse_notebook(read_file(path, limits), limits)
        unit = unit_of(notebook, Path(path).parent)
        cells = [SourceCell("code", "answer", text := write_chart(exercise.id, exercise.fields),
                            text, f"{exercise.id}{ANSWER}", exercise.id)
                 for exercise in (*unit, *unit.unmarked.values())]
        answered = answers_in(notebook, cells, limits)
    except (UnreadableNotebookError, UnitError) as error:
        return OwnNotebook(MarkedNotebook("not marked", str(error)))
    moved = _moved(notebook, unit, answered.texts)
    if len(moved) == len(unit.exercises):
        return OwnNotebook(MarkedNotebook(
            "not marked", "Every question of this copy asks something else than this version of "
            f"the kit does. {_NEWER}"))
    asked = {e.id: e for e in unit if e.id not in moved}
    # a guess left out of an older copy costs nothing and needs no mending
    beside = {f"{question}{ANSWER}" for question in unit.unmarked}
    repairs = tuple(one for one in answered.repairs if one.cell not in beside) + tuple(Repair(
        "another version", f"{question}{ANSWER}", f"Question {number_of(question)} asks something "
        f"else in your copy than in this version of the kit; it is not marked. {_NEWER}")
        for question in moved)
    for cell in cells:
        unit.record(str(cell.question), answered.texts[str(cell.name)])
    marks = tuple(unit.mark_of(question) for question in asked)
    waits = {exercise.id for exercise in asked.values()
             if exercise.key is None or exercise.kind == "rationale"}
    scores = {f"{mark.question}-check": None if mark.question in waits else float(mark.points)
              for mark in marks}
    marked = MarkedNotebook(state_after(repairs), "", repairs, marks, scores,
                            float(sum(exercise.points for exercise in asked.values())))
    return OwnNotebook(marked, unit.named, asked, unit.settings)


def _moved(notebook: Mapping[str, Any], unit: Unit, texts: Mapping[str, str]) -> tuple[str, ...]:
    """The answered questions that the notebook asks otherwise than the kit does now."""
    asked = asked_otherwise(notebook, {exercise.id: exercise.prompt for exercise in unit})
    return tuple(question for question in asked if not is_blank(texts[f"{question}{ANSWER}"]))


def unit_of(notebook: Mapping[str, Any], folder: Path | None = None) -> Unit:
    """Open the unit that a notebook's setup cell names; the cell's text is read, not run.

    Raises
    ------
    UnreadableNotebookError
        If no cell says which unit and which form this is.
    UnitError
        If there is no such unit or form.
    """
    for _, cell in cells_of(notebook):
        text = text_of(cell)
        if text is None or cell.get("cell_type") != "code" or "open_unit" not in text:
            continue
        for call in _calls(text):
            given = {word.arg: word.value for word in call.keywords if word.arg}
            given |= dict(zip(("unit_id", "form", "picks", "order", "counts"), call.args,
                              strict=False))
            unit_id, form = _plain(given.get("unit_id")), _plain(given.get("form"), 1)
            picks, order = _plain(given.get("picks"), ""), _plain(given.get("order"), "")
            counts = _plain(given.get("counts"), MENDED_HALF)
            school = _plain(given.get("school"), "")
            own = _plain(given.get("questions"), "")
            if (isinstance(unit_id, str) and isinstance(form, int) and isinstance(picks, str)
                    and isinstance(order, str) and isinstance(counts, str)
                    and isinstance(own, str) and isinstance(school, str)):
                return open_unit(unit_id, form, picks, order, counts, folder, own, school)
    raise UnreadableNotebookError(
        "The notebook does not say which unit it is: the setup cell, with a line such as "
        'unit = open_unit("02_primary_disorder", form=1), is missing or was changed. Open a fresh '
        "copy of the unit and copy your answers into it.")


def _calls(text: str) -> list[ast.Call]:
    """The calls of open_unit in a cell; where the cell does not parse, line by line."""
    trees = []
    for piece in (text, *text.splitlines()):
        try:
            trees.append(ast.parse(piece.strip()))
        except (SyntaxError, ValueError, RecursionError, MemoryError):
            continue
        if piece == text:
            break
    return [node for tree in trees for node in ast.walk(tree)
            if isinstance(node, ast.Call) and isinstance(node.func, ast.Name | ast.Attribute)
            and (node.func.id if isinstance(node.func, ast.Name) else node.func.attr)
            == "open_unit"]


def _plain(node: ast.expr | None, default: Any = None) -> Any:
    if node is None:
        return default
    return node.value if isinstance(node, ast.Constant) else None
