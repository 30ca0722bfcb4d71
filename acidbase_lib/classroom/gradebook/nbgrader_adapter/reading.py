"""What is asked of nbgrader's tables: the maximum, everyone's points, and what a person gave."""
from __future__ import annotations

from collections.abc import Iterator
from typing import Any

import sqlalchemy as sa


def maximum_of(connection: sa.Connection, assignment: str) -> float | None:
    """Return the most that can be earned; None where the gradebook has no such assignment."""
    found = connection.execute(sa.text(_ASSIGNMENT), {"name": assignment}).first()
    return None if found is None else float(found.maximum)


def points_of(connection: sa.Connection, assignment: str) -> Iterator[Any]:
    """Yield a row for everyone: learner, handed, earned, unread, waiting, penalty."""
    yield from connection.execute(sa.text(_GRADES), {"name": assignment})


def by_hand_of(connection: sa.Connection, assignment: str) -> Iterator[Any]:
    """Yield a row for each cell that a person has marked: learner, cell, points."""
    yield from connection.execute(sa.text(_BY_HAND), {"name": assignment})


def comments_of(connection: sa.Connection, assignment: str) -> Iterator[Any]:
    """Yield a row for each comment that a person has written: learner, cell, text."""
    yield from connection.execute(sa.text(_COMMENTS), {"name": assignment})


def waiting_of(connection: sa.Connection, assignment: str) -> Iterator[Any]:
    """Yield a row for each cell that waits for a person, marked before or not: learner, cell."""
    yield from connection.execute(sa.text(_WAITING), {"name": assignment})


def cells_of(connection: sa.Connection, assignment: str) -> Iterator[Any]:
    """Yield a row for each graded cell of each learner: learner, cell, auto, manual, extra."""
    yield from connection.execute(sa.text(_CELLS), {"name": assignment})


def maxima_of(connection: sa.Connection, assignment: str) -> dict[str, float]:
    """Return the most that each graded cell can earn."""
    return {row.cell: float(row.most) for row in connection.execute(
        sa.text(_MAXIMA), {"name": assignment})}
def late_of(connection: sa.Connection, assignment: str) -> Iterator[str]:
    """Yield who handed in after the time that nbgrader has, with the extension it gave them."""
    told = sa.text(_TIMES).columns(learner=sa.String, at=sa.DateTime, due=sa.DateTime,
                                   more=sa.Interval)
    for row in connection.execute(told, {"name": assignment}):
        if row.at is not None and row.due is not None:
            due = row.due if row.more is None else row.due + row.more
            if row.at > due:
                yield row.learner


def people_of(connection: sa.Connection) -> dict[str, str]:
    """Return everyone that a gradebook knows, with their name where nbgrader was told it."""
    return {row[0]: " ".join(filter(None, row[1:])) for row in connection.execute(sa.text(
        "SELECT id, first_name, last_name FROM student ORDER BY id"))}


def assignments_of(connection: sa.Connection) -> tuple[str, ...]:
    """Return the names of all assignments, in order."""
    return tuple(connection.scalars(sa.text("SELECT name FROM assignment ORDER BY name")))


_ASSIGNMENT = """
SELECT a.id, COALESCE(SUM(COALESCE(g.max_score, t.max_score)), 0) AS maximum
FROM assignment a JOIN notebook n ON n.assignment_id = a.id JOIN base_cell c ON c.notebook_id = n.id
LEFT JOIN grade_cells g ON g.id = c.id LEFT JOIN task_cells t ON t.id = c.id
WHERE a.name = :name GROUP BY a.id"""

_FROM_CELL_TO_LEARNER = """
JOIN base_cell c ON c.id = g.cell_id
JOIN submitted_notebook sn ON sn.id = g.notebook_id
JOIN submitted_assignment sa ON sa.id = sn.assignment_id
JOIN assignment a ON a.id = sa.assignment_id
WHERE a.name = :name"""

_BY_HAND = f"""
SELECT sa.student_id AS learner, c.name AS cell, g.manual_score AS points
FROM grade g {_FROM_CELL_TO_LEARNER} AND g.manual_score IS NOT NULL"""

_COMMENTS = f"""
SELECT sa.student_id AS learner, c.name AS cell, g.manual_comment AS text
FROM comment g {_FROM_CELL_TO_LEARNER} AND g.manual_comment IS NOT NULL"""

_WAITING = f"""
SELECT sa.student_id AS learner, c.name AS cell
FROM grade g {_FROM_CELL_TO_LEARNER} AND g.needs_manual_grade"""

_TIMES = """
SELECT sa.student_id AS learner, sa.timestamp AS at, a.duedate AS due, sa.extension AS more
FROM submitted_assignment sa JOIN assignment a ON a.id = sa.assignment_id WHERE a.name = :name"""

_CELLS = f"""
SELECT sa.student_id AS learner, c.name AS cell, g.auto_score AS auto, g.manual_score AS manual,
       g.extra_credit AS extra
FROM grade g {_FROM_CELL_TO_LEARNER} ORDER BY sa.student_id, c.name"""

_MAXIMA = """
SELECT c.name AS cell, COALESCE(g.max_score, t.max_score) AS most
FROM assignment a JOIN notebook n ON n.assignment_id = a.id JOIN base_cell c ON c.notebook_id = n.id
LEFT JOIN grade_cells g ON g.id = c.id LEFT JOIN task_cells t ON t.id = c.id
WHERE a.name = :name AND COALESCE(g.max_score, t.max_score) IS NOT NULL ORDER BY c.name"""

_GRADES = """
SELECT s.id AS learner, sa.id AS handed, COALESCE(g.earned, 0) AS earned,
       COALESCE(g.unread, 0) AS unread, COALESCE(g.waiting, 0) AS waiting,
       COALESCE(g.penalty, 0) AS penalty
FROM student s
LEFT JOIN submitted_assignment sa ON sa.student_id = s.id
     AND sa.assignment_id = (SELECT id FROM assignment WHERE name = :name)
LEFT JOIN (
  SELECT sn.assignment_id,
         SUM(COALESCE(gr.manual_score, gr.auto_score, 0)
             + CASE WHEN gr.manual_score IS NULL AND gr.auto_score IS NULL THEN 0
                    ELSE COALESCE(gr.extra_credit, 0) END) AS earned,
         SUM(CASE WHEN gr.auto_score IS NULL AND gr.manual_score IS NULL AND so.id IS NULL
                   AND gc.cell_type = 'code' THEN 1 ELSE 0 END) AS unread,
         SUM(CASE WHEN gr.needs_manual_grade THEN 1 ELSE 0 END) AS waiting,
         MAX(COALESCE(sn.late_submission_penalty, 0)) AS penalty
  FROM submitted_notebook sn JOIN grade gr ON gr.notebook_id = sn.id
  JOIN base_cell c ON c.id = gr.cell_id LEFT JOIN grade_cells gc ON gc.id = c.id
  LEFT JOIN base_cell so ON so.name = c.name AND so.notebook_id = c.notebook_id
       AND so.type = 'SolutionCell'
  GROUP BY sn.assignment_id
) g ON g.assignment_id = sa.id
ORDER BY s.id"""
