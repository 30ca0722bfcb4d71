"""A command run in a process of its own, where from its Nth change on the disk is full."""
from __future__ import annotations

import json
import logging
import os
import sqlite3
import sys
from collections.abc import Callable
from contextlib import redirect_stderr, redirect_stdout
from io import StringIO
from pathlib import Path
from typing import Any, NamedTuple

from stopping import Hook

_WRITES = ("INSERT", "UPDATE", "DELETE", "REPLACE", "CREATE", "DROP", "COMMIT", "VACUUM")


class Said(NamedTuple):
    """What a command came to: its code and words, its changes on disk, which of them commits."""

    code: int
    out: str
    err: str
    changes: int
    commits: list[int]


def on_a_full_disk(run: Callable[[], int], root: Path, at: int = 0) -> Said:
    """Run a command that finds no room below a folder from its Nth change on; 0: always room."""
    told, tell = os.pipe()
    child = os.fork()
    if child == 0:
        os.close(told)
        hook, out, err = Hook(root, at, "full"), StringIO(), StringIO()
        logging.getLogger().handlers.clear()  # pytest's: outside it nobody catches what is logged
        commits = _fill(hook)
        sys.addaudithook(hook)
        try:
            with redirect_stdout(out), redirect_stderr(err):
                code = run()
        except BaseException as slip:
            code = 70
            err.write(f"it ended with {type(slip).__name__}: {slip}")
        os.write(tell, json.dumps([code, out.getvalue()[-20_000:], err.getvalue()[-20_000:],
                                   hook.count, commits]).encode())
        os._exit(0)
    os.close(tell)
    with os.fdopen(told, "rb") as answer:
        said = answer.read()
    os.waitpid(child, 0)
    return Said(*json.loads(said))


def _fill(hook: Hook) -> list[int]:
    """Let what is written into any SQLite file be a change as well; return which are commits."""
    commits: list[int] = []

    def change(sql: str) -> None:
        if sql.lstrip().upper().startswith(_WRITES):
            if sql == "COMMIT":
                commits.append(hook.count + 1)
            try:
                hook.operation()
            except OSError:
                raise sqlite3.OperationalError("database or disk is full") from None

    class Cursor(sqlite3.Cursor):
        def execute(self, sql: str, *more: Any) -> Any:
            change(sql)
            return super().execute(sql, *more)

        def executemany(self, sql: str, *more: Any) -> Any:
            change(sql)
            return super().executemany(sql, *more)

    class Connection(sqlite3.Connection):
        def cursor(self, factory: Any = Cursor) -> Any:
            return super().cursor(factory)

        def execute(self, sql: str, *more: Any) -> Any:
            return self.cursor().execute(sql, *more)

        def commit(self) -> None:
            if self.in_transaction:
                change("COMMIT")
            super().commit()

    real = sqlite3.connect

    def connect(*given: Any, **named: Any) -> Any:
        return real(*given, **{"factory": Connection, **named})
    sqlite3.connect = sqlite3.dbapi2.connect = connect  # type: ignore[assignment]
    return commits
