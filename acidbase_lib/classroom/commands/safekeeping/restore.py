"""Put a backup of the gradebook back.

By default the newest one that is whole. The file that stands there now is kept
beside it under another name, whatever its state. Marks by hand that the history
tells of, and the backup does not hold, are listed, so that you can give them
again. Then run `acidbase collect` without FILES to mark everything else again.
"""
from __future__ import annotations

import argparse
from pathlib import Path

from acidbase_lib.classroom.errors import CommandError


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Declare the command's arguments."""
    parser.add_argument("--course", metavar="DIR", type=Path, default=Path("."),
                        help="the folder of this kit's course (default: here)")
    parser.add_argument("--from", metavar="FILE.db", type=Path, dest="backup",
                        help="which backup (default: the newest that is whole)")
    parser.add_argument("--begin-again", action="store_true",
                        help="put nothing back: go on with an empty gradebook")


def run(given: argparse.Namespace) -> int:
    """Put it back, and say what it does not hold."""
    from acidbase_lib.classroom.gradebook.course_folder import CourseFolder
    from acidbase_lib.classroom.gradebook.safekeeping.backups import begin_again, restore

    if given.begin_again and given.backup is not None:
        raise CommandError("--from and --begin-again exclude each other")
    course = CourseFolder.find(given.course)
    done = begin_again(course) if given.begin_again else restore(course, given.backup)
    print(f"Put back: {done.backup}" if done.backup else
          "The next `acidbase collect` begins an empty gradebook.")
    if done.aside:
        print(f"The file that stood there is kept: {done.aside}")
    if done.lost_by_hand:
        print(f"Marks by hand that are not in it, {len(done.lost_by_hand)}; give them again in "
              "nbgrader's formgrader:")
        for sentence in done.lost_by_hand:
            print(f"  {sentence}")
    print("Now run `acidbase collect` without FILES: it marks everything else again.")
    return 0
