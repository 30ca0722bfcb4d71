"""Copy the gradebook, also while it is in use.

The copy is looked over before it counts, and kept in grading/backups with the
time in its name. `acidbase collect` makes one by itself, on the first run of a
day, and keeps the last ten of those. A copy on another disk is up to you: --to.
"""
from __future__ import annotations

import argparse
from pathlib import Path


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Declare the command's arguments."""
    parser.add_argument("--course", metavar="DIR", type=Path, default=Path("."),
                        help="the folder of this kit's course (default: here)")
    parser.add_argument("--to", metavar="FILE.db", type=Path,
                        help="write it there instead, for example on another disk")


def run(given: argparse.Namespace) -> int:
    """Copy, look over, say where it is."""
    from acidbase_lib.classroom.gradebook.course_folder import CourseFolder
    from acidbase_lib.classroom.gradebook.safekeeping.backups import back_up

    made = back_up(CourseFolder.find(given.course), given.to)
    print(f"The gradebook was copied, and the copy is whole: {made}\n"
          "It holds marks and ids of learners: keep it where you keep grades.")
    return 0
