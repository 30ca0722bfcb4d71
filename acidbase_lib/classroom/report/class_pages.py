"""What a class gets back: a page a learner, a grade file, and the instructor's report."""
from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING, Any

from acidbase_lib.classroom.gradebook.by_hand.cell_points import comments_by_hand
from acidbase_lib.classroom.gradebook.course_folder import CourseFolder, CourseFolderError
from acidbase_lib.classroom.gradebook.gradebook_error import GradebookError
from acidbase_lib.classroom.gradebook.ledger import UnitFiles, files_of, who_waits
from acidbase_lib.classroom.gradebook.read_gradebook import (
    GradeRow,
    grades_table,
    late_in_nbgrader,
    marks_by_hand,
    read_marks,
    waiting_for_a_person,
)
from acidbase_lib.classroom.gradebook.safekeeping.history import HistoryError
from acidbase_lib.classroom.gradebook.safekeeping.receipts import receipts_of

from .adjusted import adjusted, question_of
from .own_numbers_told import as_numbered, with_own_numbers
from .progress_bar import ShowProgress
from .results import FILE_WAITS, LearnerResult, with_files
from .results import NOT_HANDED_IN as NOT_HANDED_IN
from .roll import Roll

if TYPE_CHECKING:
    from acidbase_lib.classroom.gradebook.safekeeping.adjustments import Adjustment
    from acidbase_lib.teaching.unit import Unit



@dataclass(frozen=True, slots=True)
class ClassPages:
    """Where everything was put; ``report`` is what the report says."""

    grades: Path
    feedback: Path
    page: Path
    report: Any


def unit_of_sitting(course: str | Path | CourseFolder, assignment: str) -> Unit:
    """Return a sitting's unit as it was released: its authored keys known, no question moved.

    Parameters
    ----------
    course : path or CourseFolder
        The course.
    assignment : str
        Such as "02_primary_disorder".

    Raises
    ------
    SourceError, CourseFolderError, UnreadableNotebookError, FormError
        The instructor's notebook is not there or cannot be used.
    """
    from nbformat import from_dict

    from acidbase_lib.classroom.gradebook.write_gradebook import ClassGradebook
    from acidbase_lib.classroom.marking.own_notebook import unit_of
    from acidbase_lib.classroom.notebooks.assignment import AssignmentSource
    from acidbase_lib.classroom.notebooks.question_versions import stand_by
    from acidbase_lib.classroom.notebooks.write_questions import know_keys

    folder = CourseFolder.find(course)
    path = folder.source_notebook(assignment)
    with ClassGradebook(folder, AssignmentSource.from_file(path, assignment)) as book:
        source = book.source
    notebook = from_dict({"cells": [
        {"cell_type": cell.kind, "source": cell.text,
         "metadata": {"nbgrader": {"grade_id": cell.name}} if cell.name else {}}
        for cell in source.cells]})
    unit = unit_of(notebook, path.parent)
    stand_by(unit, source)
    know_keys(unit, notebook)
    return unit


def results_of(course: str | Path | CourseFolder, assignment: str, names: Mapping[str, str],
               adjustments: tuple[Adjustment, ...] | None = None, *,
               history_told: bool = True) -> tuple[LearnerResult, ...]:
    """Return everyone's result as it counts now: marks by hand, and what was decided afterwards.

    Parameters
    ----------
    course : path or CourseFolder
        The course.
    assignment : str
        Such as "02_primary_disorder".
    names : mapping of str to str
        The class list: learner to name. Who is on it but not in the gradebook has not handed in.
    adjustments : tuple of Adjustment, optional
        What was decided afterwards; as the history tells it by default.
    history_told : bool
        False leaves out what the whole history is read for: receipts, and whose file waits.

    Raises
    ------
    GradebookError
        If the gradebook cannot be read or does not have the assignment.
    HistoryError
        If the history cannot be read and tells of what was decided afterwards.
    """
    folder = CourseFolder.find(course)
    kept = {one.learner: one for one in read_marks(folder, assignment)}
    by_hand = marks_by_hand(folder, assignment)
    waiting = waiting_for_a_person(folder, assignment)
    comments = comments_by_hand(folder, assignment)
    late = late_in_nbgrader(folder, assignment)
    receipts = _receipts(folder, assignment) if history_told else {}
    results: dict[str, LearnerResult] = {}
    maximum = 0.0
    for row in grades_table(folder, assignment):
        _is_an_id(row.learner)
        maximum = row.maximum
        marks = kept[row.learner].marks if row.learner in kept and row.score is not None else ()
        repairs = kept[row.learner].repairs if row.learner in kept else ()
        given, waits = by_hand.get(row.learner, {}), waiting.get(row.learner, frozenset())
        results[row.learner] = LearnerResult(
            row.learner, names.get(row.learner) or row.learner, row.state, row.score, row.maximum,
            tuple(_with_what_a_person_gave(mark, given, waits) for mark in marks),
            row.why if row.score is None else "", tuple(repair.sentence for repair in repairs),
            receipts.get(row.learner, ""),
            "after the time that nbgrader was told" if row.learner in late else "", (),
            {question_of(cell): text for cell, text in comments.get(row.learner, {}).items()},
            frozenset(map(question_of, given)))
    for learner, name in names.items():
        if learner not in results:
            results[learner] = LearnerResult(learner, name or learner, NOT_HANDED_IN, None, maximum)
    found = adjusted(folder, assignment, with_own_numbers(
        [results[learner] for learner in sorted(results)], _source_of(folder, assignment)),
        adjustments)
    return with_files(found, files_of(folder, [assignment])[assignment]) if history_told else found


