"""A school's own text in a unit's notebook: after its introduction, clearly the school's."""
from __future__ import annotations

import copy
import shutil
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any

import nbformat
from nbformat.v4 import new_markdown_cell

from acidbase_lib.classroom.atomic_write import write_whole
from acidbase_lib.classroom.headed_tables import headed

from .write_questions import grade_id, locked, opening_of, write_short_forms

Notebook = Any
CELL = "from-your-school"


def with_lesson(notebook: Notebook, text: str) -> Notebook:
    """Return a copy with a school's text after the cell that opens the unit; "" changes nothing."""
    written = copy.deepcopy(notebook)
    written.cells = [cell for cell in written.cells if grade_id(cell) != CELL or not text]
    if not text:
        return written
    place = next(place for place, cell in enumerate(written.cells, 1) if opening_of(cell.source))
    written.cells.insert(place, locked(new_markdown_cell(headed(text), id=CELL), CELL))
    write_short_forms(written.cells)
    nbformat.validate(written)
    return written


@contextmanager
def course_with(course: Path, lessons: Mapping[str, str]) -> Iterator[Path]:
    """The released course with a school's text in its units, in a folder that is gone afterwards.

    Parameters
    ----------
    course : Path
        The released course.
    lessons : mapping of str to str
        The text of each unit, headed; the course itself where there is none.
    """
    if not lessons:
        yield course
        return
    with TemporaryDirectory(prefix="acidbase-school-") as name:
        work = Path(name) / "course"
        shutil.copytree(course, work)
        for unit, text in lessons.items():
            path = work / unit / f"{unit}.ipynb"
            if path.is_file():
                written = with_lesson(nbformat.read(path, as_version=4), text)
                write_whole(path, nbformat.writes(written, indent=1) + "\n", durable=False)
        yield work
