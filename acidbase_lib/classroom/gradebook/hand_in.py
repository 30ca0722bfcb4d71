"""One hand-in on its way: put into its folder, read from it, marked, and ready to be written."""
from __future__ import annotations

import datetime
import hashlib
import json
import os
from collections.abc import Mapping
from contextlib import suppress
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

from acidbase_lib.classroom.atomic_write import drop_drafts, write_whole
from acidbase_lib.classroom.gradebook.nbgrader_adapter.door import parse_time
from acidbase_lib.classroom.marking.reading_lane import MarkedNotebook, mark_notebook
from acidbase_lib.classroom.marking.sandbox import SandboxError
from acidbase_lib.classroom.notebooks.assignment import AssignmentSource, SourceError
from acidbase_lib.classroom.notebooks.own_numbers import OwnNumbers, OwnSheet, not_theirs
from acidbase_lib.classroom.notebooks.read_notebook import (
    FileLimits,
    UnreadableNotebookError,
    parse_notebook,
    read_file,
)
from acidbase_lib.classroom.notebooks.repair import Repair
from acidbase_lib.classroom.phrases import printable

from .course_folder import CourseFolder

SECRET = "submission_secret.txt"  # nbgrader's exchange gives feedback back by it
LONGEST_SIDE_FILE = 200  # what nbgrader writes beside a notebook is one line [bytes]
LONGEST_OUTPUT = 10_000_000  # of a marked notebook; an honest one has 100,000 [characters]
LONGEST_ID = 128  # of a learner in nbgrader's gradebook [characters]


@dataclass(frozen=True, slots=True)
class HandedIn:
    """One submission as it goes to a marker: bytes, or why there are none."""

    learner: str
    data: bytes = b""
    why_not: str = ""
    renamed: str = ""
    when: datetime.datetime | None = None
    own: OwnSheet | None = None


@dataclass(frozen=True, slots=True)
class Done:
    """One submission as it comes back: its notebook as text, ready to be written."""

    marked: MarkedNotebook
    text: str = ""
    file: str = ""


def can_be_kept(learner: str) -> bool:
    """True for a name that a gradebook can hold: text, on one line, of some length."""
    return printable(learner) == learner and "\n" not in learner and len(learner) <= LONGEST_ID


def leads_elsewhere(folder: CourseFolder, step: str, place: Path) -> bool:
    """True where a learner's folder is a link, or lies in one; a step's own folder may be."""
    top = folder.root / folder.steps[step]
    return os.path.realpath(place) != os.path.join(os.path.realpath(top),
                                                   os.path.relpath(place, top))


def put_in_place(folder: CourseFolder, unit: str, learner: str, data: bytes) -> Path | None:
    """Put a file where nbgrader collects this learner's; return where an earlier one is kept."""
    return put(folder.folder("submitted", learner, unit), folder.source_notebook(unit).name, data,
               None)[1]


def take_away(folder: CourseFolder, unit: str, learner: str) -> None:
    """Take a file that is kept elsewhere from where nbgrader collects this learner's."""
    for step in ("submitted", "autograded"):
        place = folder.folder(step, learner, unit)
        for name in (folder.source_notebook(unit).name, "timestamp.txt", SECRET):
            (place / name).unlink(missing_ok=True)
        with suppress(OSError):  # not empty: an earlier file is kept in it
            place.rmdir()


def in_place(folder: CourseFolder, unit: str, learner: str) -> str:
    """Return the SHA-256 of the file that counts for a learner; "" where there is none."""
    data = _there(folder.folder("submitted", learner, unit) / folder.source_notebook(unit).name)
    return "" if data is None else hashlib.sha256(data).hexdigest()


def kept_copy(folder: CourseFolder, unit: str, learner: str, digest: str) -> bytes | None:
    """Return a learner's file, or an earlier one of theirs, by what it holds."""
    place = folder.folder("submitted", learner, unit)
    for path in (place / folder.source_notebook(unit).name, *sorted(place.glob("earlier-*.txt"))):
        data = _there(path)
        if data is not None and hashlib.sha256(data).hexdigest() == digest:
            return data
    return None


