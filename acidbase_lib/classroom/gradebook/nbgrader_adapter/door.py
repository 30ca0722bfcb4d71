"""What the kit leans on in nbgrader, each thing named once: tables, columns, steps, settings.

nbgrader promises its commands, its configuration and ``nbgrader.api.Gradebook``. The kit leans on
more than that, because it writes a class's marks in one transaction: on table and column names,
and on the version stamp. All of that stands in this folder and nowhere else: here, ``reading`` (the
questions asked of its tables), ``writing`` (what is written into them), ``guard`` (whether they are
as they were written), and ``../registration`` (a gradebook made, an assignment made known).
``tests/classroom/gradebook/test_nbgrader_contract.py`` says in plain sentences what a new nbgrader
has changed of it.
"""
from __future__ import annotations

import datetime
import logging
from collections.abc import Iterator, Mapping, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from types import MappingProxyType
from typing import Any

import sqlalchemy as sa

# table: the columns that are read or written; a gradebook without one of them is damaged
COLUMNS: Mapping[str, tuple[str, ...]] = MappingProxyType({
    "student": ("id", "first_name", "last_name", "email", "lms_user_id"),
    "assignment": ("id", "name", "duedate", "course_id"),
    "notebook": ("id", "name", "assignment_id", "kernelspec"),
    "base_cell": ("id", "name", "notebook_id", "type"),
    "grade_cells": ("id", "max_score", "cell_type"),
    "task_cells": ("id", "max_score", "cell_type"),
    "solution_cells": ("id",),
    "source_cell": ("id", "name", "cell_type", "locked", "source", "checksum", "notebook_id"),
    "submitted_assignment": ("id", "assignment_id", "student_id", "timestamp", "extension"),
    "submitted_notebook": ("id", "assignment_id", "notebook_id", "flagged",
                           "late_submission_penalty"),
    "grade": ("id", "notebook_id", "cell_id", "auto_score", "manual_score", "extra_credit",
              "needs_manual_grade"),
    "comment": ("id", "notebook_id", "cell_id", "auto_comment", "manual_comment"),
})
HEAD = "e43177bfe90b"  # the stamp of the tables that this kit was tried with
STAMP = "alembic_version"
LOG = "tornado.application"  # where nbgrader writes what its gradebook could not do
# the steps of nbgrader that course/nbgrader_config.py and nbgrader_parts name
STEPS = ("AssignLatePenalties", "CheckCellMetadata", "ClearHiddenTests", "ClearMarkScheme",
         "ClearOutput", "ClearSolutions", "ComputeChecksums", "GetGrades", "IncludeHeaderFooter",
         "LockCells", "NbGraderPreprocessor", "SaveAutoGrades", "SaveCells")
# the settings of nbgrader that course/nbgrader_config.py gives
TRAITS: Mapping[str, tuple[str, ...]] = MappingProxyType({
    "nbgrader.coursedir.CourseDirectory": (
        "course_id", "root", "source_directory", "release_directory", "submitted_directory",
        "autograded_directory", "feedback_directory", "db_url", "student_id",
        "directory_structure", "groupshared"),
    "nbgrader.converters.GenerateAssignment": ("preprocessors",),
    "nbgrader.converters.Autograde": ("sanitize_preprocessors", "autograde_preprocessors"),
    "nbgrader.converters.GenerateFeedback": ("preprocessors",),
})


def open_gradebook(db_url: str, course_id: str) -> Any:
    """Open nbgrader's own gradebook; its ``engine`` and ``find_notebook`` are what is used."""
    from nbgrader.api import Gradebook, InvalidEntry

    try:
        with _not_told_twice():
            return Gradebook(db_url, course_id or "default_course")
    except InvalidEntry as slip:  # whatever its first write met, a full disk too
        if isinstance(slip.__context__, sa.exc.SQLAlchemyError):
            raise slip.__context__ from None
        raise


@contextmanager
def _not_told_twice() -> Iterator[None]:
    """Leave out the traceback that nbgrader logs of each error of a database that it raises too."""
    def told_once(record: logging.LogRecord) -> bool:
        return not (record.exc_info and isinstance(record.exc_info[1], sa.exc.SQLAlchemyError))
    log = logging.getLogger(LOG)
    log.addFilter(told_once)
    try:
        yield
    finally:
        log.removeFilter(told_once)


def tables() -> Mapping[str, sa.Table]:
    """Return nbgrader's tables by name."""
    from nbgrader.api import Base

    found: Mapping[str, sa.Table] = Base.metadata.tables
    return found


def parse_time(text: str) -> datetime.datetime:
    """Read a time as nbgrader's exchange writes it; returned in UTC, without a zone.

    Raises
    ------
    ValueError, OverflowError
        If it is none.
    """
    from nbgrader.utils import parse_utc

    found: datetime.datetime = parse_utc(text)
    return found


@dataclass(frozen=True, slots=True)
class Ids:
    """The gradebook's own ids of an assignment and its cells."""

    assignment: str
    notebook: str
    graded: Mapping[str, str]
    answers: Mapping[str, str]

    @classmethod
    def of(cls, notebook: Any) -> Ids:
        """Take them from a notebook that the gradebook has found."""
        return cls(notebook.assignment.id, notebook.id,
                   {cell.name: cell.id for cell in notebook.grade_cells + notebook.task_cells},
                   {cell.name: cell.id for cell in notebook.solution_cells})


class LatePenalty:
    """nbgrader's own late penalty, by the plugin that the course has chosen."""

    def __init__(self, config: Any) -> None:
        from nbgrader.preprocessors import AssignLatePenalties

        self._rule = AssignLatePenalties(config=config)
        self._rule.init_plugin()

    def apply(self, connection: sa.Connection, notebooks: Sequence[str]) -> None:
        """Set the penalty of each notebook that came late, and take it off the others."""
        from nbgrader import api
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
                if penalty is not None:  # as nbgrader has it: never below 0, never over the score
                    penalty = min(max(penalty, 0), row.score)
                row.late_submission_penalty = penalty
            session.flush()

    def anew(self, connection: sa.Connection, assignment: str,
             earned: Mapping[str, float]) -> dict[str, float]:
        """Return what lateness costs each learner who has a penalty, of other points; keep nothing.

        ``earned`` gives each learner's points before the penalty.
        """
        from nbgrader import api
        from sqlalchemy.orm import Session

        found = {}
        with Session(bind=connection) as session:
            rows = session.scalars(
                sa.select(api.SubmittedNotebook).join(api.SubmittedAssignment)
                .join(api.Assignment)
                .where(api.Assignment.name == assignment,
                       api.SubmittedNotebook.late_submission_penalty.is_not(None)))
            for row in rows:
                if (points := earned.get(row.student.id)) is not None:
                    penalty = self._rule.plugin_inst.late_submission_penalty(
                        row.student.id, points, row.assignment.total_seconds_late)
                    found[row.student.id] = min(max(float(penalty or 0.0), 0.0), points)
        return found
