"""Open the instructor's desk: a notebook in which you press instead of typing.

It takes hand-ins in and marks them, shows written answers, adjusts marks, and
writes reports, the term, forms, worksheets and quizzes. Each press runs the
very command that it shows. The notebook stands in the course's folder; it
starts when you run its one cell. On a hub, open it from the list of files.

With --questions it is the question desk instead: a screen on which you write
questions of your own and keep your school's ranges. It stands in your school's
folder (`acidbase school new DIR` makes one, with this notebook in it).
"""
from __future__ import annotations

import argparse
import os
import subprocess
from pathlib import Path
from typing import TYPE_CHECKING

from acidbase_lib.classroom.errors import CommandError

if TYPE_CHECKING:
    from acidbase_lib.classroom.school.folder import School


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Declare the command's arguments."""
    parser.add_argument("--course", metavar="DIR", type=Path, default=Path("."),
                        help="the folder of this kit's course (default: here)")
    parser.add_argument("--out", metavar="DIR", default="",
                        help="where results are written, in the course's folder (default: marked)")
    parser.add_argument("--questions", action="store_true",
                        help="open the question desk of your school's folder")
    parser.add_argument("--no-open", "--no-browser", action="store_true",
                        help="write the notebook, and open nothing")


def _told_from(home: Path, school: Path) -> str:
    """A school's folder as told from the course's, so that the two may be moved together."""
    try:
        return Path(os.path.relpath(school, home)).as_posix()
    except ValueError:  # on another drive of Windows
        return school.as_posix()


def run(given: argparse.Namespace) -> int:
    """Write the desk's notebook, and open it."""
    from acidbase_lib.classroom.desk.desk_notebook import put_desk
    from acidbase_lib.classroom.gradebook.course_folder import CourseFolder
    from acidbase_lib.classroom.gradebook.safekeeping.private_course import keeping_private

    from .home_notebook import opening_command

    if given.questions:
        path = _questions(given.school)
    else:
        home = given.course.resolve()
        school = "" if given.school is None else _told_from(home, given.school.folder.resolve())
        with keeping_private(CourseFolder.find(given.course)):
            path = put_desk(home, given.out, school)
    if given.no_open or "JUPYTERHUB_API_TOKEN" in os.environ:  # there a server runs already
        print(f"Open {path} in JupyterLab or Notebook, and run its cell.")
        return 0
    command, environment = opening_command(path, path.parent)
    print(f"Opening {path} in your browser. Run its cell. Close it with Ctrl-C here.", flush=True)
    return subprocess.run(command, env=environment, check=False).returncode


def _questions(school: School | None) -> Path:
    """Write the question desk into a school's folder."""
    from acidbase_lib.classroom.question_desk.notebook import put_question_desk

    if school is None:
        raise CommandError("no school's folder is here or above; name it with --school FOLDER, or "
                           "make one with `acidbase school new DIR`")
    return put_question_desk(school.folder)