def rows_that_count(course: str | Path | CourseFolder, assignment: str) -> list[GradeRow]:
    """Return the gradebook's line of everyone as it counts now, after what was decided.

    Raises
    ------
    GradebookError, HistoryError
        See `results_of`.
    """
    files = files_of(CourseFolder.find(course), [assignment])[assignment]
    rows = _of_people(grades_table(course, assignment), files)
    counted = {one.learner: one for one in with_files(
        results_of(course, assignment, {}, history_told=False), files) if one.notes}
    return [replace(row, score=counted[row.learner].score, maximum=counted[row.learner].maximum,
                    waiting=len(counted[row.learner].waiting)) if row.learner in counted else row
            for row in rows]


def _of_people(rows: Sequence[GradeRow], files: UnitFiles) -> list[GradeRow]:
    """Lines under the ids that people have now; nobody has handed in nothing whose file waits."""
    found = {row.learner: row for row in rows}
    for old, now in files.same.items():
        if old in found and (was := found.pop(old)).state != NOT_HANDED_IN and (
                now not in found or found[now].state == NOT_HANDED_IN):
            found[now] = replace(was, learner=now)
    whose = who_waits(files.waiting)
    return [replace(row, state=FILE_WAITS) if row.state == NOT_HANDED_IN and who in whose else row
            for who, row in sorted(found.items())]


def _source_of(folder: CourseFolder, assignment: str) -> Path | None:
    """The instructor's notebook; None where it is gone, and the marks are all that is left."""
    try:
        return folder.source_notebook(assignment)
    except CourseFolderError:
        return None


def _is_an_id(learner: str) -> None:
    """Refuse an id that leads out of the folder in which a page of that name is to be written."""
    if learner in {"", ".", ".."} or "/" in learner or "\\" in learner or "\0" in learner:
        raise GradebookError(
            f"The gradebook holds a learner called {learner[:60]!r}, whose id is no name of a file "
            "and leads to another folder; nobody's pages were written. Somebody put that learner "
            "in: `acidbase restore` puts back a backup.")


def _receipts(folder: CourseFolder, assignment: str) -> Mapping[str, str]:
    """The receipt of each learner's file; none where the history cannot be read."""
    try:
        return {who: one.sentence() for who, one in receipts_of(folder, assignment).items()}
    except HistoryError:
        return {}


def _with_what_a_person_gave(mark: Any, given: Mapping[str, float], waits: frozenset[str]) -> Any:
    """A mark with a person's points in place of the program's; it waits where nbgrader says so."""
    for cell in (f"{mark.question}-answer", f"{mark.question}-check"):
        if cell in waits:  # marked before, perhaps, but of another text: a person must look again
            return replace(mark, points=given.get(cell, mark.points),
                           state="waits for the instructor")
        if cell in given:
            state = "answered" if mark.state == "waits for the instructor" else mark.state
            return replace(mark, points=given[cell], state=state)
    return mark


def write_class_pages(out: Path, results: Sequence[LearnerResult], unit: Any, *,
                      release_keys: bool, invented: bool = False, roll: Roll | None = None,
                      step: ShowProgress = lambda *_: None) -> ClassPages:
    """Write the grade file, the report and the feedback pages into a folder.

    Parameters
    ----------
    out : Path
        The folder.
    results : sequence of LearnerResult
        One a learner, those who handed in nothing included.
    unit : Unit
        The unit that was marked, with its exercises.
    release_keys : bool
        Whether the pages show the right answers.
    invented : bool
        Whether the class is invented, which the report then says first.
    roll : Roll, optional
        The class list, from which the report then counts.
    step : callable
        Reasons how far it has come.
    """
    from acidbase_lib.teaching.misconceptions.catalog import told_by

    from .feedback import feedback_of, write_feedback
    from .grade_file import write_grade_file
    from .report import class_report
    from .report_page import write_report

    ideas = told_by(unit.settings)
    grades = write_grade_file(out / "grades.csv", results)
    there = [result for result in results if result.handed_in]
    report = class_report(there, unit.exercises, ideas, title=unit.named, made_on=today(),
                          invented=invented)
    for done, result in enumerate(there, 1):
        found = report.diagnoses.get(result.learner)
        seen, exercises = as_numbered(result, unit.exercises)
        write_feedback(out / "feedback" / f"{result.learner}.html", feedback_of(
            seen, exercises, ideas, title=unit.named, release_keys=release_keys,
            ideas=found.ideas if found else ()))
        step("writing feedback", done, len(there))
    report = replace(report, roll=roll)
    page = write_report(out / "report", report)
    return ClassPages(grades, out / "feedback", page, report)


# strftime would name the month in the language of the computer
_MONTHS = ("January", "February", "March", "April", "May", "June", "July", "August", "September",
           "October", "November", "December")


def today() -> str:
    """Today's date as it is printed."""
    now = date.today()
    return f"{_MONTHS[now.month - 1]} {now.day}, {now.year}"
