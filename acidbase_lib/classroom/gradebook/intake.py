"""Files from a learning management system put where nbgrader collects them; nothing is guessed."""
from __future__ import annotations

import datetime
import hashlib
import os
from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path

from acidbase_lib.classroom.atomic_write import drop_drafts, write_whole
from acidbase_lib.classroom.folder_lock import one_at_a_time
from acidbase_lib.classroom.notebooks.own_numbers import OwnNumbers, handed_to, numbers_beside
from acidbase_lib.classroom.notebooks.read_notebook import (
    LIMITS,
    FileLimits,
    UnreadableNotebookError,
    parse_notebook,
    read_file,
)
from acidbase_lib.classroom.phrases import printable

from .course_folder import CourseFolder
from .letter_case import told_apart
from .roster import IntakeError, Owners, RosterLine, read_roster
from .zip_bundle import Offered, opened

MOST_OF_ONE = 20  # files of one learner in one bundle that are opened


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
    debris : tuple of str
        What an operating system or Jupyter left in it (``__MACOSX``, ``.ipynb_checkpoints``), which
        nobody handed in.
    """

    taken: Mapping[str, str]
    unchanged: Mapping[str, str]
    earlier: Mapping[str, Path]
    unmatched: Mapping[str, str]
    doubtful: Mapping[str, str]
    absent: tuple[str, ...]
    debris: tuple[str, ...] = ()


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
        If the bundle or the roster cannot be read, or the course's disk takes two ids for one.
    """
    folder = CourseFolder.find(course)
    notebook = folder.source_notebook(assignment).name
    lines = read_roster(roster) if isinstance(roster, str | Path) else tuple(roster)
    if why := told_apart([line.learner for line in lines], [folder.root]):
        raise IntakeError(why)
    taken: dict[str, str] = {}
    unchanged: dict[str, str] = {}
    earlier: dict[str, Path] = {}
    mine: dict[str, list[Offered]] = {}
    unmatched: dict[str, str] = {}
    doubtful: dict[str, str] = {}
    owners = Owners(lines, assignment)
    beside, known = numbers_beside(folder.source_notebook(assignment).parent), {
        line.learner for line in lines}
    numbers = None if beside is None else OwnNumbers(beside)
    debris: list[str] = []
    with one_at_a_time(folder.lock_folder), opened(bundle, limits) as files:
        for offered in files:
            if offered.debris:
                debris.append(offered.name)
                continue
            learner, why = owners.of(offered.name)
            if learner is None and numbers is not None:
                learner = _by_its_numbers(offered, numbers, known)
                why = why if learner is None else ""
            if offered.why_not or why:
                list_ = doubtful if why.startswith("it may be") and not offered.why_not \
                    else unmatched
                list_[offered.name] = offered.why_not or why
            elif learner is not None and learner not in left_out:
                mine.setdefault(learner, []).append(offered)
        for learner in sorted(mine):  # one file at a time: memory stays flat
            name, data, several = _one_of(learner, mine[learner], unmatched)
            doubtful |= several
            if name is not None:
                changed, kept = _put(folder.folder("submitted", learner, assignment), notebook,
                                     data, handed_in)
                (taken if changed else unchanged)[learner] = name
                if kept is not None:
                    earlier[learner] = kept
    return Intake(taken, unchanged, earlier, unmatched, doubtful,
                  tuple(line.learner for line in lines
                        if line.learner not in mine and line.learner not in left_out),
                  tuple(debris))


def _by_its_numbers(offered: Offered, numbers: OwnNumbers, known: Collection[str]) -> str | None:
    """Whose a file is where its name tells nobody: who was given the questions in it, all one's."""
    if offered.why_not:
        return None
    try:
        notebook = parse_notebook(offered.read())
    except UnreadableNotebookError:
        return None
    whose = numbers.whose(notebook)
    named = handed_to(notebook)
    one = next(iter(whose)) if len(whose) == 1 else None
    return one if one in known and named in {None, one} else None


def _one_of(learner: str, mine: Sequence[Offered], unmatched: dict[str, str],
            ) -> tuple[str | None, bytes, dict[str, str]]:
    """Choose a learner's file: the only one, or one of several that are alike to the byte.

    Of different files none is chosen, whatever their names and dates say. One file at a time is in
    memory.

    Returns
    -------
    name : str or None
        The file; None where none is chosen.
    data : bytes
        What it holds.
    doubtful : dict of str to str
        The files among which somebody must choose, and why.
    """
    name, data, digests = None, b"", {}
    for offered in mine[:MOST_OF_ONE]:
        try:
            read = offered.read()
        except UnreadableNotebookError as error:
            unmatched[offered.name] = printable(str(error))
            continue
        digests[offered.name] = hashlib.sha256(read).digest()
        if name is None:
            name, data = offered.name, read
    untold = [offered.name for offered in mine[MOST_OF_ONE:]]
    if len(set(digests.values())) > 1 or untold:
        files = [*digests, *untold]
        count = f"{len(files)} files" if untold else f"{len(files)} different files"
        return None, b"", dict.fromkeys(files, f"{learner} has {count} in this bundle; leave the "
                                        "one that counts and run again")
    return name, data, {}


def _put(place: Path, notebook: str, data: bytes, handed_in: datetime.datetime | None,
         ) -> tuple[bool, Path | None]:
    """Write one submission; return whether it is new, and where an earlier one is kept."""
    path, kept, stamp = place / notebook, None, place / "timestamp.txt"
    time = None if handed_in is None else f"{handed_in:%Y-%m-%d %H:%M:%S.%f} UTC\n".encode()
    drop_drafts(place)  # of a run that was stopped
    there = _there(path)
    if there == data:
        if time is not None and not os.path.lexists(stamp):
            write_whole(stamp, time)  # a run was stopped before it
        return False, None
    number = 1 + sum(1 for _ in place.glob("earlier-*.txt"))
    last, following = place / f"earlier-{number - 1}.txt", place / f"earlier-{number}.txt"
    # not named .ipynb: nbgrader would take it for a second notebook of the learner's
    if there is not None:
        kept = last if _there(last) == there else following
        if kept != last:
            write_whole(kept, there)
    elif path.is_file() and not path.is_symlink() and path.stat().st_size:
        kept = path.rename(following)  # too large to be read
    stamp.unlink(missing_ok=True)  # it told of the earlier file
    write_whole(path, data)
    if time is not None:
        write_whole(stamp, time)
    return True, kept


def _there(path: Path) -> bytes | None:
    """What a file of an earlier run holds; None where there is none that can be read."""
    try:
        return read_file(path)
    except UnreadableNotebookError:
        return None
