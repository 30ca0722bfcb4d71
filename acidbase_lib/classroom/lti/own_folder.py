"""The course's folder `lti`: what is made in it belongs to whoever the course belongs to."""
from __future__ import annotations

import os
import shutil
from contextlib import suppress
from pathlib import Path

from acidbase_lib.classroom.private import owner_only

NAME = "lti"


def own_folder(course: Path) -> Path:
    """Return the folder in a course's root, made where there is none, closed to others."""
    folder = course / NAME
    if not folder.is_dir():
        with owner_only():
            folder.mkdir(parents=True, exist_ok=True)
        give_to_owner(folder)
    return folder


def give_to_owner(path: Path) -> Path:
    """Give what root made to the owner of the folder that it stands in.

    A hub runs as root and writes here at a sign-in; the instructor reads it, who is not root.
    """
    if getattr(os, "geteuid", lambda: 1)() == 0:
        above = path.parent.stat()
        with suppress(OSError):
            shutil.chown(path, above.st_uid, above.st_gid)
    return path
