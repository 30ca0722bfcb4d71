"""Look a course over: gradebook, history, backups, files that were handed in.

Nothing is changed. Is the gradebook whole? Does each line of the history fit
the one before? Are the files still those that were handed in? Who can read
them? With --receipt it says what the history knows of a learner's receipt.
"""
from __future__ import annotations

import argparse
from pathlib import Path
from typing import TYPE_CHECKING

from acidbase_lib.classroom.errors import CommandError

if TYPE_CHECKING:
    from acidbase_lib.classroom.gradebook.course_folder import CourseFolder

LEAST = 8  # digits of a receipt: fewer could be another file's


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Declare the command's arguments."""
    parser.add_argument("--course", metavar="DIR", type=Path, default=Path("."),
                        help="the folder of this kit's course (default: here)")
    parser.add_argument("--receipt", metavar="DIGITS",
                        help="look up the file of a learner's receipt")


def run(given: argparse.Namespace) -> int:
    """Say what was found; 1 where somebody must do something."""
    from acidbase_lib.classroom.gradebook.course_folder import CourseFolder
    from acidbase_lib.classroom.gradebook.safekeeping.check_course import check_course

    course = CourseFolder.find(given.course)
    if given.receipt is not None:
        return _receipt(course, given.receipt)
    found = list(check_course(course))
    for one in found:
        print(f"{'well    ' if one.well else 'NOT WELL'}  {one.sentence}")
    wrong = sum(not one.well for one in found)
    print(f"\n{'All is well.' if not wrong else f'{wrong} to see to.'} Nothing was changed.")
    return 1 if wrong else 0


def _receipt(course: CourseFolder, asked: str) -> int:
    from acidbase_lib.classroom.gradebook.safekeeping.history import HANDED_IN
    from acidbase_lib.classroom.gradebook.safekeeping.receipts import history_of

    digits = "".join(asked.split()).lower()
    if len(digits) < LEAST or set(digits) - set("0123456789abcdef"):
        raise CommandError(f"--receipt {asked!r} is none: give at least {LEAST} of its digits, "
                           "0 to 9 and a to f")
    lines = [line for line in history_of(course).lines() if line.what == HANDED_IN and line.details
             and line.details["file"].startswith(digits)]
    for line in lines:
        facts = line.details or {}
        print(f"Line {line.number}: {facts['learner']} handed in this file for {facts['unit']}, "
              f"received {line.at[:16].replace('T', ' ')} UTC.")
    if not lines:
        print("The history knows no file with this receipt.")
    return 0 if lines else 1
