"""What each graded cell earned, by whom it was marked, and what a person wrote beside it."""
from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path

from acidbase_lib.classroom.gradebook.course_folder import CourseFolder
from acidbase_lib.classroom.gradebook.nbgrader_adapter.door import LatePenalty
from acidbase_lib.classroom.gradebook.nbgrader_adapter.reading import (
    cells_of,
    comments_of,
    maxima_of,
)
from acidbase_lib.classroom.gradebook.read_gradebook import open_to_read


@dataclass(frozen=True, slots=True)
class CellPoints:
    """What one graded cell earned, a person's points before the program's, and who gave them."""

    points: float
    by_hand: bool


def cell_points(course: str | Path | CourseFolder,
                assignment: str) -> dict[str, dict[str, CellPoints]]:
    """Return what each graded cell earned, by learner and grade id; extra credit is in it.

    Raises
    ------
    GradebookError
        If the gradebook cannot be read.
    """
    found: dict[str, dict[str, CellPoints]] = {}
    with open_to_read(CourseFolder.find(course)) as connection:
        for row in cells_of(connection, assignment):
            given = row.auto if row.manual is None else row.manual
            points = 0.0 if given is None else float(given) + float(row.extra or 0.0)
            found.setdefault(row.learner, {})[row.cell] = CellPoints(points, row.manual is not None)
    return found


def cell_maxima(course: str | Path | CourseFolder, assignment: str) -> dict[str, float]:
    """Return the most that each graded cell can earn, by grade id.

    Raises
    ------
    GradebookError
        If the gradebook cannot be read.
    """
    with open_to_read(CourseFolder.find(course)) as connection:
        return maxima_of(connection, assignment)


def late_penalties(course: str | Path | CourseFolder, assignment: str,
                   earned: Mapping[str, float]) -> dict[str, float]:
    """Return what lateness takes off each learner's points, by the rule that the course has chosen.

    Parameters
    ----------
    course : path or CourseFolder
        The course.
    assignment : str
        Such as "02_primary_disorder".
    earned : mapping of str to float
        Points before the penalty. Who has no penalty in the gradebook is left out of the answer.

    Raises
    ------
    GradebookError
        If the gradebook cannot be read.
    """
    folder = CourseFolder.find(course)
    with open_to_read(folder) as connection:
        return LatePenalty(folder.config).anew(connection, assignment, earned)


def comments_by_hand(course: str | Path | CourseFolder,
                     assignment: str) -> dict[str, dict[str, str]]:
    """Return the comments that a person wrote, by learner and grade id; empty ones are none.

    Raises
    ------
    GradebookError
        If the gradebook cannot be read.
    """
    found: dict[str, dict[str, str]] = {}
    with open_to_read(CourseFolder.find(course)) as connection:
        for row in comments_of(connection, assignment):
            if text := str(row.text).strip():
                found.setdefault(row.learner, {})[row.cell] = text
    return found
