"""What happens when a learner signs in at a hub: the course is put into the home folder."""
from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

from acidbase_lib import __version__
from acidbase_lib.classroom.atomic_write import replace_folder
from acidbase_lib.classroom.private import owner_only, tighten
from acidbase_lib.classroom.released_course import course_folder, unit_ids_of


def prepare_home(home: Path, written_for: str, released: Path) -> str:
    """Put every unit that is not there yet into a learner's home folder.

    A unit that the instructor released is taken from the exchange, any other from the kit. What
    stands there already is the learner's work and is left as it is. Nobody else may read it.

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
    with owner_only():
        for unit, source in _to_copy(home, released):
            replace_folder(source, home / unit)
    tighten(home / source.name for source in _sources(released))  # copied with the source's rights
    if __version__ != written_for:
        return (f"learners' servers have acidbase-lib {__version__}, but the hub's files were "
                f"written by {written_for}: install one version everywhere, then run acidbase hub "
                "again with --force")
    return ""


def _to_copy(home: Path, released: Path) -> Iterator[tuple[str, Path]]:
    for source in _sources(released):
        if not (home / source.name).exists():
            yield source.name, source


def _sources(released: Path) -> Iterator[Path]:
    """Every unit as it is handed out: a released one comes first, so the kit's stays away."""
    if released.is_dir():
        yield from sorted(path for path in released.iterdir()
                          if (path / f"{path.name}.ipynb").is_file())
    course = course_folder()
    yield from (course / unit for unit in unit_ids_of(course))
