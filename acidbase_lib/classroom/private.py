"""Files of learners are readable by their owner only, where the system knows owners."""
from __future__ import annotations

import os
import stat
from collections.abc import Iterable, Iterator
from contextlib import contextmanager
from pathlib import Path

_OTHERS = stat.S_IRWXG | stat.S_IRWXO


@contextmanager
def owner_only(shared_with_group: bool = False) -> Iterator[None]:
    """Make every file and folder made in the block readable by its owner only.

    Parameters
    ----------
    shared_with_group : bool
        True where several instructors share a course by a group, as nbgrader's ``groupshared``
        says; then the group may read and write as well.

    Notes
    -----
    It sets the process's mask, which Windows has not: there the folder's own rights hold.
    """
    if os.name == "nt":
        yield
        return
    before = os.umask(0o007 if shared_with_group else 0o077)
    try:
        yield
    finally:
        os.umask(before)


def tighten(places: Iterable[Path], shared_with_group: bool = False, *,
            within: bool = True) -> None:
    """Take the rights of others from files and folders that are there, and all within them.

    What belongs to somebody else is left as it is; links are not followed. Not `within`: from the
    places alone.
    """
    for path in list(others_can_read(places, shared_with_group, within=within)):
        try:
            mode = stat.S_IMODE(path.stat().st_mode)
            path.chmod(mode & ~(stat.S_IRWXO if shared_with_group else _OTHERS))
        except OSError:
            continue


def others_can_read(places: Iterable[Path], shared_with_group: bool = False, *,
                    within: bool = True) -> Iterator[Path]:
    """Yield the files and folders that others than their owner may read.

    Nobody gets past a folder that is closed, so what is in it is not looked at.
    """
    if os.name == "nt":
        return
    wrong = stat.S_IRWXO if shared_with_group else _OTHERS
    to_do = [place for place in places if place.exists()]
    while to_do:
        path = to_do.pop()
        if path.is_symlink() or not path.stat().st_mode & wrong:
            continue
        yield path
        if within and path.is_dir():
            to_do += path.iterdir()
