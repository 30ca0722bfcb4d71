"""Build the course as a web page that needs no server.

It opens with a light page of practice, which works offline once opened, in
OUT/practice. Every unit runs in the reader's browser. Put the folder on any
web space. Nothing in it asks another host for anything, and a learner's
answers stay in that learner's browser. To look at it here:
python -m http.server --directory OUT --bind 127.0.0.1
"""
from __future__ import annotations

import argparse
import shutil
import time
from collections.abc import Iterator
from contextlib import contextmanager, nullcontext
from pathlib import Path
from typing import TYPE_CHECKING

from acidbase_lib.classroom.errors import CommandError
from acidbase_lib.classroom.notebooks.by_school import course_by
from acidbase_lib.classroom.released_course import course_folder, unit_ids_of
from acidbase_lib.classroom.site.build_site import build_light_site, build_site, size_of
from acidbase_lib.classroom.site.tools import find_tools
from acidbase_lib.reading.settings_in_force import in_force

from .school.own_text import every_lesson, with_lessons

if TYPE_CHECKING:
    from acidbase_lib.classroom.school.folder import School

_SERVE = "python -m http.server --directory {} --bind 127.0.0.1"
LARGEST = 50_000_000  # bytes; what a free web space takes, and a phone's budget


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """What may follow ``acidbase site``."""
    parser.add_argument("out", metavar="OUT", type=Path, help="the folder to write the page into")
    parser.add_argument("--light", action="store_true",
                        help="only the light page of practice: half a megabyte, and nothing else "
                             "to install")
    parser.add_argument("--pyodide", metavar="DIR", type=Path,
                        help="where npm put the package pyodide (default: looked for in "
                             "node_modules here, and in the folders above)")
    parser.add_argument("--settings", type=Path, metavar="FILE",
                        help="your school's ranges and oxygen targets, a TOML file")
    parser.add_argument("--course", metavar="DIR", type=Path,
                        help="another course folder (default: the kit's own)")


def run(asked: argparse.Namespace) -> int:
    """Build the page and say what it weighs."""
    if asked.light:
        return _light(asked)
    course = asked.course or course_folder()
    if not any(course.glob("*/*.ipynb")):
        raise CommandError(f"{course} holds no units: a course has a folder for each unit, with "
                           "its notebook in it")
    tools = find_tools(asked.pyodide)
    start = time.monotonic()
    print("Building the page; this takes up to a minute and a half.", flush=True)
    school = getattr(asked, "school", None)
    with course_by(in_force(), course) as theirs, (
            _with_own(theirs, school) if school else nullcontext(theirs)) as whole:
        units = build_site(whole, asked.out, tools)
    size = size_of(asked.out)
    print(f"{len(units)} units, {size / 1e6:.0f} MB, in {time.monotonic() - start:.0f} s: "
          f"{asked.out / 'index.html'}")
    if size > LARGEST:
        print(f"That is more than {LARGEST / 1e6:.0f} MB; some free web spaces refuse it.")
    print(f"Look at it with: {_SERVE.format(asked.out)}")
    return 0


def _light(asked: argparse.Namespace) -> int:
    if asked.course or asked.pyodide:
        raise CommandError("--light builds no units, so --course and --pyodide do not go with it; "
                           "leave out one or the other")
    cases = build_light_site(asked.out)
    print(f"{cases:,} cases, {size_of(asked.out) / 1e6:.1f} MB: {asked.out / 'index.html'}")
    print(f"Look at it with: {_SERVE.format(asked.out)}")
    return 0


@contextmanager
def _with_own(course: Path, school: School) -> Iterator[Path]:
    """Yield the course with a school's own units beside the kit's, and its own text in them."""
    from .school.own_lessons import own_course

    lessons = every_lesson(school)
    with own_course(school) as ours:
        for unit in unit_ids_of(course):
            shutil.copytree(course / unit, ours / unit)
        with with_lessons(ours, lessons) as whole:
            yield whole
