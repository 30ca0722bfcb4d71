"""A unit that has moved on since a learner began it: theirs stays, the newer is put beside it."""
from __future__ import annotations

import hashlib
import json
from pathlib import Path

from acidbase_lib.classroom.atomic_write import copy_whole, replace_folder, write_whole
from acidbase_lib.teaching.home.learner_units import NEWER

RECORD = ".acidbase-course.json"  # in a home folder: the releases that were looked at, by digest


def put_units(home: Path, sources: tuple[tuple[str, Path], ...]) -> None:
    """Put each unit into a home folder; where another version of it was begun, beside that.

    A copy that holds no work is brought up to date. A copy with work in it is never touched: the
    newer version goes into a folder of its own, ``UNIT (newer)``, which the home page shows.

    Parameters
    ----------
    home : Path
        The learner's home folder.
    sources : tuple of (str, Path)
        Each unit's name and the folder of its release.

    Raises
    ------
    UnwrittenError
        There is no room, or no right to write.
    """
    looked_at = _record(home)
    before = dict(looked_at)
    for unit, source in sources:
        release = source / f"{unit}.ipynb"
        digest = hashlib.sha256(release.read_bytes()).hexdigest() if release.is_file() else ""
        mine = home / unit / release.name
        if not (home / unit).exists():
            replace_folder(source, home / unit)
        elif looked_at.get(unit) != digest and release.is_file() and mine.is_file():
            _bring_up_to_date(mine, release)
        looked_at[unit] = digest
    if looked_at != before:
        write_whole(home / RECORD, json.dumps(looked_at, indent=1) + "\n")


def _bring_up_to_date(mine: Path, release: Path) -> None:
    """Where a learner's copy asks something else than a release: that release, or it beside."""
    # read only where a unit changed: it takes a quarter of a second that no sign-in should
    from acidbase_lib.classroom.notebooks.carry_answers import carry_over, is_of_another_version

    old, new = mine.read_bytes(), release.read_bytes()
    if not is_of_another_version(old, new):
        return
    carried = carry_over(old, new)
    if carried is not None and not (carried.carried or carried.left or carried.added):
        copy_whole(release, mine)
        return
    number, home = 1, mine.parents[1]
    while True:
        name = f"{mine.stem} ({NEWER if number == 1 else f'{NEWER} {number}'})"
        beside = home / name / f"{name}.ipynb"
        if not beside.exists():
            copy_whole(release, beside)
            return
        if not is_of_another_version(beside.read_bytes(), new):
            return
        number += 1


def _record(home: Path) -> dict[str, str]:
    """The record of a home; an unreadable one is none, and costs one more look."""
    try:
        told = json.loads((home / RECORD).read_text(encoding="utf-8"))
        return {str(unit): str(digest) for unit, digest in told.items()}
    except (OSError, ValueError, AttributeError):
        return {}
