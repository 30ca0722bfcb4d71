"""How far the history had come, as the gradebook knows it: lines taken out of the one show."""
from __future__ import annotations

from collections.abc import Iterable
from contextlib import suppress

import sqlalchemy as sa

from acidbase_lib.classroom.gradebook.course_folder import CourseFolder
from acidbase_lib.classroom.gradebook.our_tables import HEADS, OUR_TABLES

from .history import History, Line


def begin_head(engine: sa.Engine) -> None:
    """Mark a gradebook as one that the history may tell of, before it does."""
    with suppress(sa.exc.IntegrityError), engine.begin() as connection:  # another was faster
        if connection.scalar(sa.select(HEADS.c.id)) is None:
            connection.execute(sa.insert(HEADS), {"id": 1, "lines": 0, "chain": ""})


def head_in(folder: CourseFolder) -> tuple[int, str] | None:
    """Return how far the history had come when the gradebook was last written to."""
    engine = sa.create_engine(folder.db_url)
    try:
        with engine.connect() as connection:
            if not sa.inspect(connection).has_table(HEADS.name):
                return None
            row = connection.execute(sa.select(HEADS.c.lines, HEADS.c.chain)).first()
            return None if row is None else (row.lines, row.chain)
    finally:
        engine.dispose()


def fits(head: tuple[int, str] | None, lines: Iterable[Line]) -> bool:
    """True where a history goes on from where it was when the gradebook last knew of it."""
    return head is None or not head[0] or any(
        line.number == head[0] and line.chain == head[1] for line in lines)


def keep_head(engine: sa.Engine, history: History) -> None:
    """Let the gradebook know how far the history has come."""
    last = history.last()
    head = {"id": 1, "lines": last.number if last else 0, "chain": last.chain if last else ""}
    OUR_TABLES.create_all(engine)
    with suppress(sa.exc.IntegrityError), engine.begin() as connection:  # another was faster
        connection.execute(sa.delete(HEADS))
        connection.execute(sa.insert(HEADS), head)
