"""Marks kept in nbgrader's gradebook: stored once however often, a person's marks never lost."""
from __future__ import annotations

import datetime
import json
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from types import TracebackType
from typing import Any
from uuid import uuid4

import sqlalchemy as sa

from acidbase_lib.classroom.folder_lock import one_at_a_time
from acidbase_lib.classroom.marking.reading_lane import MarkedNotebook
from acidbase_lib.classroom.notebooks.assignment import AssignmentSource

from .course_folder import CourseFolder, put_scripts_on_path
from .read_gradebook import OUR_TABLES, STATES, GradebookError, gradebook_trouble
from .registration import make_gradebook, released_source


@dataclass(frozen=True, slots=True)
class Result:
    """One learner's marked notebook on its way into the gradebook."""

    learner: str
    marked: MarkedNotebook
    file: str = ""
    handed_in: datetime.datetime | None = None


class ClassGradebook:
    """The gradebook of one assignment, open for writing.

    Parameters
    ----------
    course : CourseFolder
        Names the gradebook.
    source : AssignmentSource
        The instructor's notebook; registered where the gradebook does not have it yet.

    Raises
    ------
    GradebookError
        If the gradebook cannot be opened.
    SourceError
        If the gradebook holds the assignment with other cells.
    """

    def __init__(self, course: CourseFolder, source: AssignmentSource) -> None:
        put_scripts_on_path()
        from nbgrader import api

        self._api = api
        self._course = course
        with one_at_a_time(course.lock_folder):  # two that set it up at once wait for each other
            try:
                make_gradebook(course.db_url)
                self._book = api.Gradebook(course.db_url, course.course_id or "default_course")
            except sa.exc.SQLAlchemyError as trouble:
                raise GradebookError(gradebook_trouble(course.db_url, trouble)) from trouble
            try:
                self.source, self.notes = released_source(self._book, source)
                self._ids = _Ids.of(self._book.find_notebook(source.notebook, source.name))
            except BaseException:
                self._book.close()
                raise
        self._late = _LatePenalty(course.config)

    def __enter__(self) -> ClassGradebook:
        return self

    def __exit__(self, kind: type[BaseException] | None, slip: BaseException | None,
                 trace: TracebackType | None) -> None:
        self._book.close()

    def store(self, results: Sequence[Result]) -> None:
        """Keep some learners' marks, all in one transaction.

        Raises
        ------
        GradebookError
            If the gradebook is locked or full; nothing of these learners is kept then.
        """
        try:
            for attempt in (1, 2):  # another marker may have added the same learner meanwhile
                try:
                    with self._book.engine.begin() as connection:
                        self._store(connection, results)
                    return
                except sa.exc.IntegrityError:
                    if attempt == 2:
                        raise
        except sa.exc.SQLAlchemyError as trouble:
            raise GradebookError(gradebook_trouble(self._course.db_url, trouble)) from trouble

    def _store(self, connection: sa.Connection, results: Sequence[Result]) -> None:
        api, ids = self._api, self._ids
        notebooks = self._submissions(connection, results)
        grade, comment = api.Grade.__table__, api.Comment.__table__
        kept = {(row.notebook_id, row.cell_id): row for row in connection.execute(
            sa.select(grade.c.id, grade.c.notebook_id, grade.c.cell_id, grade.c.auto_score,
                      grade.c.manual_score, grade.c.needs_manual_grade)
            .where(_of(grade, ids.graded, notebooks)))}
        remarks = {(row.notebook_id, row.cell_id): row.id for row in connection.execute(
            sa.select(comment.c.id, comment.c.notebook_id, comment.c.cell_id)
            .where(_of(comment, ids.answers, notebooks)))}
        before = {row.learner: row.file for row in connection.execute(
            sa.select(STATES.c.learner, STATES.c.file).where(
                STATES.c.assignment == self.source.name,
                STATES.c.learner.in_([r.learner for r in results])))}
        new_grades, old_grades, new_remarks, old_remarks = [], [], [], []
        for result in results:
            notebook = notebooks[result.learner]
            same_file = bool(result.file) and before.get(result.learner) == result.file
            for name, cell_id in ids.graded.items():
                points = result.marked.scores.get(name)
                row = kept.get((notebook, cell_id))
                waits = points is None
                if row is not None and row.manual_score is not None:
                    # a person has marked this: ask again only where something changed
                    waits = (bool(row.needs_manual_grade)
                             or not same_file or row.auto_score != points)
                told = {"auto_score": points, "needs_manual_grade": waits}
                if row is None:
                    new_grades.append({"id": uuid4().hex, "notebook_id": notebook,
                                       "cell_id": cell_id} | told)
                elif (row.auto_score, bool(row.needs_manual_grade)) != (points, waits):
                    old_grades.append({"row": row.id} | told)
            for name, cell_id in ids.answers.items():
                text = _remark(result.marked, name)
                if (notebook, cell_id) in remarks:
                    old_remarks.append({"row": remarks[notebook, cell_id], "auto_comment": text})
                else:
                    new_remarks.append({"id": uuid4().hex, "notebook_id": notebook,
                                        "cell_id": cell_id, "auto_comment": text})
        for table, new, old in ((grade, new_grades, old_grades),
                                (comment, new_remarks, old_remarks)):
            if new:
                connection.execute(sa.insert(table), new)
            if old:
                columns: dict[str, Any] = {key: sa.bindparam(key) for key in old[0] if key != "row"}
                connection.execute(sa.update(table).where(table.c.id == sa.bindparam("row"))
                                   .values(**columns), old)
        self._late.apply(connection, api, [notebooks[r.learner] for r in results])
        _store_states(connection, self.source, results)

    def _submissions(self, connection: sa.Connection,
                     results: Sequence[Result]) -> dict[str, str]:
        """Return the gradebook's row of each learner's notebook, made where there is none."""
        student, handed, notebook = (self._api.Student.__table__,
                                     self._api.SubmittedAssignment.__table__,
                                     self._api.SubmittedNotebook.__table__)
        learners = [result.learner for result in results]
        there = set(connection.scalars(sa.select(student.c.id).where(student.c.id.in_(learners))))
        if strangers := [{"id": learner} for learner in learners if learner not in there]:
            connection.execute(sa.insert(student), strangers)
        rows = {row.student_id: row for row in connection.execute(
            sa.select(handed.c.student_id, handed.c.id, handed.c.timestamp).where(
                handed.c.assignment_id == self._ids.assignment,
                handed.c.student_id.in_(learners)))}
        new: list[dict[str, Any]] = []
        dated: list[dict[str, Any]] = []
        for result in results:
            row = rows.get(result.learner)
            if row is None:
                new.append({"id": uuid4().hex, "assignment_id": self._ids.assignment,
                            "student_id": result.learner, "timestamp": result.handed_in})
            elif result.handed_in is not None and row.timestamp != result.handed_in:
                dated.append({"row": row.id, "when": result.handed_in})
        if new:
            connection.execute(sa.insert(handed), new)
        if dated:
            connection.execute(sa.update(handed).where(handed.c.id == sa.bindparam("row"))
                               .values(timestamp=sa.bindparam("when")), dated)
        ids = {name: row.id for name, row in rows.items()} | {
            row["student_id"]: row["id"] for row in new}
        by_assignment = {row.assignment_id: row.id for row in connection.execute(
            sa.select(notebook.c.id, notebook.c.assignment_id).where(
                notebook.c.notebook_id == self._ids.notebook,
                notebook.c.assignment_id.in_(ids.values())))}
        missing = [{"id": uuid4().hex, "assignment_id": handed_id,
                    "notebook_id": self._ids.notebook, "flagged": False}
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


@dataclass(frozen=True, slots=True)
class _Ids:
    """The gradebook's own ids of an assignment and its cells."""

    assignment: str
    notebook: str
    graded: Mapping[str, str]
    answers: Mapping[str, str]

    @classmethod
    def of(cls, notebook: Any) -> _Ids:
        return cls(notebook.assignment.id, notebook.id,
                   {cell.name: cell.id for cell in notebook.grade_cells + notebook.task_cells},
                   {cell.name: cell.id for cell in notebook.solution_cells})


class _LatePenalty:
    """nbgrader's own late penalty, by the plugin that the course has chosen."""

    def __init__(self, config: Any) -> None:
        from nbgrader.preprocessors import AssignLatePenalties

        self._rule = AssignLatePenalties(config=config)
        self._rule.init_plugin()

    def apply(self, connection: sa.Connection, api: Any, notebooks: Sequence[str]) -> None:
        """Set the penalty of each notebook that came late, and take it off the others."""
        from sqlalchemy.orm import Session

        with Session(bind=connection) as session:
            rows = session.scalars(
                sa.select(api.SubmittedNotebook).join(api.SubmittedAssignment)
                .join(api.Assignment)
                .where(api.SubmittedNotebook.id.in_(notebooks), sa.or_(
                    api.SubmittedNotebook.late_submission_penalty.is_not(None),
                    api.SubmittedAssignment.timestamp > api.Assignment.duedate)))
            for row in rows:
                late, penalty = row.assignment.total_seconds_late, None
                if late > 0:
                    penalty = self._rule.plugin_inst.late_submission_penalty(
                        row.student.id, row.score, late)
                if penalty is not None:
                    penalty = self._rule._check_late_penalty(row, penalty)
                row.late_submission_penalty = penalty
            session.flush()


def keep_states(engine: sa.Engine, source: AssignmentSource, results: Sequence[Result]) -> None:
    """Keep the state of submissions whose marks nbgrader's own steps store."""
    OUR_TABLES.create_all(engine)
    with engine.begin() as connection:
        _store_states(connection, source, results)


def _store_states(connection: sa.Connection, source: AssignmentSource,
                  results: Sequence[Result]) -> None:
    now = datetime.datetime.now(datetime.UTC).replace(tzinfo=None, microsecond=0)
    connection.execute(sa.delete(STATES).where(
        STATES.c.assignment == source.name,
        STATES.c.learner.in_([result.learner for result in results])))
    connection.execute(sa.insert(STATES), [_state_row(source, result, now) for result in results])


def _state_row(source: AssignmentSource, result: Result,
              now: datetime.datetime) -> dict[str, Any]:
    """Return a submission's state as our own table keeps it."""
    marked = result.marked
    return {"assignment": source.name, "learner": result.learner, "state": marked.state,
            "why": marked.why, "file": result.file, "source": source.digest, "marked_at": now,
            "repairs": json.dumps([[r.kind, r.cell, r.sentence] for r in marked.repairs]),
            "marks": json.dumps([mark.record() for mark in marked.marks])}


def _remark(marked: MarkedNotebook, name: str) -> str | None:
    """What stands beside an answer in nbgrader's feedback and formgrader."""
    if marked.state == "not marked":
        return f"Not marked: {marked.why}"
    told = [repair.sentence for repair in marked.repairs if repair.cell == name]
    question = name.removesuffix("-answer")
    if any(mark.question == question and mark.state == "blank" for mark in marked.marks) \
            or marked.scores.get(name) == 0.0:
        told.append("No response.")
    return " ".join(told) or None
