"""One command at a time in a folder: a second one waits for the first, and no lock outlives it."""
from __future__ import annotations

import os
import sys
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import IO

NAME = ".acidbase.lock"
LONGEST_WAIT = 600.0  # [s]
_PAUSE = 0.05  # [s]


class LockedError(RuntimeError):
    """Another command has been at work in the folder for too long; the text says where."""


@contextmanager
def one_at_a_time(folder: Path, longest_wait: float = LONGEST_WAIT) -> Iterator[None]:
    """Hold a folder's lock for as long as the block lasts; wait for it first.

    The system lets go of the lock when the process ends, killed or not, so that none is ever left
    behind. On a file system that has no locks the block runs without.

    Parameters
    ----------
    folder : Path
        Made where there is none.
    longest_wait : float
        How long another command is waited for. [s]

    Raises
    ------
    LockedError
        If the other one does not end in time.
    """
    try:
        folder.mkdir(parents=True, exist_ok=True)
        if os.path.lexists(folder / NAME) and not (folder / NAME).is_file():
            raise OSError(f"{folder / NAME} is no file")  # a pipe would be waited at for ever
        file = open(folder / NAME, "ab")  # noqa: SIM115
    except OSError:
        yield  # what cannot be written to will be told by what is to be written there
        return
    with file:
        until = time.monotonic() + longest_wait
        while not _locked(file):
            if time.monotonic() > until:
                raise LockedError(f"Another acidbase command has been at work in {folder} for "
                                  f"{longest_wait:,.0f} seconds. Wait until it has ended, or end "
                                  "it, and run this again. Nothing was changed.")
            time.sleep(_PAUSE)
        yield


def _locked(file: IO[bytes]) -> bool:
    """Take the lock if it is free; true as well where the file system knows none."""
    try:
        if sys.platform == "win32":
            import msvcrt

            file.seek(0)
            msvcrt.locking(file.fileno(), msvcrt.LK_NBLCK, 1)
        else:
            try:
                import fcntl
            except ImportError:
                return True  # a system that knows no locks
            fcntl.flock(file, fcntl.LOCK_EX | fcntl.LOCK_NB)
    except (BlockingIOError, PermissionError):
        return False
    except OSError:
        return True
    return True
