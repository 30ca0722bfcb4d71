"""A second copy of every mark inside the gradebook, kept by the database itself and compared.

SQLite notices a page that is torn, not a number that has become another one. So triggers keep a
copy of each row that a mark depends on, whoever writes it: this kit, nbgrader or formgrader. Where
row and copy differ, the file is damaged. The triggers also note when a person changed a mark.
"""
from __future__ import annotations

import sqlite3
from collections.abc import Iterator, Mapping
from types import MappingProxyType

from .door import COLUMNS, HEAD, STAMP

COPY, CHANGES = "acidbase_copy", "acidbase_hand_change"
# table: what is copied as text, and as numbers (a number's text is not the same in every SQLite)
_COPIED: Mapping[str, tuple[tuple[str, ...], tuple[str, ...]]] = MappingProxyType({
    STAMP: ((), ()),
    "student": ((), ()),
    "assignment": (("name",), ()),
    "notebook": (("name", "assignment_id"), ()),
    "base_cell": (("name", "notebook_id", "type"), ()),
    "grade_cells": (("cell_type",), ("max_score",)),
    "task_cells": (("cell_type",), ("max_score",)),
    "solution_cells": ((), ()),
    "source_cell": (("name", "notebook_id", "cell_type", "source"), ()),
    "submitted_assignment": (("assignment_id", "student_id"), ()),
    "submitted_notebook": (("assignment_id", "notebook_id"), ("late_submission_penalty",)),
    "grade": (("notebook_id", "cell_id", "needs_manual_grade"),
              ("auto_score", "manual_score", "extra_credit")),
})
_MAKE = (
    f"CREATE TABLE IF NOT EXISTS {COPY} (kind TEXT NOT NULL, id TEXT NOT NULL, told TEXT, "
    "a REAL, b REAL, c REAL, PRIMARY KEY (kind, id)) WITHOUT ROWID",
    f"CREATE TABLE IF NOT EXISTS {CHANGES} (n INTEGER PRIMARY KEY AUTOINCREMENT, at TEXT NOT NULL, "
    "notebook TEXT, cell TEXT, was REAL, now REAL)",
)


def _key(table: str) -> str:
    return "version_num" if table == STAMP else "id"


def _row(table: str, of: str = "") -> list[str]:
    """The columns of a copy, as expressions on a row of nbgrader's."""
    texts, numbers = _COPIED[table]
    text = " || ',' || ".join(f"quote({of}{name})" for name in texts) or "''"
    given = [f"{of}{name}" for name in numbers]
    return [f"'{table}'", f"{of}{_key(table)}", text, *given, *["NULL"] * (3 - len(given))]


def _triggers() -> dict[str, str]:
    made = {}
    for table in _COPIED:
        drop = f"DELETE FROM {COPY} WHERE kind = '{table}' AND id = OLD.{_key(table)}; "
        keep = f"INSERT OR REPLACE INTO {COPY} VALUES ({', '.join(_row(table, 'NEW.'))}); "
        for event, body in (("INSERT", keep), ("UPDATE", drop + keep), ("DELETE", drop)):
            name = f"{COPY}_{table}_{event.lower()}"
            made[name] = f"CREATE TRIGGER {name} AFTER {event} ON {table} BEGIN {body}END"
    made[f"{CHANGES}_noted"] = (
        f"CREATE TRIGGER {CHANGES}_noted AFTER UPDATE OF manual_score ON grade "
        "WHEN OLD.manual_score IS NOT NEW.manual_score BEGIN "
        f"INSERT INTO {CHANGES} (at, notebook, cell, was, now) VALUES "
        "(strftime('%Y-%m-%dT%H:%M:%SZ', 'now'), NEW.notebook_id, NEW.cell_id, "
        "OLD.manual_score, NEW.manual_score); END")
    return made


TRIGGERS: Mapping[str, str] = MappingProxyType(_triggers())


def is_guarded(book: sqlite3.Connection) -> bool:
    """True where all triggers are there, to the letter, and the copies with them."""
    return COPY in _tables(book) and CHANGES in _tables(book) and _made(book) == dict(TRIGGERS)


def was_guarded(book: sqlite3.Connection) -> bool:
    """True where a guard was put in once, whatever became of it."""
    return COPY in _tables(book)


def begin(book: sqlite3.Connection) -> bool:
    """Put the guard into a gradebook that has none, or another kit's; True where it did.

    The connection must be in autocommit mode; all of it is one transaction.
    """
    if is_guarded(book) or not {*COLUMNS, STAMP} <= _tables(book):
        return False
    book.execute("BEGIN IMMEDIATE")
    try:
        if not is_guarded(book):  # another command may have been faster
            for name in _made(book):
                if name.startswith("acidbase_"):
                    book.execute(f'DROP TRIGGER "{name}"')
            for line in _MAKE:
                book.execute(line)
            book.execute(f"DELETE FROM {COPY}")
            for table in _COPIED:
                book.execute(f"INSERT INTO {COPY} SELECT {', '.join(_row(table))} FROM {table}")
            for line in TRIGGERS.values():
                book.execute(line)
        book.execute("COMMIT")
    except BaseException:
        if book.in_transaction:
            book.execute("ROLLBACK")
        raise
    return True


