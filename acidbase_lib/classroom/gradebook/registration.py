"""A gradebook made, an assignment made known to it, and taken from it as it was released."""
from __future__ import annotations

import json
import re
from collections.abc import Collection, Iterator
from contextlib import contextmanager, suppress
from pathlib import Path
from typing import Any

import sqlalchemy as sa

from acidbase_lib.classroom.notebooks.assignment import AssignmentSource, SourceError

from .gradebook_error import GradebookError, gradebook_trouble, place_of
from .our_tables import OUR_TABLES
from .released_text import refuse_code

_VERSION = sa.Table("alembic_version", sa.MetaData(),
                    sa.Column("version_num", sa.String(32), nullable=False))
_STEP = re.compile(r"^(revision|down_revision)\s*=\s*['\"](\w+)['\"]", re.MULTILINE)


def make_gradebook(db_url: str) -> None:
    """Make nbgrader's tables and ours, stamped with the version nbgrader expects: all or none.

    nbgrader would do the same, but by calling another program, which takes some seconds, and table
    by table. What a run that was stopped left half made is completed.

    Raises
    ------
    GradebookError
        If the gradebook is of another version of nbgrader.
    """
    from nbgrader.api import Base

    engine = sa.create_engine(db_url)
    try:
        with _one_transaction(engine) as connection:
            (head, known), version = _versions(), _VERSION
            tables = set(sa.inspect(connection).get_table_names())
            if version.name in tables:
                _is_of_this_nbgrader(connection, head, known, db_url)
            elif "student" in tables and connection.scalar(sa.text("SELECT 1 FROM student")):
                return  # an old nbgrader's, which kept no version: it is in use
            OUR_TABLES.create_all(connection)
            Base.metadata.create_all(connection)  # what is there already stays
            version.create(connection, checkfirst=True)
            if connection.scalar(sa.select(version.c.version_num)) is None:
                connection.execute(sa.insert(version), {"version_num": head})
    finally:
        engine.dispose()


@contextmanager
def _one_transaction(engine: sa.Engine) -> Iterator[sa.Connection]:
    """A transaction that holds the making of tables too; Python's sqlite3 ends it at each one."""
    if engine.dialect.name != "sqlite":
        with engine.begin() as connection:
            yield connection
        return
    with engine.connect().execution_options(isolation_level="AUTOCOMMIT") as connection:
        connection.exec_driver_sql("BEGIN IMMEDIATE")
        try:
            yield connection
        except BaseException:
            with suppress(sa.exc.SQLAlchemyError):  # a full disk has ended it already
                connection.exec_driver_sql("ROLLBACK")
            raise
        connection.exec_driver_sql("COMMIT")


def _versions() -> tuple[str, frozenset[str]]:
    """Return the version of this nbgrader's tables, and all that it knows of; its steps say.

    The text of the steps is read: to let alembic do it takes a tenth of a second.
    """
    from nbgrader.dbutil import ALEMBIC_DIR

    steps = [dict(_STEP.findall(path.read_text("utf-8")))
             for path in Path(ALEMBIC_DIR, "versions").glob("*.py")]
    known = frozenset(step["revision"] for step in steps if "revision" in step)
    heads = known - {step.get("down_revision") for step in steps}
    if len(heads) == 1:
        return next(iter(heads)), known
    from alembic.script import ScriptDirectory  # written otherwise than by alembic itself

    scripts = ScriptDirectory(ALEMBIC_DIR)
    return str(scripts.get_current_head()), frozenset(
        script.revision for script in scripts.walk_revisions())


def _is_of_this_nbgrader(connection: sa.Connection, head: str, known: Collection[str],
                         db_url: str) -> None:
    """Refuse a gradebook whose tables are not those that this nbgrader writes."""
    version = connection.scalar(sa.text("SELECT version_num FROM alembic_version"))
    if version in {None, head}:
        return
    place = place_of(db_url)
    older = version in known
    raise GradebookError(f"The gradebook {place} was made by " + (
        "an older nbgrader. Copy the file first; then bring it up to date with `nbgrader db "
        "upgrade`, in the course's folder. Marks and comments stay."
        if older else "a newer nbgrader than the one installed here. Install that version again "
        "(pip install -U nbgrader). Nothing was changed."))


