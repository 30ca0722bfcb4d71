"""A gradebook made, an assignment made known to it, and taken from it as it was released."""
from __future__ import annotations

import json
from typing import Any

import sqlalchemy as sa

from acidbase_lib.classroom.notebooks.assignment import AssignmentSource, SourceError

from .gradebook_error import GradebookError
from .released_text import refuse_code


def make_gradebook(db_url: str) -> None:
    """Make nbgrader's tables where there are none, stamped with the version nbgrader expects.

    nbgrader would do the same, but by calling another program, which takes some seconds.

    Raises
    ------
    GradebookError
        If the gradebook is of another version of nbgrader.
    """
    from alembic.script import ScriptDirectory
    from nbgrader.api import Base
    from nbgrader.dbutil import ALEMBIC_DIR

    engine = sa.create_engine(db_url)
    try:
        with engine.begin() as connection:
            if tables := sa.inspect(connection).get_table_names():
                if "alembic_version" in tables:
                    _is_of_this_nbgrader(connection, ScriptDirectory(ALEMBIC_DIR), db_url)
                return
            Base.metadata.create_all(connection)
            version = sa.Table("alembic_version", sa.MetaData(),
                               sa.Column("version_num", sa.String(32), nullable=False))
            version.create(connection)
            connection.execute(sa.insert(version), {
                "version_num": ScriptDirectory(ALEMBIC_DIR).get_current_head()})
    finally:
        engine.dispose()


def _is_of_this_nbgrader(connection: sa.Connection, known: Any, db_url: str) -> None:
    """Refuse a gradebook whose tables are not those that this nbgrader writes."""
    version = connection.scalar(sa.text("SELECT version_num FROM alembic_version"))
    if version in {None, known.get_current_head()}:
        return
    place = sa.engine.make_url(db_url).render_as_string(hide_password=True)
    older = version in {script.revision for script in known.walk_revisions()}
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
    points = {cell.name: cell.max_score for cell in there.grade_cells + there.task_cells}
    kept = {cell.name: (cell.source, points.get(cell.name)) for cell in there.source_cells}
    if odd := sorted(set(source.by_name) ^ set(kept)):
        raise SourceError(f"{source.name}: the source and the gradebook do not have the same "
                          f"cells ({', '.join(odd[:6])}). Release it again: nbgrader "
                          f"generate_assignment {source.name} --force")
    released = source.as_released(kept)
    refuse_code(source, released)
    changed = [str(new.name) for new, old in zip(source.cells, released.cells, strict=True)
               if new != old]
    if not changed:
        return released, ()
    return released, (f"Changed in the source since release: {', '.join(changed)}. The released "
                      "version was used to mark.",)


def register(book: Any, source: AssignmentSource) -> None:
    """Make an assignment known to the gradebook, as nbgrader generate_assignment does."""
    name, notebook = source.name, source.notebook
    book.update_or_create_assignment(name)
    kernel = json.loads(source.metadata).get("kernelspec", {})
    book.update_or_create_notebook(notebook, name, kernelspec=json.dumps(kernel))
    for cell in source.cells:
        if cell.name is None:
            continue
        if cell.role == "task":
            book.update_or_create_task_cell(cell.name, notebook, name, max_score=cell.points,
                                            cell_type=cell.kind)
        elif cell.points is not None:
            book.update_or_create_grade_cell(cell.name, notebook, name, max_score=cell.points,
                                             cell_type=cell.kind)
        if cell.role == "answer":
            book.update_or_create_solution_cell(cell.name, notebook, name)
        book.update_or_create_source_cell(
            cell.name, notebook, name, cell_type=cell.kind, source=cell.text,
            checksum=cell.checksum(), locked=cell.role in {"check", "locked"})