def faults(book: sqlite3.Connection) -> Iterator[str]:
    """Yield what is wrong with a gradebook, a sentence each; none where it is whole.

    Raises
    ------
    sqlite3.DatabaseError
        If the file is so damaged that it cannot be read.
    """
    for (line,) in book.execute("PRAGMA integrity_check(3)"):
        if line != "ok":
            yield f"SQLite finds the file damaged: {' '.join(line.split())[:200]}."
            return
    there = _tables(book)
    if STAMP in there and book.execute(f"SELECT * FROM {STAMP}").fetchall() == [(HEAD,)]:
        in_use = "student" in there and book.execute("SELECT 1 FROM student").fetchone()
        for table, columns in COLUMNS.items():
            if table not in there and not in_use:
                continue  # half made, by a run that was stopped: it is completed
            known = {row[1] for row in book.execute(f"PRAGMA table_info({table})")}
            if missing := sorted(set(columns) - known):
                yield f"The table {table} lacks {', '.join(missing)}."
                return
    strange = [name for (name,) in book.execute(
        "SELECT name FROM sqlite_master WHERE type IN ('trigger', 'view') ORDER BY name")
        if name not in TRIGGERS]
    if strange:
        yield (f"It holds {strange[0]!r}, a program that runs inside the file and can change "
               "marks; neither nbgrader nor this kit put it there.")
    made = _made(book)
    if any(made[name] != TRIGGERS[name] for name in made.keys() & TRIGGERS):
        yield "The guard that this kit put into it has been changed."
    elif is_guarded(book):
        yield from _rows_that_differ(book)
        odd = book.execute(f"SELECT COUNT(*) FROM {CHANGES} WHERE typeof(at) != 'text' OR at NOT "
                           "LIKE '20__-__-__T__:__:__Z' OR typeof(was) NOT IN ('real', 'null') OR "
                           "typeof(now) NOT IN ('real', 'null')").fetchone()[0]
        if odd:
            yield f"{odd} rows of the table {CHANGES} are none that this kit writes."


def hand_changes(book: sqlite3.Connection, after: int) -> list[tuple[int, str, str, str, str,
                                                                     float | None, float | None]]:
    """Return what persons changed since: number, time, assignment, learner, cell, was, now."""
    if CHANGES not in _tables(book):
        return []
    return book.execute(f"""
        SELECT h.n, h.at, a.name, sa.student_id, c.name, h.was, h.now FROM {CHANGES} h
        JOIN base_cell c ON c.id = h.cell JOIN submitted_notebook sn ON sn.id = h.notebook
        JOIN submitted_assignment sa ON sa.id = sn.assignment_id
        JOIN assignment a ON a.id = sa.assignment_id WHERE h.n > ? ORDER BY h.n""",
                        (after,)).fetchall()


def people(book: sqlite3.Connection) -> dict[str, str]:
    """Return everyone that a gradebook knows, with their name where nbgrader was told it."""
    if "student" not in _tables(book):
        return {}
    return {row[0]: " ".join(filter(None, row[1:])) for row in book.execute(
        "SELECT id, first_name, last_name FROM student ORDER BY id")}


def erase(book: sqlite3.Connection, learner: str) -> int:
    """Take one learner out of nbgrader's tables; return how many rows that were.

    The connection must be in a transaction. The triggers take the copies away.
    """
    handed = "SELECT id FROM submitted_assignment WHERE student_id = ?"
    notebooks = f"SELECT id FROM submitted_notebook WHERE assignment_id IN ({handed})"
    gone = 0
    for line in (f"DELETE FROM grade WHERE notebook_id IN ({notebooks})",
                 f"DELETE FROM comment WHERE notebook_id IN ({notebooks})",
                 *([f"DELETE FROM {CHANGES} WHERE notebook IN ({notebooks})"]
                   if CHANGES in _tables(book) else []),
                 f"DELETE FROM submitted_notebook WHERE assignment_id IN ({handed})",
                 "DELETE FROM submitted_assignment WHERE student_id = ?",
                 "DELETE FROM student WHERE id = ?"):
        gone += book.execute(line, (learner,)).rowcount
    return gone


def _rows_that_differ(book: sqlite3.Connection) -> Iterator[str]:
    for table in _COPIED:
        _, _, text, *numbers = _row(table, "t.")
        alike = " AND ".join([f"k.told IS {text}", *(
            f"k.{name} IS {number}" for name, number in zip("abc", numbers, strict=True))])
        differ = book.execute(
            f"SELECT COUNT(*) FROM {table} t LEFT JOIN {COPY} k ON k.kind = '{table}' "
            f"AND k.id = t.{_key(table)} WHERE k.id IS NULL OR NOT ({alike})").fetchone()[0]
        lost = book.execute(
            f"SELECT COUNT(*) FROM {COPY} k LEFT JOIN {table} t "
            f"ON t.{_key(table)} = k.id WHERE k.kind = '{table}' "
            f"AND t.{_key(table)} IS NULL").fetchone()[0]
        if differ or lost:
            yield (f"{differ + lost} rows of the table {table} are not what was written into "
                   "them.")


def _tables(book: sqlite3.Connection) -> set[str]:
    return {name for (name,) in book.execute("SELECT name FROM sqlite_master WHERE type = 'table'")}


def _made(book: sqlite3.Connection) -> dict[str, str]:
    return dict(book.execute("SELECT name, sql FROM sqlite_master WHERE type = 'trigger' "
                             "AND name LIKE 'acidbase%'").fetchall())
