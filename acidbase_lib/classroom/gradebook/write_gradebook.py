"""Marks kept in nbgrader's gradebook: stored once however often, a person's marks never lost."""
from __future__ import annotations

import datetime
import json
from collections.abc import Sequence
from dataclasses import dataclass
from types import TracebackType
from typing import Any

import sqlalchemy as sa

from acidbase_lib.classroom.folder_lock import one_at_a_time
from acidbase_lib.classroom.gradebook.nbgrader_adapter.door import Ids, LatePenalty, open_gradebook
from acidbase_lib.classroom.gradebook.nbgrader_adapter.writing import (
    MarksRow,
    remove_hand_in,
    store_marks,
)
from acidbase_lib.classroom.gradebook.safekeeping.integrity import (
    begin_guard,
    gradebook_file,
    require_whole,
)
from acidbase_lib.classroom.gradebook.safekeeping.log_head import begin_head
from acidbase_lib.classroom.marking.reading_lane import MarkedNotebook
from acidbase_lib.classroom.notebooks.assignment import AssignmentSource

from .course_folder import CourseFolder, put_scripts_on_path
from .gradebook_error import GradebookError, gradebook_trouble
from .our_tables import DIGESTED, DIGESTS, OUR_TABLES, STATES, digest_of
from .registration import make_gradebook, released_source


@dataclass(frozen=True, slots=True)
class GradebookEntry:
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
        self._course = course
        require_whole(course)
        with one_at_a_time(course.lock_folder):  # two that set it up at once wait for each other
            try:
                make_gradebook(course.db_url)
                self._book = open_gradebook(course.db_url, course.course_id)
                begin_guard(course)
                begin_head(self._book.engine)
            except sa.exc.SQLAlchemyError as error:
                raise GradebookError(gradebook_trouble(course.db_url, error)) from error
            try:
                self.source, self.notes = released_source(self._book, source)
                self._ids = Ids.of(self._book.find_notebook(source.notebook, source.name))
            except BaseException:
                self._book.close()
                raise
        self._late = LatePenalty(course.config)

    def __enter__(self) -> ClassGradebook:
        return self

    def __exit__(self, kind: type[BaseException] | None, error: BaseException | None,
                 trace: TracebackType | None) -> None:
        self._book.close()

    def store(self, results: Sequence[GradebookEntry]) -> None:
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
        except sa.exc.SQLAlchemyError as error:
            raise GradebookError(gradebook_trouble(self._course.db_url, error)) from error

    def _store(self, connection: sa.Connection, results: Sequence[GradebookEntry]) -> None:
        before = {row.learner: row.file for row in connection.execute(
            sa.select(STATES.c.learner, STATES.c.file).where(
                STATES.c.assignment == self.source.name,
                STATES.c.learner.in_([r.learner for r in results])))}
        notebooks = store_marks(connection, self._ids, [MarksRow(
            one.learner, one.marked.scores,
            {name: _remark(one.marked, name) for name in self._ids.answers},
            bool(one.file) and before.get(one.learner) == one.file, one.handed_in)
            for one in results])
        self._late.apply(connection, list(notebooks.values()))
        _store_states(connection, self.source, results)


def take_out(folder: CourseFolder, unit: str, learner: str) -> None:
    """Take one learner's marks in one assignment out of the gradebook: nothing is handed in.

    Raises
    ------
    GradebookError
        If the gradebook cannot be read or written; it is as it was then.
    """
    file = gradebook_file(folder.db_url)
    if file is not None and not file.is_file():
        return  # nothing was marked yet
    require_whole(folder)
    engine = sa.create_engine(folder.db_url)
    try:
        with engine.begin() as connection:
            there = sa.inspect(connection)
            if there.has_table("submitted_assignment"):
                remove_hand_in(connection, unit, learner)
            for table in (STATES, DIGESTS):
                if there.has_table(table.name):
                    connection.execute(sa.delete(table).where(
                        table.c.assignment == unit, table.c.learner == learner))
    except sa.exc.SQLAlchemyError as error:
        raise GradebookError(gradebook_trouble(folder.db_url, error)) from error
    finally:
        engine.dispose()


def keep_states(
    engine: sa.Engine, source: AssignmentSource, results: Sequence[GradebookEntry]
) -> None:
    """Keep the state of submissions whose marks nbgrader's own steps store."""
    OUR_TABLES.create_all(engine)
    with engine.begin() as connection:
        _store_states(connection, source, results)


def _store_states(connection: sa.Connection, source: AssignmentSource,
                  results: Sequence[GradebookEntry]) -> None:
    now = datetime.datetime.now(datetime.UTC).replace(tzinfo=None, microsecond=0)
    connection.execute(sa.delete(STATES).where(
        STATES.c.assignment == source.name,
        STATES.c.learner.in_([result.learner for result in results])))
    rows = [_state_row(source, result, now) for result in results]
    connection.execute(sa.insert(STATES), rows)
    connection.execute(sa.delete(DIGESTS).where(
        DIGESTS.c.assignment == source.name,
        DIGESTS.c.learner.in_([result.learner for result in results])))
    connection.execute(sa.insert(DIGESTS), [
        {"assignment": source.name, "learner": row["learner"],
         "digest": digest_of([row[name] for name in DIGESTED])} for row in rows])


def _state_row(source: AssignmentSource, result: GradebookEntry,
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
    lines = [repair.sentence for repair in marked.repairs if repair.cell == name]
    question = name.removesuffix("-answer")
    if any(mark.question == question and mark.state == "blank" for mark in marked.marks) \
            or marked.scores.get(name) == 0.0:
        lines.append("No response.")
    return " ".join(lines) or None
