"""Lay out a form as a test: a heading, the questions in the form's order, how to hand in."""
from __future__ import annotations

import copy
from typing import Any

from nbformat.v4 import new_code_cell, new_markdown_cell

from acidbase_lib.teaching.unit import Unit

from .write_questions import grade_id, locked, opening, write_form

Notebook = Any
Cell = Any

#: Cells of a sitting's own notebook that fit whatever the order: each grade id ends so.
_KEPT = ("-how", "-hand-in", "-alone", "-result")
_HEADING = """# {title}: a form to sit

{count} questions with new patients, in an order of their own. Plan to sit it in one go, without \
the units open. Paper and a calculator are welcome.

> **For teaching, not for care.** The people and the hospital are invented. At the bedside, local \
protocols and licensed practice decide."""
_HOW = """## How it works

- Answer below each question. You may go back and change an answer.
- A line under each form says what is still missing. It never says whether you are right.
- Where no range is printed, use those of the course: pH 7.35–7.45, PaCO2 35–45 mmHg, \
bicarbonate 22–26 mmol/L.
- Save when you stop. Your answers are in this one file."""
_HAND_IN = """## Hand in

Save the notebook. Hand it in as your instructor has told you: a page with your result comes \
back."""
_ALONE = ("**Working alone?** Press **Look back at my answers**: it says which were right, and "
          "why.")


def write_sheet(template: Notebook, unit: Unit) -> Notebook:
    """Return a form as a test of its own, its authored keys taken from the unit's notebook.

    The lesson's text is left out: it speaks of its own questions in its own order. A sitting's
    notebook, which has a cell on how it works, keeps its heading and what it says of handing in.

    Parameters
    ----------
    template : NotebookNode
        The instructor's notebook of the unit.
    unit : Unit
        The form, dealt anew.
    """
    own = {name: cell for cell in template.cells if (name := grade_id(cell))}
    sitting = any(name.endswith("-how") for name in own)
    kept = [copy.deepcopy(cell) for name, cell in own.items() if name.endswith(_KEPT)]
    sheet = copy.deepcopy(template)
    sheet.cells = [
        *(_heading(unit) if not sitting else [copy.deepcopy(template.cells[0])]),
        _setup(unit),
        *([] if sitting else [_prose("form-how", _HOW)]),
        *(cell for cell in kept if (grade_id(cell) or "").endswith("-how")),
        *(new_markdown_cell(f"{{{{{question}}}}}", id=question) for question in unit.exercises),
        *(cell for cell in kept if not (grade_id(cell) or "").endswith("-how")),
        *([] if sitting else _ending())]
    return write_form(sheet, unit, template)


def _heading(unit: Unit) -> list[Cell]:
    return [_prose("form-goals", _HEADING.format(title=unit.title, count=len(unit.exercises)))]


def _setup(unit: Unit) -> Cell:
    cell = new_code_cell(f"from acidbase_lib import open_unit\nunit = {opening(unit)}",
                         id="form-setup")
    return locked(cell, "form-setup")


def _ending() -> list[Cell]:
    review = locked(new_code_cell("unit.review()", id="form-review"), "form-review")
    return [_prose("form-hand-in", _HAND_IN), _prose("form-alone", _ALONE), review]


def _prose(name: str, text: str) -> Cell:
    return locked(new_markdown_cell(text, id=name), name)


