"""The gradebook read back: who earned what, in which state, and what waits for a person."""
from __future__ import annotations

import json
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import sqlalchemy as sa

from acidbase_lib.classroom.gradebook.nbgrader_adapter.reading import (
    assignments_of,
    by_hand_of,
    late_of,
    maximum_of,
    points_of,
    waiting_of,
)
from acidbase_lib.classroom.gradebook.safekeeping.integrity import require_whole
from acidbase_lib.classroom.notebooks.repair import Repair
from acidbase_lib.classroom.notebooks.waiting import waiting_in
from acidbase_lib.teaching.questions.exercise import Mark

from .course_folder import CourseFolder
from .gradebook_error import DAMAGED, GradebookError, gradebook_trouble, place_of
from .our_tables import OUR_TABLES, STATES

__all__ = ["OUR_TABLES", "STATES", "GradeRow", "GradebookError", "KeptMarks", "assignments",
           "gradebook_trouble", "grades_table", "late_in_nbgrader", "marks_by_hand",
           "open_to_read", "read_marks", "states_of", "waiting_for_a_person"]


@dataclass(frozen=True, slots=True)
class GradeRow:
    """One line of the grade file.

    Parameters
    ----------
    learner : str
        As the gradebook knows them.
    score : float or None
        Points with any late penalty taken off; None where there is no mark, which is not zero.
    maximum : float
        The most that can be earned.
    state : str
        "marked", "marked after repair", "not marked" or "not handed in".
    why : str
        Why there is no mark, or what was repaired.
    waiting : int
        How many answers wait for a person.
    late_penalty : float
        Points taken off for lateness.
    """

    learner: str
    score: float | None
    maximum: float
    state: str
    why: str = ""
    waiting: int = 0
    late_penalty: float = 0.0


@dataclass(frozen=True, slots=True)
class KeptMarks:
    """One learner's marks as the gradebook keeps them."""

    learner: str
    state: str
    why: str
    repairs: tuple[Repair, ...]
    marks: tuple[Mark, ...]


def grades_table(course: str | Path | CourseFolder, assignment: str) -> list[GradeRow]:
    """Return a line for everyone in the gradebook.

    Parameters
    ----------
    course : path or CourseFolder
        The course.
    assignment : str
        Such as "02_primary_disorder".

    Returns
    -------
    list of GradeRow
        By learner. A submission that could not be marked has no score.

    Raises
    ------
    GradebookError
        If the gradebook cannot be read or does not have the assignment.
    """
    folder = CourseFolder.find(course)
    with open_to_read(folder) as connection:
        maximum = maximum_of(connection, assignment)
        if maximum is None:
            raise GradebookError(f"The gradebook has no assignment {assignment!r}. Mark it first.")
        states = {row.learner: row for row in states_of(connection, assignment)}
        return [_grade_row(row, states.get(row.learner), maximum)
                for row in points_of(connection, assignment)]


def read_marks(course: str | Path | CourseFolder, assignment: str) -> Iterator[KeptMarks]:
    """Yield everyone's marks, question by question, from which feedback and report are made.

    Raises
    ------
    GradebookError
        If the gradebook cannot be read.
    """
    with open_to_read(CourseFolder.find(course)) as connection:
        for row in states_of(connection, assignment):
            yield KeptMarks(row.learner, row.state, row.why,
                            tuple(Repair(*stored) for stored in json.loads(row.repairs)),
                            tuple(Mark.from_record(stored) for stored in json.loads(row.marks)))


def marks_by_hand(course: str | Path | CourseFolder,
                  assignment: str) -> dict[str, dict[str, float]]:
    """Return the points that a person gave, by learner and grade id.

    Raises
    ------
    GradebookError
        If the gradebook cannot be read.
    """
    given: dict[str, dict[str, float]] = {}
    with open_to_read(CourseFolder.find(course)) as connection:
        for row in by_hand_of(connection, assignment):
            given.setdefault(row.learner, {})[row.cell] = float(row.points)
    return given


def waiting_for_a_person(course: str | Path | CourseFolder,
                         assignment: str) -> dict[str, frozenset[str]]:
    """Return the grade ids that wait for a person, by learner; some may have been marked before.

    Raises
    ------
    GradebookError
        If the gradebook cannot be read.
    """
    found: dict[str, set[str]] = {}
    with open_to_read(CourseFolder.find(course)) as connection:
        for row in waiting_of(connection, assignment):
            found.setdefault(row.learner, set()).add(row.cell)
    return {learner: frozenset(cells) for learner, cells in found.items()}


def late_in_nbgrader(course: str | Path | CourseFolder, assignment: str) -> frozenset[str]:
    """Return who handed in after the time that nbgrader was told for an assignment, if any.

    Raises
    ------
    GradebookError
        If the gradebook cannot be read.
    """
    with open_to_read(CourseFolder.find(course)) as connection:
        return frozenset(late_of(connection, assignment))


def assignments(course: str | Path | CourseFolder) -> tuple[str, ...]:
    """Return the names of the assignments that the gradebook knows, in order.

    Raises
    ------
    GradebookError
        If the gradebook cannot be read.
    """
    with open_to_read(CourseFolder.find(course)) as connection:
        return assignments_of(connection)


def states_of(connection: sa.Connection, assignment: str) -> Iterator[Any]:
    """Yield the rows of our own table for one assignment, by learner."""
    if sa.inspect(connection).has_table(STATES.name):
        yield from connection.execute(sa.select(STATES).where(
            STATES.c.assignment == assignment).order_by(STATES.c.learner))


@contextmanager
def open_to_read(folder: CourseFolder) -> Iterator[sa.Connection]:
    """A gradebook that was found whole, open for reading; nothing else is read from."""
    require_whole(folder)
    engine = sa.create_engine(folder.db_url)
    try:
        with engine.connect() as connection:
            yield connection
    except sa.exc.SQLAlchemyError as error:
        raise GradebookError(gradebook_trouble(folder.db_url, error)) from error
    except (ValueError, TypeError, KeyError, IndexError) as error:  # a value that is none of ours
        place = place_of(folder.db_url)
        raise GradebookError(f"The gradebook {place} cannot be used ({type(error).__name__}: "
                             f"{str(error)[:80]}): {DAMAGED}.") from error
    finally:
        engine.dispose()


def _left_to_a_person(state: Any) -> int:
    """How many check cells were left without points on purpose; see ``marking.reading_lane``."""
    if state is None or state.state == "not marked":
        return 0
    return len(waiting_in(Repair(*one) for one in json.loads(state.repairs)))


def _grade_row(row: Any, state: Any, maximum: float) -> GradeRow:
    if row.handed is None:
        return GradeRow(row.learner, None, maximum, "not handed in")
    if row.unread > _left_to_a_person(state):  # a check cell that nobody has marked
        why = state.why if state is not None and state.why else (
            "Marking stopped before this submission was done. Mark again; the log says more.")
        return GradeRow(row.learner, None, maximum, "not marked", why)
    repairs = [Repair(*one) for one in json.loads(state.repairs)] if state is not None else []
    name = "marked after repair" if repairs else "marked"
    return GradeRow(row.learner, max(0.0, float(row.earned) - float(row.penalty)), maximum, name,
                    " ".join(repair.sentence for repair in repairs), int(row.waiting),
                    float(row.penalty))
