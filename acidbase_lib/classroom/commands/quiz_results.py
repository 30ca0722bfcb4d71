"""Read a quiz's answers back from your platform, and write the class report.

FILE.csv is the platform's results file of a quiz that `acidbase quiz` wrote. It
may have a row a person with a column a question (or a part of it), or a row an
answer, with a column for the person, one called question and one called answer;
answers as letters, as the options' texts, or as the quiz's file names them. A
question is known by its id or its title in the quiz, a person by the roster.

Nothing is guessed: what cannot be read stands in not_read.csv with its row and
the reason, and the question waits for you. Marks are those of the kit's rules,
which are the quiz's; where the file tells other points, they are listed.
"""
from __future__ import annotations

import argparse
from collections.abc import Mapping, Sequence
from pathlib import Path
from types import SimpleNamespace
from typing import TYPE_CHECKING, Any

from acidbase_lib.classroom.errors import CommandError
from acidbase_lib.classroom.short_names import unit_called

if TYPE_CHECKING:
    from acidbase_lib.classroom.report.platform.quiz_results import Unread

SHOWN = 20  # lines of one kind on the screen; the file has them all


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """What may follow ``acidbase quiz-results``."""
    parser.add_argument("file", metavar="FILE.csv", type=Path, help="your platform's results file")
    parser.add_argument("--unit", metavar="UNIT", required=True, type=unit_called,
                        help="which unit the quiz was made of, such as 02")
    parser.add_argument("--seed", type=int, default=1, metavar="N",
                        help="the quiz's own --seed (default: 1)")
    parser.add_argument("--roster", metavar="CSV", type=Path, required=True,
                        help="the class list: a column id, and names")
    parser.add_argument("--out", metavar="DIR", type=Path, required=True,
                        help="where report, grades and feedback are written")
    parser.add_argument("--attempt", choices=("first", "last"), default="",
                        help="which attempt counts where somebody has several")
    parser.add_argument("--source", type=Path, metavar="FILE",
                        help="your own notebook of the unit, as for `acidbase quiz`")
    parser.add_argument("--settings", type=Path, metavar="FILE",
                        help="your school's ranges, as for `acidbase quiz`")
    parser.add_argument("--release-keys", action="store_true",
                        help="show the right answers on the feedback pages")


def run(given: argparse.Namespace) -> int:
    """Read, mark, write, and say what was not read."""
    from acidbase_lib.classroom.exports.qti_scoring import why_not
    from acidbase_lib.classroom.gradebook.roster import read_roster
    from acidbase_lib.classroom.phrases import number_of
    from acidbase_lib.classroom.private import owner_only
    from acidbase_lib.classroom.report.class_pages import write_class_pages
    from acidbase_lib.classroom.report.grade_file import write_table
    from acidbase_lib.classroom.report.platform.quiz_file import read_quiz_file
    from acidbase_lib.classroom.report.platform.quiz_results import quiz_results
    from acidbase_lib.classroom.report.roll import roll_of

    from .quiz import own_unit_of_quiz, unit_of_quiz
    from .school.own_unit import own_questions

    if given.out.exists() and not given.out.is_dir():
        raise CommandError(f"{given.out} is a file, not a folder; choose another with --out")
    roster = read_roster(given.roster)
    own = own_questions(given)
    unit, _ = (own_unit_of_quiz(given.unit, given.seed, own) if own else
               unit_of_quiz(given.unit, given.seed, given.source))
    held: Mapping[str, Any] = {one.id: one for one in unit if why_not(one) is None}
    file = read_quiz_file(given.file, held)
    found = quiz_results(file, held, roster, given.attempt)
    if not any(one.handed_in for one in found.results):
        raise CommandError(f"no row of {given.file} is of anybody on {given.roster}: "
                           f"{found.unread[0].why if found.unread else 'it has no answers'}")
    asked = SimpleNamespace(exercises=found.exercises, named=f"{unit.named}, as a quiz",
                            settings=unit.settings)
    roll = roll_of(found.results, [line.learner for line in roster])
    with owner_only():
        pages = write_class_pages(given.out, found.results, asked,
                                  release_keys=given.release_keys, roll=roll)
        table = write_table(given.out / "not_read.csv",
                            ("row", "person", "question", "given", "why"),
                            [(one.row, one.who, one.question, one.given, one.why)
                             for one in (*found.unread, *found.otherwise)])
    print(f"{given.file}: {file.shape}, {len(found.exercises)} of the quiz's {len(held)} "
          f"questions, form {given.seed}.")
    if found.missing:
        print("  not in the file, and not in the maximum: "
              f"{', '.join(map(number_of, found.missing))}")
    if file.passed_over:
        print(f"  columns passed over: {', '.join(file.passed_over[:SHOWN])}")
    print(roll.sentence)
    _tell("not read", found.unread, table)
    _tell("other points than the platform's", found.otherwise, table)
    if waiting := sum(bool(one.waiting) for one in found.results):
        print(f"  {waiting} have answers that only you can mark: they are in no score yet.")
    print(f"\nOpen first:\n  class report  {pages.page}\nThen:\n"
          f"  feedback      {pages.feedback} (a page a learner)\n"
          f"  grades        {pages.grades}\n  not read      {table}")
    return 0


def _tell(what: str, lines: Sequence[Unread], table: Path) -> None:
    if lines:
        print(f"  {what}: {len(lines)}" + (f" (all in {table})" if len(lines) > SHOWN else ""))
    for one in lines[:SHOWN]:
        about = " ".join(filter(None, [one.who, one.question, repr(one.given) if one.given
                                       else ""]))
        print(f"    row {one.row}: {about}: {one.why}")
