"""The gradebook read back: who earned what, in which state, and what waits for a person."""
from __future__ import annotations

import json
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import sqlalchemy as sa

from acidbase_lib.classroom.notebooks.repair import Repair
from acidbase_lib.teaching.questions.exercise import Mark

from .course_folder import CourseFolder
from .nbgrader_reading import by_hand_of, maximum_of, points_of, waiting_of

OUR_TABLES = sa.MetaData()
# Our own table beside nbgrader's: the state of a submission, written with its marks or not at all
STATES = sa.Table(
    "acidbase_marking", OUR_TABLES,
    sa.Column("assignment", sa.String(128), primary_key=True),
    sa.Column("learner", sa.String(128), primary_key=True),
    sa.Column("state", sa.String(32), nullable=False),
    sa.Column("why", sa.Text(), nullable=False),
    sa.Column("repairs", sa.Text(), nullable=False),
    sa.Column("marks", sa.Text(), nullable=False),
    sa.Column("file", sa.String(64), nullable=False),
    sa.Column("source", sa.String(16), nullable=False),
    sa.Column("marked_at", sa.DateTime(), nullable=False),
)


class GradebookError(RuntimeError):
    """The gradebook cannot be used; the text says why and what to do."""


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
    with _reading(folder) as connection:
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
    with _reading(CourseFolder.find(course)) as connection:
        for row in states_of(connection, assignment):
            yield KeptMarks(row.learner, row.state, row.why,
                            tuple(Repair(*told) for told in json.loads(row.repairs)),
                            tuple(Mark.from_record(told) for told in json.loads(row.marks)))


def marks_by_hand(course: str | Path | CourseFolder,
                  assignment: str) -> dict[str, dict[str, float]]:
    """Return the points that a person gave, by learner and grade id.

    Raises
    ------
    GradebookError
        If the gradebook cannot be read.
    """
    given: dict[str, dict[str, float]] = {}
    with _reading(CourseFolder.find(course)) as connection:
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
    with _reading(CourseFolder.find(course)) as connection:
        for row in waiting_of(connection, assignment):
            found.setdefault(row.learner, set()).add(row.cell)
    return {learner: frozenset(cells) for learner, cells in found.items()}


def states_of(connection: sa.Connection, assignment: str) -> Iterator[Any]:
    """Yield the rows of our own table for one assignment, by learner."""
    if sa.inspect(connection).has_table(STATES.name):
        yield from connection.execute(sa.select(STATES).where(
            STATES.c.assignment == assignment).order_by(STATES.c.learner))


@contextmanager
def _reading(folder: CourseFolder) -> Iterator[sa.Connection]:
    engine = sa.create_engine(folder.db_url)
    try:
        with engine.connect() as connection:
            yield connection
    except sa.exc.SQLAlchemyError as trouble:
        raise GradebookError(gradebook_trouble(folder.db_url, trouble)) from trouble
    finally:
        engine.dispose()


def _grade_row(row: Any, state: Any, maximum: float) -> GradeRow:
    if row.handed is None:
        return GradeRow(row.learner, None, maximum, "not handed in")
    if row.unread:  # a check cell without any score: nobody, and no program, has marked it
        why = state.why if state is not None and state.why else (
            "Marking stopped before this submission was done. Mark again; the log says more.")
        return GradeRow(row.learner, None, maximum, "not marked", why)
    told = [Repair(*one) for one in json.loads(state.repairs)] if state is not None else []
    name = "marked after repair" if told else "marked"
    return GradeRow(row.learner, max(0.0, float(row.earned) - float(row.penalty)), maximum, name,
                    " ".join(repair.sentence for repair in told), int(row.waiting),
                    float(row.penalty))


def gradebook_trouble(db_url: str, trouble: BaseException) -> str:
    """Say what is wrong with a gradebook and what to do, and no more than is known."""
    place = sa.engine.make_url(db_url).render_as_string(hide_password=True)
    cause = str(getattr(trouble, "orig", None) or trouble).strip().split("\n")[0]
    safe = " Marks kept so far are safe."
    hint = (f"another program is writing to it: close it, or wait, and mark again.{safe}"
            if "locked" in cause else
            f"the disk is full or failing: make room and mark again.{safe}"
            if "full" in cause or "I/O error" in cause else
            f"check that the place exists and may be written to.{safe}"
            if "readonly" in cause or "unable to open" in cause else
            DAMAGED if any(word in cause for word in _SIGNS_OF_DAMAGE) else
            "see that its place or its server can be reached. Nothing was changed by this command")
    return f"The gradebook {place} cannot be used ({cause}): {hint.rstrip('.')}."


DAMAGED = ("the file is damaged or is none of nbgrader's, and marks in it may be lost. No mark was "
           "shown or changed. `acidbase check` looks closer, `acidbase restore` puts back a backup")
_SIGNS_OF_DAMAGE = ("malformed", "not a database", "no such table", "no such column", "decode",
                    "encrypted", "corrupt", "unsupported file format", "isoformat", "convert")
