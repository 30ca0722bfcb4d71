"""Backups of a gradebook: made while it is in use, looked over before they count, put back."""
from __future__ import annotations

import datetime
import hashlib
import os
import shutil
import sqlite3
from collections.abc import Sequence
from contextlib import closing, suppress
from dataclasses import dataclass
from pathlib import Path

import sqlalchemy as sa

from acidbase_lib.classroom.atomic_write import drop_drafts
from acidbase_lib.classroom.folder_lock import one_at_a_time
from acidbase_lib.classroom.gradebook.course_folder import CourseFolder
from acidbase_lib.classroom.gradebook.gradebook_error import GradebookError, gradebook_trouble
from acidbase_lib.classroom.gradebook.nbgrader_adapter.door import COLUMNS
from acidbase_lib.classroom.gradebook.nbgrader_adapter.guard import CHANGES
from acidbase_lib.classroom.gradebook.our_tables import HEADS
from acidbase_lib.classroom.gradebook.read_gradebook import assignments, marks_by_hand
from acidbase_lib.classroom.private import owner_only

from .class_history import marks_by_hand_noted, note_marks
from .erased import erase_again
from .history import BACKED_UP, RESTORED, HistoryError
from .integrity import faults_of, gradebook_file, grading_folder, opened, require_whole
from .log_head import fits
from .receipts import history_of

KEPT = 10  # automatic backups; those that a person asked for stay
_AUTOMATIC, _ASKED_FOR = "automatic", "gradebook"


@dataclass(frozen=True, slots=True)
class Restored:
    """What became of a restore.

    Parameters
    ----------
    backup : Path or None
        What was put back; None where an empty gradebook is begun.
    aside : Path or None
        Where the file that stood there is kept.
    lost_by_hand : tuple of str
        Marks by hand that the history tells of and the backup does not hold, a sentence each.
    """

    backup: Path | None
    aside: Path | None
    lost_by_hand: tuple[str, ...] = ()


def backups_of(folder: CourseFolder) -> tuple[Path, ...]:
    """Return the backups in the course's folder, the newest first."""
    return tuple(sorted((grading_folder(folder) / "backups").glob("*.db"), reverse=True,
                        key=lambda path: (path.stat().st_mtime_ns, path.name)))


def back_up(folder: CourseFolder, to: Path | None = None, *, automatic: bool = False) -> Path:
    """Copy a gradebook while it may be in use; what is kept was looked over and is whole.

    Parameters
    ----------
    folder : CourseFolder
        The course.
    to : Path, optional
        The file to write; by default one in ``grading/backups`` with the time in its name.
    automatic : bool
        One of those of which only the newest are kept.

    Raises
    ------
    GradebookError
        If there is no gradebook, it is damaged, or there is no room; no backup is left then.
    """
    file = _file_of(folder, _DUMP)
    require_whole(folder)
    if not file.is_file():
        raise GradebookError(f"There is no gradebook {file} yet: nothing has been marked.")
    kind = _AUTOMATIC if automatic else _ASKED_FOR
    target = to or _free(grading_folder(folder) / "backups", kind)
    if target.resolve() in {one.resolve() for one in _journals(file)}:
        raise GradebookError(f"{target} is a name by which SQLite keeps what belongs to the "
                             "gradebook: it would be taken away. Choose another name.")
    if target.exists():
        raise GradebookError(f"{target} is there already; choose another name. Nothing was "
                             "written.")
    draft = target.with_name(f".{target.name}.{os.getpid()}.part")
    with owner_only():
        try:
            target.parent.mkdir(parents=True, exist_ok=True)
            _drop_what_a_stop_left(target.parent)
            with opened(file, folder.db_url) as book, closing(sqlite3.connect(draft)) as copy:
                book.backup(copy)
            if found := faults_of(draft):
                raise GradebookError(f"The copy of {file} is not whole: {found[0]} No backup was "
                                     "kept.")
            digest = _synced(draft)
            os.replace(draft, target)
        except sqlite3.DatabaseError as error:
            raise GradebookError(gradebook_trouble(folder.db_url, error)) from error
        except OSError as error:
            raise GradebookError(f"The backup {target} could not be written ({error.strerror}): "
                                 "make room, or name another place. The gradebook itself was not "
                                 "touched.") from error
        finally:
            draft.unlink(missing_ok=True)
        history_of(folder).add(BACKED_UP, {"to": target.name, "sha256": digest})
    if automatic:
        for old in [one for one in backups_of(folder) if one.name.startswith(kind)][KEPT:]:
            old.unlink(missing_ok=True)
    return target


