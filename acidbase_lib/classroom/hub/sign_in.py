"""What happens when a learner signs in at a hub: the course is put into a home of their own."""
from __future__ import annotations

import os
import stat
from collections.abc import Iterator
from contextlib import suppress
from pathlib import Path

from acidbase_lib import __version__
from acidbase_lib.classroom.atomic_write import replace_folder
from acidbase_lib.classroom.released_course import course_folder, unit_ids_of

OTHERS = stat.S_IRWXG | stat.S_IRWXO


def prepare_home(home: Path, written_for: str, released: Path) -> str:
    """Put every unit that is not there yet into a learner's home folder.

    A unit that the instructor released is taken from the exchange, any other from the kit. What
    stands there already is the learner's work and is left as it is. The home folder is closed to
    other accounts.

    Parameters
    ----------
    home : Path
        The learner's home folder.
    written_for : str
        The kit's version that the hub's files were written by.
    released : Path
        The exchange's folder of released assignments; it need not be there yet.

    Returns
    -------
    str
        What is wrong, without a full stop; "" where nothing is.

    Raises
    ------
    UnwrittenError
        There is no room, or no right to write.
    CommandError
        The kit was installed without its course.
    """
    close_to_others(home)
    for unit, source in _to_copy(home, released):
        replace_folder(source, home / unit)
    if __version__ != written_for:
        return (f"learners' servers have acidbase-lib {__version__}, but the hub's files were "
                f"written by {written_for}: install one version everywhere, then run acidbase hub "
                "again with --force")
    return ""


def close_to_others(home: Path) -> None:
    """Take other accounts' rights to a home folder away, which `useradd` makes open to all.

    A folder that is not the learner's own, as a container's volume, is left as it is; so is one
    whose disk knows no such rights: `acidbase hub --check` tells of it.
    """
    there = home.stat()
    if there.st_uid == getattr(os, "geteuid", lambda: None)():
        with suppress(OSError):
            home.chmod(stat.S_IMODE(there.st_mode) & ~OTHERS)


def _to_copy(home: Path, released: Path) -> Iterator[tuple[str, Path]]:
    handed_out = [] if not released.is_dir() else sorted(
        path for path in released.iterdir() if (path / f"{path.name}.ipynb").is_file())
    course = course_folder()
    kits = [course / unit for unit in unit_ids_of(course)]
    for source in (*handed_out, *kits):  # a released unit comes first, so the kit's stays away
        if not (home / source.name).exists():
            yield source.name, source
