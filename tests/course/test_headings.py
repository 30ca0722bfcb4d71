"""A unit as an outline: one title, sections, a heading for each question."""
from __future__ import annotations

import re
from itertools import pairwise

import pytest
from lessons import LESSONS, NAMES, Lesson, grade_id, source

lessons = pytest.mark.parametrize("lesson", LESSONS, ids=NAMES)


def headings(text: str) -> list[tuple[int, str]]:
    return [(len(marks), told) for marks, told in re.findall(r"^(#{1,6}) (.+)$", text, re.M)]


@lessons
def test_every_question_is_a_heading_and_no_heading_skips_a_level(lesson: Lesson):
    """A screen reader's list of headings leads to each question."""
    outline = [one for cell in lesson.markdown for one in headings(source(cell))]
    assert [level for level, _ in outline].count(1) == 1
    assert outline[0][0] == 1
    for (above, _), (level, told) in pairwise(outline):
        assert level <= above + 1, told
    asked = [told for level, told in outline if level == 3 and told.startswith("Question ")]
    assert len(asked) == len(lesson.prompts)


@lessons
def test_nothing_bold_stands_in_for_a_heading_of_a_question(lesson: Lesson):
    for cell in lesson.prompts:
        assert not re.search(r"\*\*Question", source(cell)), grade_id(cell)
