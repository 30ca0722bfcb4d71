"""What is written into nbgrader's tables: learners, hand-ins, points and remarks, once each."""
from __future__ import annotations

import datetime
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any
from uuid import uuid4

import sqlalchemy as sa

from .door import Ids, tables


@dataclass(frozen=True, slots=True)
class MarksRow:
    """What is to be kept of one learner: points and remarks by grade id.

    ``same_file`` tells whether it is the file that was marked before, to the byte.
    """

    learner: str
    scores: Mapping[str, float | None]
    remarks: Mapping[str, str | None]
    same_file: bool = False
    handed_in: datetime.datetime | None = None


def store_marks(connection: sa.Connection, ids: Ids, rows: Sequence[MarksRow]) -> dict[str, str]:
    """Write some learners' points and remarks; what is there already is changed, never doubled.

    Returns
    -------
    dict of str to str
        Learner to the gradebook's id of their notebook.
    """
    notebooks = _submissions(connection, ids, rows)
    grade, comment = tables()["grade"], tables()["comment"]
    kept = {(row.notebook_id, row.cell_id): row for row in connection.execute(
        sa.select(grade.c.id, grade.c.notebook_id, grade.c.cell_id, grade.c.auto_score,
                  grade.c.manual_score, grade.c.needs_manual_grade)
        .where(_of(grade, ids.graded, notebooks)))}
    remarks = {(row.notebook_id, row.cell_id): row.id for row in connection.execute(
        sa.select(comment.c.id, comment.c.notebook_id, comment.c.cell_id)
        .where(_of(comment, ids.answers, notebooks)))}
    new_grades, old_grades, new_remarks, old_remarks = [], [], [], []
    for one in rows:
        notebook = notebooks[one.learner]
        for name, cell_id in ids.graded.items():
            points = one.scores.get(name)
            row = kept.get((notebook, cell_id))
            waits = points is None
            if row is not None and row.manual_score is not None:
                # a person has marked this: ask again only where something changed
                waits = (bool(row.needs_manual_grade)
                         or not one.same_file or row.auto_score != points)
            values = {"auto_score": points, "needs_manual_grade": waits}
            if row is None:
                new_grades.append({"id": uuid4().hex, "notebook_id": notebook,
                                   "cell_id": cell_id} | values)
            elif (row.auto_score, bool(row.needs_manual_grade)) != (points, waits):
                old_grades.append({"row": row.id} | values)
        for name, cell_id in ids.answers.items():
            text = one.remarks.get(name)
            if (notebook, cell_id) in remarks:
                old_remarks.append({"row": remarks[notebook, cell_id], "auto_comment": text})
            else:
                new_remarks.append({"id": uuid4().hex, "notebook_id": notebook,
                                    "cell_id": cell_id, "auto_comment": text})
    for table, new, old in ((grade, new_grades, old_grades), (comment, new_remarks, old_remarks)):
        if new:
            connection.execute(sa.insert(table), new)
        if old:
            columns: dict[str, Any] = {key: sa.bindparam(key) for key in old[0] if key != "row"}
            connection.execute(sa.update(table).where(table.c.id == sa.bindparam("row"))
                               .values(**columns), old)
    return notebooks


@dataclass(frozen=True, slots=True)
class HandMark:
    """What a person gave for one answer; None leaves points or comment as they are."""

    learner: str
    cell: str
    points: float | None = None
    comment: str | None = None


def store_by_hand(connection: sa.Connection, assignment: str, marks: Sequence[HandMark]) -> None:
    """Write a person's points and comments as nbgrader's marking screen does.

    Raises
    ------
    KeyError
        If the gradebook does not know a learner's hand-in, or a cell.
    """
    grade, comment = tables()["grade"], tables()["comment"]
    notebooks = {row.learner: row.notebook for row in connection.execute(
        sa.text(_NOTEBOOKS), {"name": assignment})}
    cells = {(row.name, row.type == "SolutionCell"): row.id for row in connection.execute(
        sa.text(_CELL_IDS), {"name": assignment})}
    for one in marks:
        notebook, graded = notebooks[one.learner], cells[one.cell, False]
        answer = one.cell if (one.cell, True) in cells else \
            f"{one.cell.removesuffix('-check')}-answer"
        beside = cells.get((answer, True), graded)  # where nbgrader keeps the comment
        if one.points is not None:
            connection.execute(sa.update(grade).where(
                grade.c.notebook_id == notebook, grade.c.cell_id == graded).values(
                    manual_score=one.points, needs_manual_grade=False))
        if one.comment is not None:
            there = sa.and_(comment.c.notebook_id == notebook, comment.c.cell_id == beside)
            if connection.scalar(sa.select(comment.c.id).where(there)) is None:
                connection.execute(sa.insert(comment), {
                    "id": uuid4().hex, "notebook_id": notebook, "cell_id": beside})
            connection.execute(sa.update(comment).where(there).values(
                manual_comment=one.comment or None))


