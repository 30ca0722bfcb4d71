"""Make the class report again from a marked gradebook, and say what has changed.

Nothing is marked and nothing is sent. With --before the report also compares
this sitting with an earlier one of the same class. With --codes the file holds
no name and no id, for passing on; the codes are drawn anew each time and kept
nowhere. For research, `acidbase export` writes the answers themselves.
"""
from __future__ import annotations

import argparse
from collections.abc import Mapping
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, Any

from acidbase_lib.classroom.errors import CommandError
from acidbase_lib.classroom.short_names import unit_called

from .marks.platform import add_platform_arguments, check_platform, write_for_platform

if TYPE_CHECKING:
    from acidbase_lib.classroom.report.report import Report
    from acidbase_lib.classroom.report.results import LearnerResult
    from acidbase_lib.classroom.report.roll import Roll

NO_LIST = ("No class list was given: ids stand for names, and whoever handed in nothing is not "
           "counted.")


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Declare the command's arguments."""
    parser.add_argument("course", metavar="COURSE_FOLDER", type=Path, nargs="?", default=Path("."),
                        help="the folder of this kit's course, with its gradebook (default: here)")
    parser.add_argument("--unit", metavar="UNIT", required=True, type=unit_called,
                        help="which sitting, such as 02_primary_disorder or 02")
    parser.add_argument("--before", metavar="UNIT", type=unit_called,
                        help="an earlier sitting of the same class, to compare with")
    parser.add_argument("--before-in", metavar="FOLDER", type=Path,
                        help="the course folder of that sitting, where it is another one")
    parser.add_argument("--roster", metavar="CSV", type=Path,
                        help="the class list, for names and to count who handed in nothing; "
                             "without it ids are shown and only hand-ins are counted")
    parser.add_argument("--out", metavar="DIR", type=Path, default=Path("acidbase-report"),
                        help="where to write (default: %(default)s)")
    parser.add_argument("--codes", action="store_true",
                        help="leave every name and id out and write codes in their place")
    add_platform_arguments(parser, pages=False)


def run(given: argparse.Namespace) -> int:
    """Read the gradebook, write the report, and say in a few lines what it found."""
    from acidbase_lib.classroom.gradebook.course_folder import CourseFolder
    from acidbase_lib.classroom.gradebook.safekeeping.class_history import note_pages
    from acidbase_lib.classroom.private import owner_only
    from acidbase_lib.classroom.report.report_page import write_report

    check_platform(given)
    if given.out.exists() and not given.out.is_dir():
        raise CommandError(f"{given.out} is a file, not a folder; choose another with --out")
    if given.before_in is not None and given.before is None:
        raise CommandError("--before-in says where an earlier sitting is; name it with --before")
    names = _names(given.roster)
    report = report_of(given.course, given.unit, names)
    if given.roster is not None:
        report = replace(report, roll=_roll(given.course, given.unit, names))
    if given.before is not None:
        from acidbase_lib.classroom.report.report_progress import progress_since

        earlier = _earlier(given, names)
        report = replace(report, progress=progress_since(earlier, report))
    with owner_only():
        page = write_report(given.out, report, names=not given.codes)
    if not given.codes:
        note_pages(CourseFolder.find(given.course), given.unit, given.out)
    for idea in report.ideas:
        print(f"  {len(idea.holders):3d} surely, {len(idea.perhaps):3d} perhaps  "
              f"{idea.misconception.name}")
    if not report.ideas:
        print("No wrong idea shows.")
    if report.roll is not None:
        print(report.roll.sentence)
    else:
        print(f"{NO_LIST} Add --roster roster.csv.")
    if report.progress is not None:
        for row in report.progress.rows:
            print(f"  {row.sentence}")
    print(f"\nOpen first:\n  class report  {page}")
    with owner_only():
        for sentence in write_for_platform(given, CourseFolder.find(given.course), given.unit,
                                           given.out, report.results):
            print(f"  {sentence}")
    return 0


def _earlier(given: argparse.Namespace, names: Mapping[str, str]) -> Report:
    """The earlier sitting's report, from the course folder that it was marked in."""
    from acidbase_lib.classroom.gradebook.course_folder import CourseFolderError
    from acidbase_lib.classroom.gradebook.gradebook_error import GradebookError

    try:
        return report_of(given.before_in or given.course, given.before, names)
    except (CommandError, CourseFolderError, GradebookError) as error:
        where = given.before_in or given.course
        raise CommandError(f"the earlier sitting {given.before} was not found in {where}: "
                           f"{str(error).rstrip('.')}. "
                           "If it was marked in another course folder, name that with "
                           "--before-in FOLDER") from None


def report_of(course: Path, unit_name: str, names: Mapping[str, str] | None = None) -> Report:
    """Draw the report of a sitting from its gradebook.

    Parameters
    ----------
    course : Path
        The course folder.
    unit_name : str
        The sitting.
    names : mapping of str to str, optional
        Learner to name.

    Raises
    ------
    CommandError
        The sitting has no notebook there, or nobody's work has been marked.
    """
    from acidbase_lib.classroom.report.class_pages import today
    from acidbase_lib.classroom.report.report import class_report
    from acidbase_lib.teaching.misconceptions.catalog import told_by

    results, unit = marked_sitting(course, unit_name, names or {})
    return class_report(results, unit.exercises, told_by(unit.settings), title=unit.named,
                        made_on=today())


def marked_sitting(course: Path, unit_name: str, names: Mapping[str, str],
                   ) -> tuple[tuple[LearnerResult, ...], Any]:
    """Return what was handed in to a sitting, as it stands in the gradebook, and its unit."""
    from acidbase_lib.classroom.gradebook.course_folder import CourseFolder
    from acidbase_lib.classroom.notebooks.read_notebook import UnreadableNotebookError
    from acidbase_lib.classroom.notebooks.write_questions import FormError
    from acidbase_lib.classroom.report.class_pages import results_of, unit_of_sitting

    if not course.is_dir():
        raise CommandError(f"there is no course folder {course}")
    folder = CourseFolder.find(course)
    path = folder.source_notebook(unit_name)
    results = tuple(r for r in results_of(folder, unit_name, {}) if r.handed_in)
    if not results:
        raise CommandError(f"nobody's {unit_name} has been marked in {course}; "
                           "`acidbase collect` marks a class")
    try:
        unit = unit_of_sitting(folder, unit_name)
    except (UnreadableNotebookError, FormError) as error:
        raise CommandError(f"{path}: {error}") from None
    return tuple(replace(r, name=names.get(r.learner) or r.learner) for r in results), unit


def _roll(course: Path, unit: str, names: Mapping[str, str]) -> Roll:
    from acidbase_lib.classroom.gradebook.course_folder import CourseFolder
    from acidbase_lib.classroom.gradebook.ledger import files_of
    from acidbase_lib.classroom.gradebook.safekeeping.erased import erased_from
    from acidbase_lib.classroom.report.class_pages import results_of
    from acidbase_lib.classroom.report.roll import roll_of

    folder = CourseFolder.find(course)
    erased = erased_from(folder)
    there = {learner: name for learner, name in names.items() if learner not in erased}
    return roll_of(results_of(folder, unit, there), there, files_of(folder, [unit])[unit].waiting)


def _names(roster: Path | None) -> Mapping[str, str]:
    from acidbase_lib.classroom.gradebook.roster import read_roster

    return {} if roster is None else {line.learner: line.name for line in read_roster(roster)}
