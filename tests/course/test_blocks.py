"""A question as printed is the question as marked: prompts, answers and points are one form."""
from __future__ import annotations

import nbformat
import pytest
from lessons import LESSONS, NAMES, Lesson, source

from acidbase_lib.classroom.notebooks.write_questions import opening_of, write_form
from acidbase_lib.teaching.unit import open_unit

lessons = pytest.mark.parametrize("lesson", LESSONS, ids=NAMES)


@lessons
def test_blocks_are_what_the_kit_draws_today(lesson: Lesson):
    """A change in the drawing of patients would leave old patients in the prompts."""
    opening = opening_of("\n".join(lesson.code))
    assert opening
    assert opening[0] == lesson.path.stem
    notebook = nbformat.read(lesson.path, as_version=4)
    fresh = write_form(notebook, open_unit(*opening))
    old = {cell["id"]: source(cell) for cell in lesson.cells}
    for cell in fresh.cells:
        assert old[cell["id"]] == source(cell), f"{cell['id']}: run the block writer again"
