"""Files from a learning management system put where nbgrader collects them; nothing is guessed."""
from __future__ import annotations

import datetime
import stat
import zipfile
import zlib
from collections.abc import Callable, Collection, Iterator, Mapping, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from functools import partial
from pathlib import Path, PurePosixPath

from acidbase_lib.classroom.atomic_write import write_whole
from acidbase_lib.classroom.notebooks.read_notebook import (
    LIMITS,
    FileLimits,
    UnreadableNotebookError,
    read_file,
)

from .course_folder import CourseFolder
from .roster import IntakeError, RosterLine, owner_of, read_roster

MOST_FILES = 20_000  # entries of one zip or folder


@dataclass(frozen=True, slots=True)
class Offered:
    """One file of the bundle: how to read it, or why it cannot be taken."""

    name: str
    read: Callable[[], bytes]
    why_not: str = ""


@dataclass(frozen=True, slots=True)
class Intake:
    """What became of every file.

    Parameters
    ----------
    taken : mapping of str to str
        Learner to the file that is theirs now.
    unchanged : mapping of str to str
        Learner to the file that was there already, the same to the byte.
    earlier : mapping of str to Path
        Learner to where their earlier, different file is kept.
    unmatched : mapping of str to str
        File to why it is nobody's.
    doubtful : mapping of str to str
        File to why it may be more than one person's, or one of several of the same person.
    absent : tuple of str
        Learners of the roster with no file in this bundle.
    """

    taken: Mapping[str, str]
    unchanged: Mapping[str, str]
    earlier: Mapping[str, Path]
    unmatched: Mapping[str, str]
    doubtful: Mapping[str, str]
    absent: tuple[str, ...]


def take_in(course: str | Path | CourseFolder, assignment: str, bundle: str | Path,
            roster: str | Path | Sequence[RosterLine], *, limits: FileLimits = LIMITS,
            handed_in: datetime.datetime | None = None,
            left_out: Collection[str] = ()) -> Intake:
    """Put each learner's file where nbgrader collects it; run it again with later files.

    Parameters
    ----------
    course : path or CourseFolder
        The course's folder.
    assignment : str
        Such as "02_primary_disorder".
    bundle : path
        A folder, or a zip, of single .ipynb files as the learning management system gave them.
    roster : path or sequence of RosterLine
        The class list.
    limits : FileLimits
        The longest file that is taken.
    handed_in : datetime, optional
        When this bundle was handed in (UTC), if lateness is to be reckoned.
    left_out : collection of str
        Learners who were erased: their files are passed over, and nothing is said of them.

    Returns
    -------
    Intake
        Every file of the bundle is in it. A file that differs from one taken before
        replaces it; the earlier one is kept beside the submissions.

    Raises
    ------
    IntakeError
        If the bundle or the roster cannot be read.
    """
    folder = CourseFolder.find(course)
    notebook = folder.source_notebook(assignment).name
    lines = read_roster(roster) if isinstance(roster, str | Path) else tuple(roster)
    taken: dict[str, str] = {}
    unchanged: dict[str, str] = {}
    earlier: dict[str, Path] = {}
    mine: dict[str, list[Offered]] = {}
    unmatched: dict[str, str] = {}
    doubtful: dict[str, str] = {}
    with opened(bundle, limits) as files:
        for offered in files:
            learner, why = owner_of(offered.name, lines)
            if offered.why_not or why:
                told = doubtful if why.startswith("it may be") and not offered.why_not \
                    else unmatched
                told[offered.name] = offered.why_not or why
            elif learner is not None and learner not in left_out:
                mine.setdefault(learner, []).append(offered)
        for learner in sorted(mine):  # one learner's files at a time: memory stays flat
            data = {}
            for offered in mine[learner]:
                try:
                    data[offered.name] = offered.read()
                except UnreadableNotebookError as trouble:
                    unmatched[offered.name] = str(trouble)
            if len(set(data.values())) > 1:
                doubtful |= dict.fromkeys(data, f"{learner} has {len(data)} different files in "
                                          "this bundle; leave the one that counts and run again")
            elif data:
                name = next(iter(data))
                changed, kept = _put(folder.folder("submitted", learner, assignment), notebook,
                                     data[name], handed_in)
                (taken if changed else unchanged)[learner] = name
                if kept is not None:
                    earlier[learner] = kept
    return Intake(taken, unchanged, earlier, unmatched, doubtful,
                  tuple(line.learner for line in lines
                        if line.learner not in mine and line.learner not in left_out))


