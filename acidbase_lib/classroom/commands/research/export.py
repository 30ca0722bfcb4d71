"""Export a class's answers for research: a table in codes, and its dictionary.

A row for each line of each answer: who (a code), which form, which question and
line, what was given, what is right, which try. Codes are drawn by chance, and
who is behind one stands in a file of the course alone. No name, id, date or
answer in one's own words is exported, and nothing is sent anywhere.
"""
from __future__ import annotations

import argparse
from collections.abc import Iterator
from contextlib import suppress
from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING

from acidbase_lib.classroom.errors import CommandError
from acidbase_lib.classroom.short_names import unit_called

if TYPE_CHECKING:
    from acidbase_lib.classroom.gradebook.course_folder import CourseFolder
    from acidbase_lib.classroom.research.long_format import Sat


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Declare the command's arguments."""
    parser.add_argument("out", metavar="OUT", type=Path, help="a new folder for the tables")
    parser.add_argument("--course", metavar="FOLDER", type=Path, default=Path("."),
                        help="the folder of this kit's course, with its gradebook (default: here)")
    parser.add_argument("--unit", metavar="UNIT", type=unit_called, action="append", default=[],
                        help="which sitting, such as 02; may be given again (default: all)")


def run(given: argparse.Namespace) -> int:
    """Read the gradebook, write the tables, and say where the codes are kept."""
    from acidbase_lib.classroom.gradebook.course_folder import CourseFolder
    from acidbase_lib.classroom.gradebook.safekeeping.class_history import note_pages
    from acidbase_lib.classroom.gradebook.safekeeping.erased import erased_from
    from acidbase_lib.classroom.research.code_key import codes_for, key_file
    from acidbase_lib.classroom.research.long_format import rows_of, write_export

    if not given.course.is_dir():
        raise CommandError(f"there is no course folder {given.course}")
    if given.out.exists() and (not given.out.is_dir() or any(given.out.iterdir())):
        raise CommandError(f"{given.out} is there already and holds something; name a new folder, "
                           "so that nothing of an earlier export is passed on with this one")
    course = CourseFolder.find(given.course)
    sat = list(_sat(course, given.unit))
    erased = erased_from(course)
    marked = {r.learner for one in sat for r in one.results
              if r.score is not None and r.learner not in erased}
    if not marked:
        raise CommandError(f"nothing has been marked in {given.course} yet; `acidbase collect` "
                           "marks a class")
    without = {r.learner for one in sat for r in one.results if r.handed_in} - marked
    key = key_file(course)
    codes = {who: code for who, code in codes_for(key, sorted(marked)).items() if who in marked}
    rows = [row for one in sat for row in rows_of(one, codes)]
    left_out = (f"{len(without)} who handed in and could not be marked" if without else
                "nobody who handed in")
    table = write_export(given.out, rows, key, left_out)
    for one in sat:
        note_pages(course, one.name, given.out)
    print(f"{len(rows)} rows, {len(marked)} learners, "
          f"{', '.join(one.name for one in sat)}. Left out: {left_out}.")
    print(f"  {table}\n  {given.out / 'dictionary.csv'}\n  {given.out / 'ABOUT.txt'}")
    print(f"Who is behind a code stands in {key}, for its owner alone: do not pass it on.")
    return 0


def _sat(course: CourseFolder, units: list[str]) -> Iterator[Sat]:
    """Every sitting that is asked for, as it stands in the gradebook."""
    from acidbase_lib.classroom.commands.report import marked_sitting
    from acidbase_lib.classroom.gradebook.safekeeping.history import HistoryError
    from acidbase_lib.classroom.gradebook.safekeeping.receipts import receipts_of
    from acidbase_lib.classroom.research.long_format import Sat
    from acidbase_lib.classroom.term.gather import sittings_of

    known = sittings_of(course)
    for name in units:
        if name not in known:
            raise CommandError(f"nobody's {name} has been marked in {course.root}; the sittings "
                               f"there are {', '.join(known) or 'none'}")
    for name in units or known:
        try:
            results, unit = marked_sitting(course.root, name, {})
        except CommandError:
            if units:
                raise
            continue  # released, and handed in by nobody
        at = {}
        with suppress(HistoryError):  # then the times are not known, and the answers are
            at = {learner: datetime.fromisoformat(one.at)
                  for learner, one in receipts_of(course, name).items()}
        yield Sat(name, unit, results, at)
