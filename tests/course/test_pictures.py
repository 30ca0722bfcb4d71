"""Nothing is said by a picture or a color alone."""
from __future__ import annotations

import re
from itertools import pairwise

import pytest
from lessons import LESSONS, NAMES, Lesson, grade_id, source

lessons = pytest.mark.parametrize("lesson", LESSONS, ids=NAMES)


@lessons
def test_images_have_a_text_equivalent(lesson: Lesson):
    for cell in lesson.markdown:
        text = source(cell)
        for alt in re.findall(r"!\[([^\]]*)\]\(", text):
            assert len(alt.split()) >= 4, grade_id(cell)
        for tag in re.findall(r"<img[^>]*>", text):
            assert re.search(r'alt="[^"]{15,}"', tag), grade_id(cell)
        for tag in re.findall(r"<svg[^>]*>", text):
            assert 'role="img"' in tag, grade_id(cell)


@lessons
def test_table_heads_are_named(lesson: Lesson):
    """A screen reader reads the head before each cell."""
    for cell in lesson.markdown:
        lines = source(cell).splitlines()
        for line, below in pairwise(lines):
            if re.fullmatch(r"\|(\s*:?-+:?\s*\|)+", below.strip()):
                heads = line.strip().strip("|").split("|")
                assert all(head.strip() for head in heads), (grade_id(cell), line)


@lessons
def test_prose_carries_no_styles_of_its_own(lesson: Lesson):
    for cell in lesson.markdown:
        assert not re.search(r"style=|<font|color=", source(cell)), grade_id(cell)
