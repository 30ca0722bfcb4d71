"""Notebooks are committed clean: no outputs, readable names, locked but for the answers."""
from __future__ import annotations

import re

import nbformat
import pytest
from lessons import LESSONS, NAMES, Lesson, grade_id, nbgrader, source

lessons = pytest.mark.parametrize("lesson", LESSONS, ids=NAMES)


@lessons
def test_it_is_a_valid_notebook(lesson: Lesson):
    notebook = nbformat.from_dict(lesson.notebook)
    nbformat.validate(notebook)
    assert (notebook.nbformat, notebook.nbformat_minor) >= (4, 5)


@lessons
def test_no_outputs_and_no_counts(lesson: Lesson):
    for cell in lesson.cells:
        assert not cell.get("outputs"), grade_id(cell)
        assert cell.get("execution_count") is None, grade_id(cell)
    assert "widgets" not in lesson.notebook["metadata"]


@lessons
def test_names_are_readable_and_unique(lesson: Lesson):
    for names in ([cell["id"] for cell in lesson.cells], [grade_id(c) for c in lesson.cells]):
        assert len(set(names)) == len(names)
        assert all(re.fullmatch(r"[a-z0-9]+(-[a-z0-9]+)+", name) for name in names), names


@lessons
def test_only_answers_can_be_changed(lesson: Lesson):
    for cell in lesson.cells:
        marks = nbgrader(cell)
        assert marks["schema_version"] == 3
        assert marks["locked"] is not marks["solution"], grade_id(cell)


@lessons
def test_no_placeholder_is_left(lesson: Lesson):
    assert not [source(cell) for cell in lesson.cells if source(cell).startswith("{{")]


@lessons
def test_it_opens_on_a_plain_python_kernel(lesson: Lesson):
    assert lesson.notebook["metadata"]["kernelspec"]["name"] == "python3"
    assert lesson.path.parent.name == lesson.path.stem
