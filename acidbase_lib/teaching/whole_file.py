"""A file that may be a stranger's, read whole: within a limit, and never a pipe or a device."""
from __future__ import annotations

import os
import stat
import sys
from pathlib import Path


def read_whole(path: Path, limit: int) -> bytes | None:
    """Return what a file holds.

    Parameters
    ----------
    path : Path
        The file, or a link to one.
    limit : int
        The most that is read. [bytes]

    Returns
    -------
    bytes or None
        None where it holds more.

    Raises
    ------
    OSError
        It cannot be opened, or is no file: a pipe would be waited for, a device read, for ever.
    """
    # O_NONBLOCK: opening a pipe would wait; O_BINARY: Windows would end a file at a Ctrl-Z. In a
    # browser there is no pipe, and a file opened so is written back: the learner would be asked
    # whether to overwrite what has changed on disk.
    wait = 0 if sys.platform == "emscripten" else getattr(os, "O_NONBLOCK", 0)
    handle = os.open(path, os.O_RDONLY | wait | getattr(os, "O_BINARY", 0))
    with os.fdopen(handle, "rb") as file:
        if not stat.S_ISREG(os.fstat(handle).st_mode):
            raise OSError(f"{path} is no file")
        data = file.read(limit + 1)
    return data if len(data) <= limit else None
