"""No history is told twice in one unit: a new patient is not the last one under another name."""
from __future__ import annotations

import re
from collections import Counter

import pytest
from lessons import LESSONS, NAMES, Lesson, source

from acidbase_lib.teaching.patients.vignettes import vignettes

#: Each history with its blanks (names, pronouns, verbs) open.
STORIES = {row.id: re.compile(r"\w+".join(map(re.escape, re.split(r"\{[^}]*\}", row.text))))
           for rows in vignettes().values() for row in rows}


def told(lesson: Lesson) -> Counter[str]:
    text = "\n".join(source(cell) for cell in lesson.prompts)
    return Counter({story: len(words.findall(text)) for story, words in STORIES.items()})


def test_histories_are_found():
    """With none found, the test below would pass unseen."""
    assert sum(sum(told(lesson).values()) for lesson in LESSONS) > 40


@pytest.mark.parametrize("lesson", LESSONS, ids=NAMES)
def test_one_story_once(lesson: Lesson):
    assert [story for story, times in told(lesson).items() if times > 1] == []
