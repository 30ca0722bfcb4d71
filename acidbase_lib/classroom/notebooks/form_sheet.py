"""Lay out a form as a test: a heading, the questions in the form's order, how to hand in."""
from __future__ import annotations

import copy
from typing import Any

from nbformat.v4 import new_code_cell, new_markdown_cell

from acidbase_lib.reading.telling.filled import filled
from acidbase_lib.teaching.unit import Unit

from .write_questions import grade_id, locked, opening, write_form

Notebook = Any
Cell = Any

#: Cells of a sitting's own notebook that fit whatever the order, by the ends of their grade ids.
_WORDS, _HOW_IT_WORKS, _GLOSSARY = ("-short-forms",), ("-how",), ("-glossary",)
_END = ("-hand-in", "-alone", "-result")
_HEADING = """# {title}: a form to sit

{count} questions with new patients, in an order of their own. Plan to sit it in one go, without \
the units open. Paper and a calculator are welcome.

> **For teaching, not for care.** The people and the hospital are invented. At the bedside, local \
protocols and licensed practice decide."""
_HOW = """## How it works

- Answer below each question. You may go back and change an answer.
- A line under each form says what is still missing. It never says whether you are right.
- Where no range is printed, use those of the course: pH <<ph:bare>>, PaCO2 <<paco2>>, \
bicarbonate <<hco3>>.
- Short forms stand in full above, and again at the end.
- Save when you stop. Your answers are in this one file."""
_HAND_IN = """## Hand in

Save the notebook. Hand it in as your instructor has told you: a page with your result comes \
back."""
_ALONE = ("**Working alone?** Press **Look back at my answers** once all are answered: it says "
          "which were right, and why. That ends the form: it shows what you know only as it stands "
          "then. In a class, hand in first.")


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

    def kept(ends: tuple[str, ...]) -> list[Cell]:
        return [copy.deepcopy(cell) for end in ends for name, cell in own.items()
                if sitting and name.endswith(end)]

    sheet = copy.deepcopy(template)
    sheet.cells = [
        copy.deepcopy(template.cells[0]) if sitting else _heading(unit),
        *(kept(_WORDS) or [_prose("form-short-forms", "**Short forms here.**")]),
        _setup(unit),
        *(kept(_HOW_IT_WORKS) or [_prose("form-how", filled(_HOW, unit.settings))]),
        *(new_markdown_cell(f"{{{{{question}}}}}", id=question) for question in unit.exercises),
        *(kept(_END) if sitting else _ending()),
        *(kept(_GLOSSARY) or [_code("form-glossary", "unit.glossary()")])]
    return write_form(sheet, unit, template)


def _heading(unit: Unit) -> Cell:
    return _prose("form-goals", _HEADING.format(title=unit.title, count=len(unit.exercises)))


def _setup(unit: Unit) -> Cell:
    return _code("form-setup", f"from acidbase_lib import open_unit\nunit = {opening(unit)}")


def _ending() -> list[Cell]:
    return [_prose("form-hand-in", _HAND_IN), _prose("form-alone", _ALONE),
            _code("form-review", "unit.review()")]


def _code(name: str, text: str) -> Cell:
    return locked(new_code_cell(text, id=name), name)


def _prose(name: str, text: str) -> Cell:
    return locked(new_markdown_cell(text, id=name), name)


