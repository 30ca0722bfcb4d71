"""Work done in a process of its own that is killed, or finds the disk full, at its Nth operation.

Operations are those by which a run changes what is on disk below one folder: a file opened to be
written, a rename, a folder made, a file or folder taken away; and what it tells a database.
"""
from __future__ import annotations

import errno
import os
import signal
import sys
from collections.abc import Callable
from pathlib import Path
from typing import Any

WRITING = os.O_WRONLY | os.O_RDWR | os.O_CREAT | os.O_TRUNC | os.O_APPEND
CHANGES = {"os.rename", "os.mkdir", "os.remove", "os.rmdir", "os.link", "os.truncate"}

Work = Callable[[], object]


class Hook:
    """Counts the operations of this process, and stops it at one of them."""

    def __init__(self, root: Path, at: int, how: str) -> None:
        self.root, self.at, self.how, self.count = os.fspath(root), at, how, 0
        self.process = os.getpid()

    def __call__(self, event: str, args: tuple[Any, ...]) -> None:
        if self.process == os.getpid() and self._is_change(event, args):
            self.operation(makes=event in {"open", "os.mkdir"})

    def operation(self, *_: object, makes: bool = True, **__: object) -> None:
        """One more."""
        self.count += 1
        if self.how == "kill" and self.count == self.at:
            os.kill(os.getpid(), signal.SIGKILL)
        if self.how == "full" and self.count >= self.at > 0 and makes:
            raise OSError(errno.ENOSPC, "No space left on device")

    def _is_change(self, event: str, args: tuple[Any, ...]) -> bool:
        if event not in CHANGES and not (
                event == "open" and isinstance(args[2], int) and args[2] & WRITING):
            return False
        return str(args[0]).startswith(self.root)


def stopped(work: Work, root: Path, at: int = 0, how: str = "kill", sql: bool = False) -> str:
    """Do some work in a process of its own; return how many operations it had, or what it said.

    Empty where it was killed; a number where it came to its end.
    """
    told, tell = os.pipe()
    child = os.fork()
    if child == 0:
        os.close(told)
        said = ""
        try:
            hook = Hook(root, at, how)
            if sql:
                _count_statements(hook)
            sys.addaudithook(hook)
            work()
            said = str(hook.count)
        except BaseException as error:
            said = f"{type(error).__name__}: {error}"
        finally:
            os.write(tell, said.encode()[:4000])
            os._exit(0)
    os.close(tell)
    with os.fdopen(told) as answer:
        said = answer.read()
    os.waitpid(child, 0)
    return said


def _count_statements(hook: Hook) -> None:
    """Count each statement and each commit that goes to a database."""
    import sqlalchemy as sa

    sa.event.listen(sa.Engine, "before_cursor_execute", lambda *_: hook.operation(makes=False))
    sa.event.listen(sa.Engine, "commit", lambda *_: hook.operation(makes=False))


def files(root: Path) -> dict[str, bytes]:
    """Every file below a folder but locks, by its path."""
    return {path.relative_to(root).as_posix(): path.read_bytes() for path in root.rglob("*")
            if path.is_file() and path.name != ".acidbase.lock"}
