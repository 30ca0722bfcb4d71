"""What the prose promises is what the marker gives."""
from __future__ import annotations

import re

import pytest
from lessons import LESSONS, NAMES, Lesson, grade_id, nbgrader, source

lessons = pytest.mark.parametrize("lesson", LESSONS, ids=NAMES)
_PROMISE = re.compile(r"^### Question (\d+\.\d+) \((\d+(?:\.\d+)?) points?\)\n")


def promised(lesson: Lesson) -> dict[str, float]:
    found = {}
    for cell in lesson.prompts:
        match = _PROMISE.match(source(cell))
        assert match, f"{grade_id(cell)} does not begin with its number and its points"
        found["q" + match[1].replace(".", "-")] = float(match[2])
    return found


def given(lesson: Lesson) -> dict[str, float]:
    return {grade_id(cell).rsplit("-", 1)[0]: float(nbgrader(cell)["points"])
            for cell in lesson.checks}


@lessons
def test_prose_points_equal_metadata_points(lesson: Lesson):
    assert promised(lesson) == given(lesson)


@lessons
def test_the_number_of_questions_told_is_the_number_there(lesson: Lesson):
    names = ("zero", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten")
    for told in re.findall(r"\b(?:all )?(\w+) (?:questions|answers)\b", lesson.prose):
        if told in names:
            assert names.index(told) == len(lesson.prompts)
