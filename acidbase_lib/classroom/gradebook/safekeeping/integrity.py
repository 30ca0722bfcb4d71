"""Is a gradebook whole? Asked at every opening: marks of a damaged one are never shown."""
from __future__ import annotations

import os
import sqlite3
from collections.abc import Iterator
from contextlib import closing, contextmanager
from pathlib import Path

import sqlalchemy as sa

from acidbase_lib.classroom.gradebook.course_folder import CourseFolder
from acidbase_lib.classroom.gradebook.gradebook_error import (
    DAMAGED,
    GradebookError,
    gradebook_trouble,
)
from acidbase_lib.classroom.gradebook.nbgrader_adapter import guard
from acidbase_lib.classroom.gradebook.nbgrader_adapter.door import COLUMNS
from acidbase_lib.classroom.gradebook.our_tables import (
    DIGESTED,
    DIGESTS,
    HEADS,
    OUR_TABLES,
    STATES,
    digest_of,
)

from .history import History

_SEEN: dict[str, tuple[int, ...]] = {}  # files found whole by this process, and as they were then


def gradebook_file(db_url: str) -> Path | None:
    """Return where a gradebook's file is; None where it is on a server, which guards its own."""
    url = sa.engine.make_url(db_url)
    if not url.drivername.startswith("sqlite") or url.database in {None, "", ":memory:"}:
        return None
    return Path(str(url.database))


def grading_folder(folder: CourseFolder) -> Path:
    """Return the folder in which hand-ins, history and backups lie."""
    return (folder.root / folder.steps["submitted"]).parent


@contextmanager
def opened(file: Path, db_url: str = "") -> Iterator[sqlite3.Connection]:
    """Open a file that is there, in autocommit mode; wait for others as the course says."""
    wait = sa.engine.make_url(db_url).query.get("timeout", "60") if db_url else "60"
    with closing(sqlite3.connect(f"{file.resolve().as_uri()}?mode=rw", uri=True,
                                 timeout=float(str(wait)), isolation_level=None)) as book:
        try:
            book.execute("PRAGMA trusted_schema = OFF")
            yield book
        except UnicodeDecodeError as error:  # so Python tells of a damaged name in the file
            raise sqlite3.DatabaseError("a text in it cannot be decoded") from error


def faults_of(file: Path, db_url: str = "") -> tuple[str, ...]:
    """Return what is wrong with a gradebook's file, a sentence each; none where it is whole.

    Raises
    ------
    sqlite3.OperationalError
        If it is locked, or the disk fails: then nothing is known of it.
    """
    try:
        with opened(file, db_url) as book:
            return tuple(guard.faults(book)) or tuple(_states_that_differ(book))
    except sqlite3.OperationalError as error:
        if _is_no_damage(error):
            raise
        return (f"SQLite cannot read it: {_in_a_line(error)}.",)
    except (sqlite3.DatabaseError, UnicodeDecodeError, ValueError) as error:
        return (f"SQLite cannot read it: {_in_a_line(error)}.",)


def require_whole(folder: CourseFolder) -> None:
    """Let nobody read from, or write to, a gradebook that is damaged, lost or another one.

    Raises
    ------
    GradebookError
        If it is; the text says what was found and what can be done. Nothing was changed.
    """
    file = gradebook_file(folder.db_url)
    if file is None:
        return
    try:
        if not file.is_file() or _is_empty(file, folder.db_url):
            if why := _marks_were_kept(folder):
                raise GradebookError(
                    f"The gradebook {file} is {'empty' if file.exists() else 'not there'}, but "
                    f"{why}. It is not made anew, so that nothing more is lost. `acidbase "
                    "restore` puts back a backup; `acidbase restore --begin-again` starts an "
                    "empty one, and marks given by hand are lost then.")
            return
        state = _state(file)
        if _SEEN.get(str(file)) == state:
            return
        if found := faults_of(file, folder.db_url):
            raise GradebookError(f"The gradebook {file} cannot be used. {found[0]} "
                                 f"{DAMAGED[0].upper()}{DAMAGED[1:]}.")
        if _is_another(folder, file):
            raise GradebookError(
                f"The gradebook {file} is not the one that the history in "
                f"{grading_folder(folder) / 'history'} tells of: it was made anew or comes from "
                "another course. Nothing was changed. `acidbase restore` puts back a backup; "
                "`acidbase restore --begin-again` goes on with an empty one.")
        if state == _state(file):
            _SEEN[str(file)] = state
    except sqlite3.DatabaseError as error:
        raise GradebookError(gradebook_trouble(folder.db_url, error)) from error