@contextmanager
def opened(bundle: str | Path, limits: FileLimits = LIMITS) -> Iterator[list[Offered]]:
    """Open a folder or a zip; links and paths that lead elsewhere are not followed.

    Raises
    ------
    IntakeError
        If the bundle is neither, or holds too many files.
    """
    bundle = Path(bundle)
    if bundle.is_dir():
        paths = sorted(p for p in bundle.rglob("*") if p.is_symlink() or not p.is_dir())
        _not_too_many(len(paths), bundle)
        yield [Offered(path.relative_to(bundle).as_posix(), partial(read_file, path, limits),
                       _not_wanted(path.name)) for path in paths]
        return
    try:
        archive = zipfile.ZipFile(bundle)
    except (OSError, zipfile.BadZipFile) as slip:
        raise IntakeError(f"{bundle} is neither a folder nor a zip file ({slip}).") from None
    with archive:
        entries = [entry for entry in archive.infolist() if not entry.is_dir()]
        _not_too_many(len(entries), bundle)
        yield [Offered(entry.filename, partial(_unpacked, archive, entry, limits),
                       _not_safe(entry) or _not_wanted(entry.filename)) for entry in entries]


def _not_safe(entry: zipfile.ZipInfo) -> str:
    path = PurePosixPath(entry.filename.replace("\\", "/"))
    if path.is_absolute() or ".." in path.parts or ":" in path.parts[0]:
        return "its path leads out of the zip"
    if stat.S_ISLNK(entry.external_attr >> 16):
        return "it is a link, not a file"
    return "it is locked with a password" if entry.flag_bits & 1 else ""


def _not_wanted(name: str) -> str:
    return "" if name.casefold().endswith(".ipynb") else "not a notebook (.ipynb)"


def _unpacked(archive: zipfile.ZipFile, entry: zipfile.ZipInfo, limits: FileLimits) -> bytes:
    """Unpack one file, counting as it comes: the size told in a zip may be a lie."""
    try:
        with archive.open(entry) as file:
            data = file.read(limits.size + 1)
    except (OSError, zipfile.BadZipFile, zlib.error, NotImplementedError, EOFError) as slip:
        raise UnreadableNotebookError(f"it is damaged inside the zip ({slip})") from None
    if len(data) > limits.size:
        raise UnreadableNotebookError(
            f"it is larger than {limits.size / 1e6:,.0f} MB when unpacked")
    if not data.strip():
        raise UnreadableNotebookError("it is empty")
    return data


def _put(place: Path, notebook: str, data: bytes, handed_in: datetime.datetime | None,
         ) -> tuple[bool, Path | None]:
    """Write one submission; return whether it is new, and where an earlier one is kept."""
    path, kept = place / notebook, None
    if path.is_file():
        if path.read_bytes() == data:
            return False, None
        number = 1 + sum(1 for _ in place.glob("earlier-*.txt"))
        # not named .ipynb: nbgrader would take it for a second notebook of the learner's
        kept = place / f"earlier-{number}.txt"
        write_whole(kept, path.read_bytes())
    write_whole(path, data)
    stamp = place / "timestamp.txt"
    if handed_in is not None:
        write_whole(stamp, f"{handed_in:%Y-%m-%d %H:%M:%S.%f} UTC\n".encode())
    else:
        stamp.unlink(missing_ok=True)  # it told of the earlier file
    return True, kept


def _not_too_many(count: int, bundle: Path) -> None:
    if count > MOST_FILES:
        raise IntakeError(f"{bundle} holds {count:,} files; at most {MOST_FILES:,} are read.")
