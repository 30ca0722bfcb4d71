"""Files written whole or not at all, so that a stop at any moment leaves the old or the new."""
from __future__ import annotations

import errno
import os
from pathlib import Path


class UnwrittenError(RuntimeError):
    """A file could not be written; the text says why and what to do."""


def write_whole(path: str | Path, data: bytes) -> Path:
    """Write a file through a neighbor that is then renamed; make its folder where there is none.

    Raises
    ------
    UnwrittenError
        If there is no room or no right to write; the old file is still there then.
    """
    path = Path(path)
    draft = path.with_name(f".{path.name}.{os.getpid()}.part")
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        try:
            draft.write_bytes(data)
            os.replace(draft, path)
        finally:
            draft.unlink(missing_ok=True)
    except OSError as slip:
        hint = ("make room" if slip.errno in {errno.ENOSPC, errno.EDQUOT, errno.EFBIG}
                else "see that the place may be written to")
        raise UnwrittenError(f"{path} could not be written ({slip.strerror}): {hint}, and run "
                             "this again. What is kept so far is safe.") from slip
    return path


def drop_drafts(path: Path) -> None:
    """Take away what a run that was stopped left beside a file."""
    for draft in path.parent.glob(f".{path.name}.*.part"):
        draft.unlink(missing_ok=True)