def require_file_whole(db_url: str) -> None:
    """Let nothing be read from a gradebook whose file is damaged, whatever course it is of.

    Raises
    ------
    GradebookError
        If it is.
    """
    file = gradebook_file(db_url)
    if file is not None and file.is_file() and (found := faults_of(file, db_url)):
        raise GradebookError(f"The gradebook {file} cannot be used. {found[0]} "
                             f"{DAMAGED[0].upper()}{DAMAGED[1:]}.")


def begin_guard(folder: CourseFolder) -> bool:
    """Put the guard into a gradebook that was found whole; True where it had none.

    Raises
    ------
    GradebookError
        If the gradebook is locked or the disk is full.
    """
    file = gradebook_file(folder.db_url)
    if file is None or not file.is_file():
        return False
    try:
        with opened(file, folder.db_url) as book:
            return guard.begin(book)
    except sqlite3.DatabaseError as error:
        raise GradebookError(gradebook_trouble(folder.db_url, error)) from error


def _is_another(folder: CourseFolder, file: Path) -> bool:
    """True where the history tells of marks, and this gradebook has never heard of a history."""
    with opened(file, folder.db_url) as book:
        known = {name for (name,) in book.execute("SELECT name FROM sqlite_master")}
        if not set(COLUMNS) <= known:
            return False  # half made, by a run that was stopped: it is completed
        if HEADS.name in known and book.execute(f"SELECT 1 FROM {HEADS.name}").fetchone():
            return False
    return _history(folder).marks_were_kept()


def _states_that_differ(book: sqlite3.Connection) -> Iterator[str]:
    there = {name for (name,) in book.execute(
        "SELECT name FROM sqlite_master WHERE type = 'table'")}
    for table in OUR_TABLES.tables.values():
        columns = {row[1] for row in book.execute(f"PRAGMA table_info({table.name})")}
        if table.name in there and (missing := sorted({c.name for c in table.columns} - columns)):
            yield f"The table {table.name} lacks {', '.join(missing)}."
            return
    if HEADS.name in there and [row for row in book.execute(f"SELECT * FROM {HEADS.name}") if not (
            row[0] == 1 and isinstance(row[1], int) and isinstance(row[2], str)
            and len(row[2]) in {0, 64})]:
        yield f"The table {HEADS.name} holds what this kit does not write."
    if not {STATES.name, DIGESTS.name} <= there:
        return
    known = {(row[0], row[1]): row[2] for row in book.execute(
        f"SELECT assignment, learner, digest FROM {DIGESTS.name}")}
    found = 0
    for row in book.execute(f"SELECT {', '.join(DIGESTED)} FROM {STATES.name}"):
        digest = known.pop((row[0], row[1]), None)
        found += digest is not None and digest != digest_of(row)
    if found or known:
        yield (f"{found + len(known)} rows of the table {STATES.name} are not what was written "
               "into them.")


def _is_empty(file: Path, db_url: str) -> bool:
    if file.stat().st_size == 0:
        return True
    try:
        with opened(file, db_url) as book:
            return bool(book.execute("SELECT COUNT(*) = 0 FROM sqlite_master").fetchone()[0])
    except sqlite3.DatabaseError as error:
        if _is_no_damage(error):
            raise
        return False  # damaged: told as that


def _marks_were_kept(folder: CourseFolder) -> str:
    """Say by what one knows that there was a gradebook with marks; empty where there was none."""
    grading = grading_folder(folder)
    if _history(folder).was_begun_again():
        return ""
    if any((grading / "backups").glob("*.db")):
        return f"there are backups of it in {grading / 'backups'}"
    if _history(folder).marks_were_kept():
        return f"the history in {grading / 'history'} tells of marks in it"
    marked = folder.root / folder.steps["autograded"]
    if next(marked.rglob("*.ipynb"), None) is not None:
        return f"there are marked notebooks in {marked}"
    return ""


def _history(folder: CourseFolder) -> History:
    return History(grading_folder(folder) / "history")


def _in_a_line(error: BaseException) -> str:
    """A trouble's text as it can be printed: it may hold bytes of the damaged file."""
    return " ".join("".join(c if c.isprintable() else " " for c in str(error)).split())[:200]


def _is_no_damage(error: BaseException) -> bool:
    text = str(error)
    return any(word in text for word in ("locked", "full", "I/O", "readonly", "unable to open"))


def _state(file: Path) -> tuple[int, ...]:
    stat = os.stat(file)
    return stat.st_ino, stat.st_size, stat.st_mtime_ns
