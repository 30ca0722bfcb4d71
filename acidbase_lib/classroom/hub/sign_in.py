"""What happens when a learner signs in at a hub: the course is put into a home of their own."""
from __future__ import annotations

import os
import stat
from contextlib import suppress
from pathlib import Path

from acidbase_lib import __version__
from acidbase_lib.classroom.private import owner_only, tighten
from acidbase_lib.classroom.released_course import course_folder, unit_ids_of

from .newer_units import put_units

OTHERS = stat.S_IRWXG | stat.S_IRWXO


def prepare_home(home: Path, written_for: str, released: Path) -> str:
    """Put every unit into a learner's home folder, and close that to other accounts.

    A unit that the instructor released is taken from the exchange, any other from the kit. What a
    learner began is left as it is; where it is of another version, the newer is put beside it.

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
    with owner_only():
        put_units(home, tuple(_sources(released).items()))
    tighten(home / unit for unit in _sources(released))  # copied with the source's rights
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


def _sources(released: Path) -> dict[str, Path]:
    """The folder that each unit is taken from: a released one stands before the kit's."""
    course = course_folder()
    handed_out = () if not released.is_dir() else sorted(
        path for path in released.iterdir() if (path / f"{path.name}.ipynb").is_file())
    return {**{unit: course / unit for unit in unit_ids_of(course)},
            **{path.name: path for path in handed_out}}
