"""Copy the course to a folder of your own and open its home page.

Your work is never lost. Where the course holds a newer version of a unit you
have worked in, your answers are carried into it, and your own file stays
beside it under a name with the day's date. What could not be carried is said.
On a shared machine nobody else can read your folder.
"""
from __future__ import annotations

import argparse
import hashlib
import json
import os
import shlex
import subprocess
from collections.abc import Iterable, Iterator, Mapping
from contextlib import AbstractContextManager, nullcontext
from dataclasses import dataclass
from datetime import date
from pathlib import Path

from acidbase_lib.classroom.atomic_write import copy_whole, drop_drafts, heal, write_whole
from acidbase_lib.classroom.errors import CommandError
from acidbase_lib.classroom.folder_lock import one_at_a_time
from acidbase_lib.classroom.notebooks.read_notebook import UnreadableNotebookError, read_file
from acidbase_lib.classroom.private import owner_only, tighten
from acidbase_lib.classroom.released_course import course_folder, unit_ids_of
from acidbase_lib.reading.settings_in_force import in_force

from .home_notebook import HOME, opening_command, put_home
from .school.own_text import every_lesson, with_lessons

RECORD = ".acidbase-copied.json"  # what was copied here, by its digest, to know what is yours
DEFAULT_FOLDER = "acidbase-course"


@dataclass(frozen=True, slots=True)
class Copied:
    """What became of one file of the course."""

    path: Path
    fate: str
    notes: tuple[str, ...] = ()


def copy_course(course: Path, target: Path, chosen: str | None = None) -> tuple[Copied, ...]:
    """Copy the course's units, keeping whatever a learner has changed.

    Parameters
    ----------
    course, target : Path
        From where, and to where.
    chosen : str, optional
        One unit alone.

    Returns
    -------
    tuple of Copied
        Each file and its fate: "copied", "kept", "updated" (not touched since it was copied),
        "updated, your answers carried over", or "newer version put beside yours" (where yours
        is no notebook of this unit).
    """
    if target.exists() and not target.is_dir():
        raise CommandError(f"{target} is a file, not a folder; choose another with --to")
    if target.resolve() == course.resolve():
        raise CommandError(f"{target} is the kit's own course; choose another folder with --to")
    copied = []
    with owner_only(), one_at_a_time(target):
        target.mkdir(parents=True, exist_ok=True)
        heal(target / RECORD)
        _close(target, unit_ids_of(course))
        record = _record(target)
        for unit in [chosen] if chosen else unit_ids_of(course):
            drop_drafts(target / unit)  # of a run that was stopped
            for source in _files(course / unit):
                copied.append(_copy(source, target / source.relative_to(course), record,
                                    source.relative_to(course).as_posix()))
        _write_record(target, record)
    return tuple(copied)


def _close(target: Path, units: Iterable[str]) -> None:
    """Take the rights of others from what an earlier run left open; a home folder's stay."""
    ours = [target / RECORD]
    if ours[0].is_file() and target.resolve() != Path.home().resolve():
        tighten([target], within=False)
    tighten([*ours, target / HOME, *(target / unit for unit in units)])


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Declare the command's arguments."""
    parser.add_argument("unit", nargs="?", metavar="UNIT",
                        help="a unit, such as 02_primary_disorder (or just 02)")
    parser.add_argument("--to", metavar="DIR", type=Path, default=Path(DEFAULT_FOLDER),
                        help=f"the folder to study in (default: ./{DEFAULT_FOLDER})")
    parser.add_argument("--settings", type=Path, metavar="FILE",
                        help="your school's ranges and oxygen targets, a TOML file")
    parser.add_argument("--no-open", action="store_true", help="copy only; open nothing")


def run(given: argparse.Namespace) -> int:
    """Copy, say what was done, and open."""
    course = course_folder()
    school = getattr(given, "school", None)
    own = school is not None and given.unit in school.files
    chosen = given.unit if own else _unit(course, given.unit) if given.unit else None
    lessons = every_lesson(school)  # first: while a file has a fault, nothing is copied
    if school is not None and school.files and (own or chosen is None):
        from .school.own_lessons import own_course

        with own_course(school) as ours:
            copied = () if own else _copied(course, given.to, chosen, lessons)
            with with_lessons(ours, lessons) as theirs:
                copied += copy_course(theirs, given.to, chosen)
    else:
        copied = _copied(course, given.to, chosen, lessons)
    for fate in dict.fromkeys(c.fate for c in copied):
        group = [c.path for c in copied if c.fate == fate]
        names = ", ".join(p.name for p in group if p.suffix == ".ipynb") or f"{len(group)} files"
        print(f"{fate}: {names}")
        for note in (note for one in copied if one.fate == fate for note in one.notes):
            print(f"  {note}")
    with owner_only():
        home = put_home(given.to)
    if home is None:
        print(f"{given.to / HOME} is a file of your own and was left alone; "
              "the units stand beside it")
    start = given.to / chosen / f"{chosen}.ipynb" if chosen else home or given.to
    if given.no_open:
        words = [str(start)]
        quoted = subprocess.list2cmdline(words) if os.name == "nt" else shlex.join(words)
        print(f"Open it with: jupyter notebook {quoted}")
        return 0
    command, environment = opening_command(start, given.to)
    print(f"Opening {start} in your browser. Close it with Ctrl-C here.", flush=True)
    with owner_only():  # and whatever it saves
        return subprocess.run(command, env=environment, check=False).returncode


def _copied(course: Path, target: Path, chosen: str | None,
            lessons: Mapping[str, str]) -> tuple[Copied, ...]:
    """Copy the kit's own units, by the school's settings and with its own text."""
    with _course_here(course) as theirs, with_lessons(theirs, lessons) as whole:
        return copy_course(whole, target, chosen)


