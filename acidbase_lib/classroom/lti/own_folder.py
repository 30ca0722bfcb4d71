"""The course's folder `lti`: what is made in it belongs to whoever the course belongs to."""
from __future__ import annotations

import os
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
    """Give what root made to the owner of the folder that it stands in; never what a link names."""
    if hasattr(os, "chown") and (owner := other_owner(path.parent)) is not None:
        with suppress(OSError):
            os.chown(path, *owner, follow_symlinks=False)
    return path


def other_owner(folder: Path) -> tuple[int, int] | None:
    """Return user and group of a folder's owner, where this is root and the folder is not root's.

    Whoever owns a folder may put a link into it: root writes nothing there but as that owner.
    """
    if getattr(os, "geteuid", lambda: 1)() != 0:
        return None
    there = folder.stat()
    return None if there.st_uid == 0 else (there.st_uid, there.st_gid)
