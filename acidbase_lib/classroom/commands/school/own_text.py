"""A school's own text and people, for a command; where there is none it costs no tools."""
from __future__ import annotations

import argparse
from collections.abc import Mapping
from contextlib import AbstractContextManager, nullcontext
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from acidbase_lib.classroom.school.folder import School


def lesson_text(asked: argparse.Namespace) -> str:
    """Return the school's own text for the unit that was asked for; "" where it has none.

    Raises
    ------
    SchoolError
        The text has a fault.
    """
    school = getattr(asked, "school", None)
    if school is None:
        return ""
    from acidbase_lib.classroom.school.lessons import lessons_of

    return lessons_of(school, (asked.unit,)).get(asked.unit, "")


def every_lesson(school: School | None) -> Mapping[str, str]:
    """Return the school's own text for each unit.

    Raises
    ------
    SchoolError
        A text has a fault.
    """
    if school is None:
        return {}
    from acidbase_lib.classroom.school.lessons import lessons_of

    return lessons_of(school)


def with_lessons(course: Path, lessons: Mapping[str, str]) -> AbstractContextManager[Path]:
    """The course with a school's own text in its units."""
    if not lessons:
        return nullcontext(course)
    from acidbase_lib.classroom.notebooks.school_lesson import course_with

    return course_with(course, lessons)


def with_people(school: School | None) -> AbstractContextManager[object]:
    """Draw a school's own people and tell its words, as far as the ``with`` reaches.

    Raises
    ------
    SchoolError
        A file has a fault.
    """
    if school is None:
        return nullcontext()
    from acidbase_lib.classroom.school.over import laid_over_of
    from acidbase_lib.reading.settings_in_force import by_settings, in_force

    word = laid_over_of(school)
    return by_settings(replace(in_force(), laid_over=word)) if word else nullcontext()