def put(place: Path, notebook: str, data: bytes, handed_in: datetime.datetime | None,
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


def read_hand_in(folder: CourseFolder, learner: str, source: AssignmentSource,
                 limits: FileLimits, numbers: OwnNumbers | None = None) -> HandedIn:
    """Read one learner's file; a renamed one is taken where it is the only one."""
    task = _read(folder, learner, source, limits)
    if numbers is None or task.why_not:
        return task
    own = numbers.sheet(learner)
    if own is None:
        return replace(task, why_not=whose_numbers(task, limits, numbers))
    return replace(task, own=own)


def whose_numbers(task: HandedIn, limits: FileLimits, numbers: OwnNumbers) -> str:
    """Say whose numbers a file holds where they are not its owner's; "" where they are."""
    try:
        return not_theirs(parse_notebook(task.data, limits), task.learner, numbers)
    except UnreadableNotebookError as error:
        return str(error)


def _read(folder: CourseFolder, learner: str, source: AssignmentSource,
          limits: FileLimits) -> HandedIn:
    place = folder.folder("submitted", learner, source.name)
    when = handed_in_at(place)
    if leads_elsewhere(folder, "submitted", place):
        return HandedIn(learner, why_not=f"The folder {place.name} of {learner} is a link to "
                        "another place. Links are not followed: put the file itself there.")
    path, renamed = place / f"{source.notebook}.ipynb", ""
    if not os.path.lexists(path):
        others = sorted(p for p in place.glob("*.ipynb") if not p.name.startswith("._"))
        if len(others) != 1:
            many = (f"{len(others)} notebooks ({', '.join(p.name for p in others[:4])}) but none"
                    if others else "no notebook")
            return HandedIn(learner, when=when, why_not=f"There is {many} called {path.name} in "
                            f"{place}. Put the learner's file there under that name.")
        path, renamed = others[0], others[0].name
    try:
        return HandedIn(learner, read_file(path, limits), renamed=renamed, when=when)
    except UnreadableNotebookError as error:
        return HandedIn(learner, why_not=str(error), when=when)


def handed_in_at(place: Path) -> datetime.datetime | None:
    """The time that nbgrader's exchange wrote beside the file, in UTC; None where it is none."""
    text = small_file(place / "timestamp.txt").decode("utf-8", "replace").strip()
    if not text:
        return None
    try:
        when = parse_time(text)
    except Exception:  # the parser is not ours, and the text may be anybody's
        return None
    return when if isinstance(when, datetime.datetime) else None


def small_file(path: Path) -> bytes:
    """What a small, regular file holds; nothing for a link, a pipe, a device or a long one."""
    try:
        return read_file(path, FileLimits(size=LONGEST_SIDE_FILE))
    except UnreadableNotebookError:
        return b""


def mark_one(source: AssignmentSource, task: HandedIn, limits: FileLimits,
             fence: Mapping[str, Any]) -> Done:
    """Mark one submission in this process; one odd file is told and stops nobody else's."""
    if task.why_not:
        return not_marked(source, task, task.why_not)
    try:
        if source.holds_code:
            from acidbase_lib.classroom.marking.running_lane import run_notebook

            marked = run_notebook(task.data, source, limits, fence)
        else:
            marked = mark_notebook(task.data, source, limits, task.own)
    except (SandboxError, SourceError):
        raise
    except Exception as error:
        return not_marked(source, task, f"The marker stopped with {type(error).__name__} on this "
                          "file. Please mark it by hand and report the fault.")
    marked = replace(marked, why=printable(marked.why), repairs=tuple(
        replace(one, cell=printable(one.cell), sentence=printable(one.sentence))
        for one in marked.repairs))
    if marked.notebook is None:
        return Done(marked, "", _digest(task))
    if task.renamed:
        renamed = Repair("renamed", "", f"The file was called {printable(task.renamed)[:80]!r}; it "
                         f"was read as {source.notebook}.ipynb.")
        marked = replace(marked, repairs=(renamed, *marked.repairs), state="marked after repair")
        assert marked.notebook is not None
        note = marked.notebook["metadata"]["acidbase"]
        note["state"] = marked.state
        note["repairs"].insert(0, [renamed.kind, renamed.cell, renamed.sentence])
    text = json.dumps(marked.notebook, ensure_ascii=False) + "\n"  # indenting doubles the time
    if len(text) > LONGEST_OUTPUT:
        return not_marked(source, task, f"The marked notebook would have {len(text):,} characters; "
                          f"at most {LONGEST_OUTPUT:,} are written. Please mark it by hand.")
    return Done(replace(marked, notebook=None), text, _digest(task))


def not_marked(source: AssignmentSource, task: HandedIn, why: str) -> Done:
    """Return a submission without a mark, and why."""
    return Done(MarkedNotebook("not marked", printable(why), maximum=source.maximum), "",
                "" if task.why_not else _digest(task))


def _digest(task: HandedIn) -> str:
    return hashlib.sha256(task.data).hexdigest()