def _course_here(course: Path) -> AbstractContextManager[Path]:
    """The course as the school's settings have it; the kit's own costs no notebook tools."""
    if not in_force().for_notebook():
        return nullcontext(course)
    from acidbase_lib.classroom.notebooks.by_school import course_by

    return course_by(in_force(), course)


def _unit(course: Path, asked: str) -> str:
    known = unit_ids_of(course)
    fitting = [u for u in known if u == asked or u.split("_")[0] == asked.zfill(2)]
    if len(fitting) != 1:
        raise CommandError(f"there is no unit {asked[:60]!r}; the units are {', '.join(known)}")
    return fitting[0]


def _files(unit: Path) -> Iterator[Path]:
    for path in sorted(unit.rglob("*")):
        parts = path.relative_to(unit).parts
        if path.is_file() and not any(p.startswith((".", "__")) for p in parts):
            yield path


def _copy(source: Path, target: Path, record: dict[str, str], name: str) -> Copied:
    new = _digest(source)
    if target.exists() and not target.is_file():  # a pipe or a device would be read for ever
        raise CommandError(f"{target} is no file; move it away, or choose another folder with --to")
    if not target.exists():
        copy_whole(source, target)
        record[name] = new
        return Copied(target, "copied")
    if _is_cut_off(target, source):
        copy_whole(source, target)  # an older kit was stopped while it copied
        record[name] = new
        return Copied(target, "copied")
    mine = _digest(target)
    # the record is a file among the learner's: it may be another's, or wrong, and proves nothing
    if mine == new or (record.get(name) == new and not _asks_otherwise(source, target)):
        record[name] = new
        return Copied(target, "kept")
    if record.get(name) == mine and _holds_no_work(source, target):
        copy_whole(source, target)
        record[name] = new
        return Copied(target, "updated")
    if target.suffix == ".ipynb" and (done := _carried(source, target)) is not None:
        record[name] = new
        return done
    if record.get(name) == mine:  # so it says: what stood there is kept all the same
        kept = _dated(target, old := target.read_bytes())
        write_whole(kept, old)
        copy_whole(source, target)
        record[name] = new
        return Copied(target, "updated", (f"{target.name}: the earlier file is {kept.name}.",))
    beside = _free_name(target, new)
    if not beside.exists():
        copy_whole(source, beside)
    record[name] = new
    return Copied(beside, "newer version put beside yours")


def _holds_no_work(source: Path, target: Path) -> bool:
    """True for a unit in which nothing is answered and nothing was added."""
    from acidbase_lib.classroom.notebooks.carry_answers import carry_over

    if target.suffix != ".ipynb":
        return False
    carried = carry_over(target.read_bytes(), source.read_bytes())
    return carried is not None and not (carried.carried or carried.left or carried.added)


def _asks_otherwise(source: Path, target: Path) -> bool:
    """True for a copy of a unit that is of another version than the course's own."""
    from acidbase_lib.classroom.notebooks.carry_answers import is_of_another_version

    return target.suffix == ".ipynb" and is_of_another_version(target.read_bytes(),
                                                               source.read_bytes())


def _is_cut_off(target: Path, source: Path) -> bool:
    """True where a file is the beginning of the course's own and no more."""
    size = target.stat().st_size
    return size < source.stat().st_size and source.read_bytes().startswith(target.read_bytes())


def _carried(source: Path, target: Path) -> Copied | None:
    """Bring a unit up to date with the learner's answers in it; the old file stays beside."""
    from acidbase_lib.classroom.notebooks.carry_answers import carry_over

    mine = target.read_bytes()
    carried = carry_over(mine, source.read_bytes())
    if carried is None:
        return None
    if carried.data == mine:
        return Copied(target, "kept")  # a run was stopped after it, before its record
    kept = _dated(target, mine)
    write_whole(kept, mine)  # before anything else: a stop here loses nothing
    write_whole(target, carried.data)
    answers = len(carried.carried)
    notes = (f"{target.name}: {answers} {'answer' if answers == 1 else 'answers'} carried over. "
             f"Your earlier file is {kept.name}.",
             *(f"{target.name}: {left} Your answer is in {kept.name}." for left in carried.left))
    return Copied(target, "updated, your answers carried over", notes)


def _dated(target: Path, data: bytes) -> Path:
    """`unit (before 2026-03-01).ipynb`, then `... 2)`: the first that is free or the same."""
    number, day = 1, date.today().isoformat()
    while True:
        word = day if number == 1 else f"{day} {number}"
        kept = target.with_name(f"{target.stem} (before {word}){target.suffix}")
        if not kept.exists() or kept.read_bytes() == data:
            return kept
        number += 1


def _free_name(target: Path, digest: str) -> Path:
    """`unit (newer).ipynb`, `unit (newer 2).ipynb`, ...: the first that is free or the same."""
    number = 1
    while True:
        word = "newer" if number == 1 else f"newer {number}"
        beside = target.with_name(f"{target.stem} ({word}){target.suffix}")
        if not beside.exists() or _digest(beside) == digest:
            return beside
        number += 1


def _digest(path: Path) -> str:
    return hashlib.sha256(path.read_bytes()).hexdigest()


def _record(target: Path) -> dict[str, str]:
    try:
        found = json.loads(read_file(target / RECORD))
    except (UnreadableNotebookError, ValueError, RecursionError):
        return {}
    return {k: v for k, v in found.items() if isinstance(v, str)} if isinstance(found, dict) else {}


def _write_record(target: Path, record: dict[str, str]) -> None:
    write_whole(target / RECORD, json.dumps(record, indent=1, sort_keys=True))