def released_source(book: Any, source: AssignmentSource,
                    ) -> tuple[AssignmentSource, tuple[str, ...]]:
    """Return the source as the gradebook holds it, and what was changed in it since.

    Raises
    ------
    SourceError
        If the gradebook holds the assignment with other cells, or code that is not the source's.
    """
    from nbgrader.api import MissingEntry

    try:
        there = book.find_notebook(source.notebook, source.name)
    except MissingEntry:
        register(book, source)
        there = book.find_notebook(source.notebook, source.name)
    if _is_half_made(there, source):
        register(book, source)  # a run of an earlier kit was stopped while it did so
        there = book.find_notebook(source.notebook, source.name)
    points = {cell.name: cell.max_score for cell in there.grade_cells + there.task_cells}
    kept = {cell.name: (cell.source, points.get(cell.name)) for cell in there.source_cells}
    if odd := sorted(set(source.by_name) ^ set(kept)):
        raise SourceError(f"{source.name}: the source and the gradebook do not have the same "
                          f"cells ({', '.join(odd[:6])}). Where it was handed out, learners have "
                          f"the older cells. Put the notebook in {source.folder or 'solutions/'} "
                          "back as it was when you released it, from your backup. If not, "
                          "release it again: nbgrader generate_assignment "
                          f"{source.name} --force. Nothing was marked.")
    released = source.as_released(kept)
    refuse_code(source, released)
    changed = [str(new.name) for new, old in zip(source.cells, released.cells, strict=True)
               if new != old]
    if not changed:
        return released, ()
    return released, (f"Changed in the source since release: {', '.join(changed)}. The released "
                      "version was used to mark.",)


def _is_half_made(there: Any, source: AssignmentSource) -> bool:
    """True where only some of the source's cells are known, all as they are, and nobody's marks."""
    known = {cell.name: cell.source for cell in there.source_cells}
    return (len(known) < len(source.by_name)
            and all(name in source.by_name and source.by_name[name].text == text
                    for name, text in known.items()) and not there.submissions)


def register(book: Any, source: AssignmentSource) -> None:
    """Make an assignment known to the gradebook as nbgrader generate_assignment does: all or none.

    Raises
    ------
    GradebookError
        If the gradebook cannot be written to; it knows no part of the assignment then.
    """
    from nbgrader import api

    with book.db.no_autoflush:
        try:
            _add_assignment(book, api, source)
            book.db.commit()
        except sa.exc.SQLAlchemyError as error:
            book.db.rollback()
            raise GradebookError(gradebook_trouble(str(book.engine.url), error)) from error


def _add_assignment(book: Any, api: Any, source: AssignmentSource) -> None:
    """Add what is not there yet, without a commit; nothing that is there is taken away."""
    def one(kind: Any, **named: Any) -> Any:
        found = book.db.query(kind).filter_by(**named).one_or_none()
        if found is None:
            found = kind(**named)
            book.db.add(found)
            book.db.flush()
        return found

    kernel = json.loads(source.metadata).get("kernelspec", {})
    assignment = book.db.query(api.Assignment).filter_by(name=source.name).one_or_none()
    if assignment is None:
        assignment = one(api.Assignment, name=source.name, course_id=book.course_id)
    notebook = one(api.Notebook, name=source.notebook, assignment_id=assignment.id)
    notebook.kernelspec = json.dumps(kernel)
    for cell in source.cells:
        if cell.name is None:
            continue
        named = {"name": cell.name, "notebook_id": notebook.id}
        graded = {"max_score": cell.points, "cell_type": cell.kind}
        for kind, wanted, values in (
                (api.TaskCell, cell.role == "task", graded),
                (api.GradeCell, cell.role != "task" and cell.points is not None, graded),
                (api.SolutionCell, cell.role == "answer", {}),
                (api.SourceCell, True, {
                    "cell_type": cell.kind, "source": cell.text, "checksum": cell.checksum(),
                    "locked": cell.role in {"check", "locked"}})):
            if wanted:
                found = book.db.query(kind).filter_by(**named).one_or_none()
                if found is None:
                    book.db.add(kind(**named, **values))
                else:
                    for key, value in values.items():
                        setattr(found, key, value)