def back_up_once_a_day(folder: CourseFolder) -> Path | None:
    """Back up a gradebook that holds marks, unless it was done today; None where it was not."""
    file = gradebook_file(folder.db_url)
    if file is None or not file.is_file() or not history_of(folder).marks_were_kept():
        return None
    today = f"{datetime.datetime.now():%Y-%m-%d}"
    if any(today in one.name for one in backups_of(folder)):
        return None
    with suppress(HistoryError):  # told by the marking that follows; the backup is there
        return back_up(folder, automatic=True)
    return None


def restore(folder: CourseFolder, backup: Path | None = None) -> Restored:
    """Put a backup in the place of the gradebook, whose file is kept aside.

    Parameters
    ----------
    folder : CourseFolder
        The course.
    backup : Path, optional
        Which; by default the newest that is whole.

    Raises
    ------
    GradebookError
        If there is no backup that is whole. Nothing was changed then.
    """
    file = _file_of(folder, _LOAD)
    if backup is None:
        backup = next((one for one in backups_of(folder) if not faults_of(one)), None)
        if backup is None:
            raise GradebookError(
                f"There is no backup that is whole in {grading_folder(folder) / 'backups'}. Name "
                "one that you keep elsewhere with --from, or go on with an empty gradebook "
                "(--begin-again). Nothing was changed.")
    elif not backup.is_file():
        raise GradebookError(f"There is no backup {backup}. Nothing was changed.")
    elif backup.resolve() == file.resolve():
        raise GradebookError(f"{backup} is the gradebook itself. Name a backup of it.")
    elif found := faults_of(backup):
        raise GradebookError(f"{backup} is no backup that can be used. {found[0]} Nothing was "
                             "changed.")
    _require_ours(folder, backup)
    with owner_only(), one_at_a_time(grading_folder(folder)):
        _drop_what_a_stop_left(file.parent)
        aside = _keep_aside(file)
        data = backup.read_bytes()
        _put(file, data)
        with opened(file) as book:
            last = book.execute(f"SELECT MAX(n) FROM {CHANGES}").fetchone()[0] if book.execute(
                "SELECT 1 FROM sqlite_master WHERE name = ?", (CHANGES,)).fetchone() else 0
        erase_again(folder)
        history = history_of(folder)
        noted = marks_by_hand_noted(folder)
        history.add(RESTORED, {"from": backup.name, "sha256": hashlib.sha256(data).hexdigest(),
                               "aside": aside.name if aside else "", "change": last or 0})
        lost = []
        for unit in assignments(folder):
            there = marks_by_hand(folder, unit)
            lost += [f"{unit}, {learner}, {cell}: {points:g} points"
                     for (name, learner, cell), points in noted.items()
                     if name == unit and there.get(learner, {}).get(cell) != points]
            note_marks(folder, unit, why=f"put back from the backup {backup.name}")
    return Restored(backup, aside, tuple(lost))


def begin_again(folder: CourseFolder) -> Restored:
    """Put a gradebook aside, so that the next `acidbase collect` makes an empty one."""
    file = _file_of(folder, _EMPTY)
    with owner_only(), one_at_a_time(grading_folder(folder)):
        noted = marks_by_hand_noted(folder)
        aside = _keep_aside(file)
        history_of(folder).add(RESTORED, {"begin again": True, "change": 0,
                                          "aside": aside.name if aside else ""})
        for name in (*_journals(file), file):
            name.unlink(missing_ok=True)
    return Restored(None, aside, tuple(f"{unit}, {learner}, {cell}: {points:g} points"
                                       for (unit, learner, cell), points in noted.items()))


