"""The solutions earn every mark, the untouched release earns none, read as a class is read."""
from __future__ import annotations

from pathlib import Path

import pytest
from lessons import LESSONS, NAMES, Lesson, grade_id, nbgrader

from acidbase_lib.classroom.marking.reading_lane import mark_notebook

ROOT = Path(__file__).parents[2]
lessons = pytest.mark.parametrize("lesson", LESSONS, ids=NAMES)


def by_hand(lesson: Lesson) -> set[str]:
    return {grade_id(cell) for cell in lesson.checks if grade_id(cell).endswith("-answer")}


@lessons
def test_the_solutions_earn_full_marks(lesson: Lesson):
    marked = mark_notebook(lesson.path, lesson.path)
    assert marked.state != "not marked", marked.why
    points = {grade_id(cell): float(nbgrader(cell)["points"]) for cell in lesson.checks}
    assert {name: score for name, score in marked.scores.items() if score is not None} == {
        name: worth for name, worth in points.items() if name not in by_hand(lesson)}


@lessons
def test_the_untouched_release_earns_nothing(lesson: Lesson):
    release = ROOT / "course" / lesson.path.stem / lesson.path.name
    marked = mark_notebook(release, lesson.path)
    assert marked.state != "not marked", marked.why
    assert marked.score == 0
