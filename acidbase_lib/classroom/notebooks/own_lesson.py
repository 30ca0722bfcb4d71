"""The notebook of a school's own unit: a heading, its questions, how to look back and hand in."""
from __future__ import annotations

from typing import Any

from nbformat.v4 import new_code_cell, new_markdown_cell, new_notebook

from acidbase_lib.caution import CAUTION
from acidbase_lib.teaching.unit import Unit

from .write_questions import locked, opening, write_form

Notebook = Any
_HEADING = """# {title}

{count} to work through at your own pace.

> {caution} The people and the hospital are invented."""
_HOW = """## How it works

- Answer below each question. After an answer you are told whether it is right, and why.
- You may try again. What is right at the first try earns its points; what is mended earns half.
- Save when you stop. Your answers are in this one file."""
_END = """## Look back and hand in

**Look back at my answers** shows which were right, and why. Then save the notebook and hand it in \
as your instructor has told you."""


def own_template(title: str) -> Notebook:
    """Return the notebook that a form of a school's own unit is written from."""
    notebook = new_notebook(cells=[locked(new_markdown_cell(f"# {title}", id="own-goals"),
                                          "own-goals")])
    notebook.metadata |= {"title": title, "language_info": {"name": "python"}, "kernelspec": {
        "display_name": "Python 3 (ipykernel)", "language": "python", "name": "python3"}}
    return notebook


def own_lesson(unit: Unit) -> Notebook:
    """Return a school's own unit as a lesson, its instructor's copy."""
    count = len(unit.exercises)
    notebook = own_template(unit.title)
    notebook.cells = [
        _prose("own-goals", _HEADING.format(title=unit.title, caution=CAUTION, count=(
            f"{count} question{'s' * (count != 1)}"))),
        _prose("own-short-forms", "**Short forms here.**"),
        _code("own-setup", f"from acidbase_lib import open_unit\nunit = {opening(unit)}"),
        _prose("own-how", _HOW),
        *(new_markdown_cell(f"{{{{{question}}}}}", id=question) for question in unit.exercises),
        _prose("own-end", _END), _code("own-review", "unit.review()"),
        _code("own-glossary", "unit.glossary()")]
    return write_form(notebook, unit)


def _prose(name: str, text: str) -> Any:
    return locked(new_markdown_cell(text, id=name), name)


def _code(name: str, text: str) -> Any:
    return locked(new_code_cell(text, id=name), name)
