"""Write a unit's question blocks into its notebook: prompt, chart cell, check cell."""
from __future__ import annotations

import copy
import re
from collections.abc import Iterator
from typing import Any

import nbformat
from nbformat.v4 import new_code_cell, new_markdown_cell

from acidbase_lib.teaching.chart import write_chart
from acidbase_lib.teaching.exercises import Exercise
from acidbase_lib.teaching.unit import Unit

Notebook = Any
Cell = Any

_PLACEHOLDER = re.compile(r"^\{\{(q[\w-]+)\}\}$")
_OPENING = re.compile(r"open_unit\(\s*(['\"])(?P<unit>[\w-]+)\1\s*"
                      r"(?:,\s*form\s*=\s*(?P<form>\d+)\s*)?"
                      r"(?:,\s*picks\s*=\s*(['\"])(?P<picks>\d*)\4\s*)?\)")
_HIDDEN = re.compile(r"### BEGIN HIDDEN TESTS\n(.*?)\n### END HIDDEN TESTS", re.DOTALL)


class FormError(ValueError):
    """A notebook cannot take a unit's questions; says which question and why."""


def write_form(notebook: Notebook, unit: Unit) -> Notebook:
    """Return a copy of a unit's notebook with the question blocks of the unit's form.

    Parameters
    ----------
    notebook : NotebookNode
        A unit's notebook: each question is a Markdown cell ``{{q2-1}}``, or the three cells that
        an earlier call wrote.
    unit : Unit
        The open unit; its form is written into the setup cell.

    Raises
    ------
    FormError
        A question has no place in the notebook, or a place has no question.
    """
    written = copy.deepcopy(notebook)
    kept_keys = {gid: hidden[1] for cell in notebook.cells if (gid := grade_id(cell))
                 and (hidden := _HIDDEN.search(cell.source))}
    cells: list[Cell] = []
    placed: set[str] = set()
    for cell in written.cells:
        question = _question_at(cell)
        if question is None:
            cells.append(_with_form(cell, unit))
        elif question not in unit.exercises:
            raise FormError(f"The notebook holds a place for {question!r}, but {unit.id} has no "
                            f"such question. It has {', '.join(unit.exercises)}.")
        elif question not in placed:
            placed.add(question)
            cells.extend(block(unit.exercises[question], kept_keys.get(f"{question}-check")))
    missing = [question for question in unit.exercises if question not in placed]
    if missing:
        raise FormError(f"The notebook has no place for {missing[0]!r}: add a Markdown cell "
                        f"{{{{{missing[0]}}}}} where it belongs.")
    written.cells = cells
    nbformat.validate(written)
    return written


def block(exercise: Exercise, hidden: str | None = None) -> Iterator[Cell]:
    """Yield a question's cells: prompt, chart cell with the right values, check cell.

    Parameters
    ----------
    exercise : Exercise
        The question.
    hidden : str, optional
        The hidden lines of an earlier check cell, kept when they hold an authored key.
    """
    qid = exercise.id
    prompt = new_markdown_cell(exercise.prompt, id=f"{qid}-prompt")
    prompt.metadata["nbgrader"] = _grading(f"{qid}-prompt", locked=True)
    yield prompt
    answer = new_code_cell(write_chart(qid, exercise.fields, exercise.key), id=f"{qid}-answer")
    if exercise.kind == "rationale":
        answer.metadata["nbgrader"] = _grading(f"{qid}-answer", grade=True, solution=True,
                                               points=exercise.points)
        yield answer
        return
    answer.metadata["nbgrader"] = _grading(f"{qid}-answer", solution=True)
    yield answer
    lines = hidden if hidden is not None and "key=" in hidden else f'unit.mark("{qid}")'
    check = new_code_cell(f'unit.check("{qid}")\n### BEGIN HIDDEN TESTS\n{lines}\n'
                          "### END HIDDEN TESTS", id=f"{qid}-check")
    check.metadata["nbgrader"] = _grading(f"{qid}-check", grade=True, locked=True,
                                          points=exercise.points)
    yield check


def grade_id(cell: Cell) -> str | None:
    """Return a cell's grade id, or None."""
    found = cell.metadata.get("nbgrader", {}).get("grade_id")
    return found if isinstance(found, str) else None


def opening_of(source: str) -> tuple[str, int, str] | None:
    """Return the unit id, form and picks that a setup cell opens, or None."""
    found = _OPENING.search(source)
    return (found["unit"], int(found["form"] or 1), found["picks"] or "") if found else None


def opening(unit: Unit) -> str:
    """Return the call that opens a unit, as it stands in the setup cell."""
    picks = f', picks="{unit.picks}"' if unit.picks else ""
    return f'open_unit("{unit.id}", form={unit.form}{picks})'


def _question_at(cell: Cell) -> str | None:
    placeholder = _PLACEHOLDER.match(cell.source.strip())
    if placeholder:
        return placeholder[1]
    gid = grade_id(cell) or ""
    question, _, part = gid.rpartition("-")
    return question if part in {"prompt", "answer", "check"} and question.startswith("q") else None


def _with_form(cell: Cell, unit: Unit) -> Cell:
    if cell.cell_type == "code" and _OPENING.search(cell.source):
        cell.source = _OPENING.sub(opening(unit), cell.source)
    return cell


def _grading(gid: str, *, grade: bool = False, solution: bool = False, locked: bool = False,
             points: float | None = None) -> dict[str, Any]:
    entry = {"schema_version": 3, "grade_id": gid, "grade": grade, "solution": solution,
             "locked": locked, "task": False}
    return entry | ({"points": points} if points is not None else {})
