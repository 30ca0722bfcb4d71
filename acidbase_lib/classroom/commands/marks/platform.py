"""What goes back to a learning platform: its grade table filled in, its zip of feedback."""
from __future__ import annotations

import argparse
from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING

from acidbase_lib.classroom.errors import CommandError

if TYPE_CHECKING:
    from acidbase_lib.classroom.gradebook.course_folder import CourseFolder
    from acidbase_lib.classroom.report.platform.grade_template import Filled
    from acidbase_lib.classroom.report.results import LearnerResult

SHOWN = 10  # ids of one kind on the screen


def add_platform_arguments(parser: argparse.ArgumentParser, pages: bool = True) -> None:
    """Declare the arguments of a command that writes for a platform."""
    parser.add_argument("--fill", metavar="TABLE.csv", type=Path,
                        help="your platform's own grade table: it is written into --out with the "
                             "marks in it, and nothing else of it changed")
    parser.add_argument("--column", metavar="HEADING", default="",
                        help="the column of --fill that holds the marks, or how its name begins")
    parser.add_argument("--id-column", metavar="HEADING", default="",
                        help="the column of --fill that holds the ids (default: found by them)")
    if not pages:
        return
    parser.add_argument("--zip-feedback", action="store_true",
                        help="also write the feedback pages into a zip, called as the files came "
                             "in, as platforms take them back")


def check_platform(given: argparse.Namespace) -> None:
    """Say at once what cannot be done.

    Raises
    ------
    CommandError
        A table without its column, or the other way round, or one that is not there.
    """
    if given.fill is None and (given.column or given.id_column):
        raise CommandError("--column and --id-column go with --fill TABLE.csv")
    if given.fill is not None and not given.column:
        raise CommandError("name the column that holds the marks with --column, such as "
                           "--column \"Unit 2\"")
    if given.fill is not None and not given.fill.is_file():
        raise CommandError(f"there is no table {given.fill}")


def write_for_platform(given: argparse.Namespace, folder: CourseFolder, unit: str, out: Path,
                       results: Sequence[LearnerResult], pages: Path | None = None) -> list[str]:
    """Write what was asked for; return the lines that tell of it."""
    from acidbase_lib.classroom.report.platform.feedback_zip import (
        NAME,
        names_to_give_back,
        zip_feedback,
    )
    from acidbase_lib.classroom.report.platform.grade_template import fill_template

    lines = []
    if given.fill is not None:
        lines += _told(fill_template(given.fill, out / given.fill.name, results, given.column,
                                     given.id_column))
    if pages is not None and given.zip_feedback:
        there = [one.learner for one in results if (pages / f"{one.learner}.html").is_file()]
        path = zip_feedback(pages, names_to_give_back(folder, unit, there), out / NAME)
        lines.append(f"feedback in one zip, named as the files came in: {path}")
    return lines


def _told(filled: Filled) -> list[str]:
    lines = [f"grade table: {filled.path}: {filled.filled} "
             f"mark{'' if filled.filled == 1 else 's'} in the column "
             f"{filled.column!r}, by the ids in {filled.by!r}; nothing else was changed"]
    if filled.replaced:
        lines.append(f"  {filled.replaced} of these cells held another mark")
    for words, who in (("left as they were, the mark is not whole yet", filled.left),
                       ("not in the table", filled.missing)):
        if who:
            more = f" and {len(who) - SHOWN} more" if len(who) > SHOWN else ""
            lines.append(f"  {words}: {', '.join(who[:SHOWN])}{more}")
    if filled.most is not None:
        lines.append(f"  the table says a maximum of {filled.most:g}, which is not ours: nothing "
                     "was scaled; set the platform's maximum")
    return lines