def _file_of(folder: CourseFolder, instead: str) -> Path:
    file = gradebook_file(folder.db_url)
    if file is None:
        url = sa.engine.make_url(folder.db_url).set(drivername="postgresql")
        place = url.render_as_string(hide_password=True)
        raise GradebookError("This gradebook is on a database server, and nothing was done to it. "
                             f"{instead.format(place=place)}")
    return file


_DUMP = ("Copy it with the server's own tool, for PostgreSQL: pg_dump --format=custom "
         "--file=gradebook.dump {place} (it asks for the password)")
_LOAD = ("Put back a copy with the server's own tool, for PostgreSQL: pg_restore --clean "
         "--if-exists --dbname={place} gradebook.dump; then run `acidbase collect` without FILES, "
         "which erases again whoever was erased since and notes every mark that changed")
_EMPTY = ("Give the course another, empty database in nbgrader_config.py; the next `acidbase "
          "collect` sets it up and marks all files again")


def _require_ours(folder: CourseFolder, backup: Path) -> None:
    """Refuse a file that is no gradebook, or that of a course with another history."""
    with opened(backup) as book:
        there = {name for (name,) in book.execute("SELECT name FROM sqlite_master")}
        head = book.execute(f"SELECT lines, chain FROM {HEADS.name}").fetchone() \
            if HEADS.name in there else None
    if not set(COLUMNS) <= there:
        raise GradebookError(f"{backup} is no gradebook of nbgrader's. Nothing was changed.")
    lines = list(history_of(folder).readable())
    if head and len(lines) >= head[0] and not fits(head, lines):
        raise GradebookError(f"{backup} is the gradebook of another course: the history here has "
                             "other lines. Nothing was changed.")


def _free(folder: Path, kind: str) -> Path:
    stem = f"{kind}-{datetime.datetime.now():%Y-%m-%d-%H%M%S}"
    path, number = folder / f"{stem}.db", 1
    while path.exists():
        number += 1
        path = folder / f"{stem}-{number}.db"
    return path


def _journals(file: Path) -> Sequence[Path]:
    return [file.with_name(file.name + end) for end in ("-journal", "-wal", "-shm")]


def _keep_aside(file: Path) -> Path | None:
    """Copy what stands there, and what SQLite keeps beside it, to names of their own."""
    if not file.exists():
        return None
    aside = _free(file.parent, f"{file.stem}-put-aside").with_suffix(".kept")
    for name, end in ((file, ""), *((one, one.name[len(file.name):]) for one in _journals(file))):
        if name.exists():
            copy = aside.with_name(aside.name + end)
            shutil.copyfile(name, copy)
            _synced(copy)
    return aside


def _drop_what_a_stop_left(folder: Path) -> None:
    drop_drafts(folder)
    for journal in folder.glob(".*.part-journal"):
        journal.unlink(missing_ok=True)


def _put(file: Path, data: bytes) -> None:
    """Put a backup's bytes in the place of a gradebook; a stop leaves one or the other."""
    draft = file.with_name(f".{file.name}.{os.getpid()}.part")
    try:
        file.parent.mkdir(parents=True, exist_ok=True)
        draft.write_bytes(data)
        _synced(draft)
        for name in _journals(file):  # they belong to the file that goes, and are kept with it:
            name.unlink(missing_ok=True)  # beside the new one SQLite would undo parts of that
        os.replace(draft, file)
    except OSError as error:
        raise GradebookError(f"The backup could not be put back ({error.strerror}): make room and "
                             "run this again. The backup is as it was.") from error
    finally:
        draft.unlink(missing_ok=True)


def _synced(path: Path) -> str:
    with open(path, "rb+") as file:
        os.fsync(file.fileno())
        return hashlib.file_digest(file, "sha256").hexdigest()
