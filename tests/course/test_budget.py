"""A unit fits into 30 to 45 minutes: few cells, few words, short code, one idea a block."""
from __future__ import annotations

from itertools import pairwise

import pytest
from lessons import LESSONS, NAMES, Lesson, grade_id, nbgrader, source, words

lessons = pytest.mark.parametrize("lesson", LESSONS, ids=NAMES)

# 30 to 45 minutes; a guess, the opening, the twins and a worked reading are cells of one press each
LESSON = {"cells": (25, 54), "words": (700, 1000), "questions": (4, 10)}
TO_LOOK_AT = ("-short-forms", "-picture", "-glossary")  # not to be worked through
SITTING = {"cells": (70, 110), "words": (150, 450), "questions": (20, 30)}  # 75 to 90 minutes


def fits(lesson: Lesson, what: str, count: int) -> bool:
    """Whether a count lies in the lesson's budget: the sitting asks more and tells less."""
    least, most = (SITTING if lesson.path.stem == "08_sitting" else LESSON)[what]
    return least <= count <= most


def test_the_course_has_lessons():
    """Every test below runs once a lesson: with none they would all pass unseen."""
    assert "02_primary_disorder" in NAMES


@lessons
def test_cells(lesson: Lesson):
    shown = [cell for cell in lesson.cells if not grade_id(cell).endswith(TO_LOOK_AT)]
    assert fits(lesson, "cells", len(shown)), len(shown)


@lessons
def test_words(lesson: Lesson):
    assert fits(lesson, "words", len(words(lesson.prose))), len(words(lesson.prose))


@lessons
def test_questions(lesson: Lesson):
    assert fits(lesson, "questions", len(lesson.prompts)), len(lesson.prompts)


@lessons
def test_code_is_short(lesson: Lesson):
    """An answer cell is data, not code, so it is not counted in the mean."""
    assert max(len(text.splitlines()) for text in lesson.code) <= 8
    code = [text for text in lesson.code if not text.startswith("%%")]
    assert sum(len(text.splitlines()) for text in code) / len(code) <= 6


@lessons
def test_one_idea_a_block(lesson: Lesson):
    """No cell of prose is longer than a screen."""
    for cell in lesson.markdown:
        assert len(words(source(cell))) <= 190, grade_id(cell)


@lessons
def test_a_question_is_always_the_same_three_cells(lesson: Lesson):
    """But for one that the instructor marks: its answer cell holds the points, so it has two."""
    for place, cell in enumerate(lesson.cells):
        if not grade_id(cell).endswith("-prompt"):
            continue
        name = grade_id(cell).removesuffix("-prompt")
        answer, check = lesson.cells[place + 1], lesson.cells[place + 2]
        assert grade_id(answer) == f"{name}-answer"
        assert nbgrader(answer)["solution"]
        assert source(answer).startswith(f"%%chart {name}\n")
        if nbgrader(answer)["grade"]:
            assert "Your instructor reads this one and gives the points." in source(cell)
            continue
        assert grade_id(check) == f"{name}-check"
        assert nbgrader(check)["locked"]


@lessons
def test_every_explorer_follows_a_written_question(lesson: Lesson):
    """Ask before telling: the cell before an explorer asks."""
    for before, cell in pairwise(lesson.cells):
        if "explore_" in source(cell) and cell["cell_type"] == "code":
            assert before["cell_type"] == "markdown"
            assert "?" in source(before)
