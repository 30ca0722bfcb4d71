"""A school's own units as lessons, written into a course."""
from __future__ import annotations

import argparse
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from tempfile import TemporaryDirectory

from acidbase_lib.classroom.commands.form import write_pair
from acidbase_lib.classroom.school.folder import School
from acidbase_lib.classroom.short_names import ELSEWHERE, forms_folder
from acidbase_lib.teaching.unit import open_unit

from .own_text import with_people
from .own_unit import own_notebook, own_questions


def write_lesson(unit_id: str, questions: str, out: Path) -> Path:
    """Write a school's own unit as a lesson into a course; return the learners' notebook."""
    unit = open_unit(unit_id, questions=questions)
    return write_pair(unit, out, template=own_notebook(unit_id, questions, True),
                      self_marking=True, name=unit_id)[1]


def course_here(asked: argparse.Namespace) -> Path:
    """Return the course in which a sitting is marked; a school's own lesson is written there first.

    Where no course was named and none is here, it is the folder in which `acidbase form` writes.
    """
    course: Path = asked.course
    if course == Path(".") and forms_folder() == ELSEWHERE and (
            (ELSEWHERE / "solutions" / asked.unit).is_dir() or own_questions_of(asked)):
        course = ELSEWHERE
    there = course / "solutions" / asked.unit / f"{asked.unit}.ipynb"
    if not there.is_file() and (own := own_questions(asked)):
        with with_people(asked.school):
            write_lesson(asked.unit, own, course)
        print(f"The lesson {asked.unit} is written into the course: {there}")
    return course


def own_questions_of(asked: argparse.Namespace) -> bool:
    """Whether the unit that was asked for is a school's own."""
    school = getattr(asked, "school", None)
    return school is not None and asked.unit in school.files


@contextmanager
def own_course(school: School) -> Iterator[Path]:
    """Yield a folder with every own unit of a school as learners are given it.

    Raises
    ------
    SchoolError
        A file cannot be a unit; nothing was written.
    """
    plans = {name: plan for name in school.files if (plan := school.plan(name)) is not None}
    with TemporaryDirectory(prefix="acidbase-school-") as work:
        (Path(work) / "course").mkdir()
        for name, plan in plans.items():
            write_lesson(name, plan.carried, Path(work))
        yield Path(work) / "course"