_NOTEBOOKS = """
SELECT sa.student_id AS learner, sn.id AS notebook FROM submitted_notebook sn
JOIN submitted_assignment sa ON sa.id = sn.assignment_id
JOIN assignment a ON a.id = sa.assignment_id WHERE a.name = :name"""

_CELL_IDS = """
SELECT c.id, c.name, c.type FROM base_cell c JOIN notebook n ON n.id = c.notebook_id
JOIN assignment a ON a.id = n.assignment_id
WHERE a.name = :name AND c.type IN ('GradeCell', 'TaskCell', 'SolutionCell')"""


def _submissions(connection: sa.Connection, its: Ids,
                 rows: Sequence[MarksRow]) -> dict[str, str]:
    """Return the gradebook's row of each learner's notebook, made where there is none."""
    student, handed, notebook = (tables()[name] for name in (
        "student", "submitted_assignment", "submitted_notebook"))
    learners = [one.learner for one in rows]
    there = set(connection.scalars(sa.select(student.c.id).where(student.c.id.in_(learners))))
    if strangers := [{"id": learner} for learner in learners if learner not in there]:
        connection.execute(sa.insert(student), strangers)
    known = {row.student_id: row for row in connection.execute(
        sa.select(handed.c.student_id, handed.c.id, handed.c.timestamp).where(
            handed.c.assignment_id == its.assignment, handed.c.student_id.in_(learners)))}
    new: list[dict[str, Any]] = []
    dated: list[dict[str, Any]] = []
    for one in rows:
        row = known.get(one.learner)
        if row is None:
            new.append({"id": uuid4().hex, "assignment_id": its.assignment,
                        "student_id": one.learner, "timestamp": one.handed_in})
        elif one.handed_in is not None and row.timestamp != one.handed_in:
            dated.append({"row": row.id, "when": one.handed_in})
    if new:
        connection.execute(sa.insert(handed), new)
    if dated:
        connection.execute(sa.update(handed).where(handed.c.id == sa.bindparam("row"))
                           .values(timestamp=sa.bindparam("when")), dated)
    ids = {name: row.id for name, row in known.items()} | {
        row["student_id"]: row["id"] for row in new}
    by_assignment = {row.assignment_id: row.id for row in connection.execute(
        sa.select(notebook.c.id, notebook.c.assignment_id).where(
            notebook.c.notebook_id == its.notebook,
            notebook.c.assignment_id.in_(ids.values())))}
    missing = [{"id": uuid4().hex, "assignment_id": handed_id,
                "notebook_id": its.notebook, "flagged": False}
               for handed_id in ids.values() if handed_id not in by_assignment]
    if missing:
        connection.execute(sa.insert(notebook), missing)
    by_assignment |= {row["assignment_id"]: row["id"] for row in missing}
    return {learner: by_assignment[handed_id] for learner, handed_id in ids.items()}


def _of(table: sa.Table, cells: Mapping[str, str],
        notebooks: Mapping[str, str]) -> sa.ColumnElement[bool]:
    """Some learners' rows of some cells; without the cells, each chunk reads the whole table."""
    return sa.and_(table.c.cell_id.in_(cells.values()),
                   table.c.notebook_id.in_(notebooks.values()))


def erase_learner(connection: sa.Connection, learner: str) -> int:
    """Take one learner out of nbgrader's tables on any server; return how many rows that were."""
    student, handed, notebook, grade, comment = (tables()[name] for name in (
        "student", "submitted_assignment", "submitted_notebook", "grade", "comment"))
    theirs = sa.select(handed.c.id).where(handed.c.student_id == learner)
    notebooks = sa.select(notebook.c.id).where(notebook.c.assignment_id.in_(theirs))
    return sum(connection.execute(sa.delete(table).where(rows)).rowcount for table, rows in (
        (grade, grade.c.notebook_id.in_(notebooks)),
        (comment, comment.c.notebook_id.in_(notebooks)),
        (notebook, notebook.c.assignment_id.in_(theirs)), (handed, handed.c.student_id == learner),
        (student, student.c.id == learner)))


def remove_hand_in(connection: sa.Connection, assignment: str, learner: str) -> None:
    """Take one learner's hand-in of one assignment, with what was given for it, out."""
    of_it, handed, notebook, grade, comment = (tables()[name] for name in (
        "assignment", "submitted_assignment", "submitted_notebook", "grade", "comment"))
    unit = sa.select(of_it.c.id).where(of_it.c.name == assignment)
    its = sa.and_(handed.c.student_id == learner, handed.c.assignment_id.in_(unit))
    theirs = sa.select(handed.c.id).where(its)
    notebooks = sa.select(notebook.c.id).where(notebook.c.assignment_id.in_(theirs))
    for table, rows in ((grade, grade.c.notebook_id.in_(notebooks)),
                        (comment, comment.c.notebook_id.in_(notebooks)),
                        (notebook, notebook.c.assignment_id.in_(theirs)), (handed, its)):
        connection.execute(sa.delete(table).where(rows))
