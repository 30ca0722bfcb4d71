"""Erase one learner: gradebook, backups, hand-ins, feedback, pages and history.

Then every file of the course's folder is searched for the id and the names, and
what is found is listed. In the history a line stays that says that somebody was
erased, with a fingerprint of the id, so that `acidbase collect` does not bring
the learner back from an old file. This cannot be undone.
"""
from __future__ import annotations

import argparse
from collections.abc import Sequence
from contextlib import suppress
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING

from acidbase_lib.classroom.errors import CommandError

if TYPE_CHECKING:
    from acidbase_lib.classroom.gradebook.course_folder import CourseFolder

SHOWN = 20


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Declare the command's arguments."""
    parser.add_argument("learner", metavar="LEARNER", help="the learner's id, as in the roster")
    parser.add_argument("--course", metavar="DIR", type=Path, default=Path("."),
                        help="the folder of this kit's course (default: here)")
    parser.add_argument("--name", metavar="NAME", action="append", default=[],
                        help="the learner's name, to search for as well; may be given again")
    parser.add_argument("--roster", metavar="CSV", type=Path,
                        help="the class list, to learn the name from")
    parser.add_argument("--out", metavar="DIR", type=Path, action="append", default=[],
                        help="a folder of pages that was moved since; may be given again")
    parser.add_argument("--allow-again", action="store_true",
                        help="erase nothing: let a learner who was erased be taken in again")


def run(given: argparse.Namespace) -> int:
    """Erase, search, and say what is left; 1 where something is."""
    from acidbase_lib.classroom.gradebook.course_folder import CourseFolder
    from acidbase_lib.classroom.gradebook.roster import read_roster
    from acidbase_lib.classroom.gradebook.safekeeping.erase import erase, let_return
    from acidbase_lib.classroom.gradebook.safekeeping.history import HistoryError
    from acidbase_lib.classroom.gradebook.safekeeping.integrity import gradebook_file
    from acidbase_lib.classroom.gradebook.safekeeping.receipts import history_of
    from acidbase_lib.classroom.gradebook.safekeeping.search import is_too_short
    from acidbase_lib.classroom.gradebook.same_person import same_people

    course = CourseFolder.find(given.course)
    if given.allow_again:
        if not let_return(course, given.learner):
            raise CommandError("nobody of that id was erased here")
        print("From now on `acidbase collect` takes files of that id in again.")
        return 0
    roster = read_roster(given.roster) if given.roster else ()
    names = [*given.name, *(line.name for line in roster
                            if line.learner == given.learner and line.name)]
    with suppress(HistoryError):  # the erasure tells of it
        for old, now in same_people(history_of(course).each()).items():
            if now == given.learner:
                print(f"The same person was called {old} here before: erase that id as well.")
    codes: list[str] = []
    done = erase(course, given.learner, names, given.out,
                 partial(_forget, course, given.out, codes))
    if not done.anything:
        print("Nothing of that id was there to erase; it will not be taken in from now on.")
    else:
        print(f"Erased: {done.rows} rows of the gradebook, the learner in {done.backups} backups, "
              f"{done.folders} folders of files, {done.files} pages and tables, what {done.lines} "
              "lines of the history told.")
        print("Class reports that named the learner are gone: `acidbase collect` without FILES "
              "writes them anew.")
    short = is_too_short(given.learner)
    for code in codes:
        print(f"In what was exported for research they were {code}. Rows of that code are gone "
              "from the exports that stand where they were written; whoever has a copy must "
              "delete them there.")
    print(f"Searched afterwards: {done.searched} files, for "
          f"{'the name only (an id that short stands in many files)' if short else 'the id'}"
          f"{' and the name' if names and not short else ''}.")
    if done.left:
        print(f"It stands still in {len(done.left)} files that are not this command's to change. "
              "Look at them:")
        for path in done.left[:SHOWN]:
            print(f"  {path}")
    elif not short:
        print("It stands in none of them.")
    for path in done.unread[:SHOWN]:
        print(f"  could not be searched: {path}")
    if not names:
        print("No name was looked for; --name or --roster tells it.")
    if gradebook_file(course.db_url) is None:
        print("The gradebook is on a server: its dumps and logs still hold the learner.")
    print("Not reached from here: your learning platform, nbgrader's exchange, copies elsewhere.")
    return 1 if done.left or done.unread else 0


def _forget(course: CourseFolder, outs: Sequence[Path], codes: list[str], learner: str) -> int:
    """Take a learner out of what stands beside the gradebook; return how many files changed.

    The code that they had in exports for research is put into `codes`.
    """
    from acidbase_lib.classroom.research.code_key import forget

    code, changed = forget(course, learner, outs)
    if code:
        codes.append(code)
    return changed + _forget_platform(course.root, learner)


def _forget_platform(root: Path, learner: str) -> int:
    """Take a learner out of what is kept about the learning platform; 1 where anything was."""
    from acidbase_lib.classroom.lti.own_folder import NAME
    from acidbase_lib.classroom.lti.record import FILE, opened_record

    if not (root / NAME / FILE).is_file():
        return 0
    with opened_record(root / NAME) as record:
        return int(record.forget(learner) > 0)
