"""A whole class marked: each submission on its own, stored as it is done, safe to run again."""
from __future__ import annotations

import datetime
import hashlib
import json
import os
import time
from collections import deque
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from concurrent.futures import Executor, Future
from dataclasses import dataclass, replace
from itertools import islice
from pathlib import Path
from typing import Any

from acidbase_lib.classroom.atomic_write import drop_drafts, write_whole
from acidbase_lib.classroom.marking.check_cells import marker_for
from acidbase_lib.classroom.marking.reading_lane import MarkedNotebook, State, mark_notebook
from acidbase_lib.classroom.marking.sandbox import SandboxError
from acidbase_lib.classroom.notebooks.assignment import AssignmentSource, SourceError
from acidbase_lib.classroom.notebooks.read_notebook import (
    LIMITS,
    FileLimits,
    UnreadableNotebookError,
    read_file,
)
from acidbase_lib.classroom.notebooks.repair import Repair
from acidbase_lib.teaching.questions.exercise import Mark

from .course_folder import CourseFolder
from .nbgrader_adapter.door import parse_time
from .safekeeping.class_history import HandIn, noted
from .safekeeping.erased import erased_from
from .safekeeping.private_course import keeping_private

__all__ = ["ClassMarks", "LearnerMarks", "MarkedNotebook", "SourceError", "mark_class",
           "mark_notebook"]

CHUNK = 25  # submissions in one transaction: a stop loses at most this much work


@dataclass(frozen=True, slots=True)
class LearnerMarks:
    """What one learner's submission came to."""

    learner: str
    state: State
    why: str
    repairs: tuple[Repair, ...]
    marks: tuple[Mark, ...]
    score: float | None
    maximum: float
    waiting: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class ClassMarks:
    """What came of marking a class.

    Parameters
    ----------
    assignment : str
        What was marked.
    learners : tuple of LearnerMarks
        In order of their ids.
    maximum : float
        The most that can be earned.
    notes : tuple of str
        What the instructor should know about the assignment itself.
    seconds : float
        How long it took.
    """

    assignment: str
    learners: tuple[LearnerMarks, ...]
    maximum: float
    notes: tuple[str, ...] = ()
    seconds: float = 0.0

    def in_state(self, state: State) -> tuple[LearnerMarks, ...]:
        """Return the learners whose submissions are in a state."""
        return tuple(one for one in self.learners if one.state == state)


Progress = Callable[[int, int, LearnerMarks], None]


SECRET = "submission_secret.txt"  # nbgrader's exchange gives feedback back by it


@dataclass(frozen=True, slots=True)
class _HandedIn:
    """One submission as it goes to a marker: bytes, or why there are none."""

    learner: str
    data: bytes = b""
    why_not: str = ""
    renamed: str = ""
    when: datetime.datetime | None = None


@dataclass(frozen=True, slots=True)
class _Done:
    """One submission as it comes back: its notebook as text, ready to be written."""

    marked: MarkedNotebook
    text: str
    file: str


def mark_class(course: str | Path | CourseFolder, assignment: str,
               executor: Executor | None = None, progress: Progress | None = None, *,
               limits: FileLimits = LIMITS, keep_marks: bool = True) -> ClassMarks:
    """Mark everything that was handed in for an assignment, and keep the marks.

    Running it again marks again and changes nothing where nothing changed; marks that a person
    gave are never touched.

    Parameters
    ----------
    course : path or CourseFolder
        The course's folder.
    assignment : str
        Such as "02_primary_disorder".
    executor : Executor, optional
        Where the marking is done, such as a ProcessPoolExecutor; in this process by default.
        Reading files and writing the gradebook stay in this process.
    progress : callable, optional
        Called after each learner with how many are done, of how many, and the learner's marks.
    limits : FileLimits
        What a file may be at most.
    keep_marks : bool
        False leaves the single marks out of what is returned, for very large classes; they are
        in the gradebook, see ``gradebook.read_marks``.

    Returns
    -------
    ClassMarks

    Raises
    ------
    CourseFolderError, SourceError, GradebookError
        If the course, the instructor's notebook or the gradebook cannot be used.
    """
    from .write_gradebook import ClassGradebook, Result

    began = time.perf_counter()
    folder = CourseFolder.find(course)
    source = AssignmentSource.from_file(folder.source_notebook(assignment), assignment)
    with keeping_private(folder), ClassGradebook(folder, source) as book:
        fence = _fence_of(folder)
        if book.source.holds_code:
            from acidbase_lib.classroom.marking.running_lane import ready_to_run

            ready_to_run(book.source, fence)
        else:
            marker_for(book.source)  # what cannot be marked with says so before any learner
        erased = erased_from(folder)
        names = tuple(name for name in folder.learners(assignment) if name not in erased)
        rows: list[LearnerMarks] = []
        files: list[HandIn] = []
        handed_in = (_read(folder, name, source, limits) for name in names)
        for tasks, done in _marked(book.source, handed_in, limits, fence, executor):
            for task, one in zip(tasks, done, strict=True):
                _write(folder, source, task, one)
            book.store([Result(task.learner, one.marked, one.file, task.when)
                        for task, one in zip(tasks, done, strict=True)])
            files += [HandIn(task.learner, one.file, "found in the course's folder",
                             f"{task.when:%Y-%m-%dT%H:%M:%SZ}" if task.when else "")
                      for task, one in zip(tasks, done, strict=True)]
            for task, one in zip(tasks, done, strict=True):
                row = _row(task.learner, one.marked)
                rows.append(row if keep_marks else replace(row, marks=()))
                if progress is not None:
                    progress(len(rows), len(names), row)
        notes = book.notes + noted(folder, assignment, files)
        return ClassMarks(assignment, tuple(rows), source.maximum, notes,
                          time.perf_counter() - began)


def _fence_of(folder: CourseFolder) -> dict[str, Any]:
    """The course's own settings of the fence around learners' code."""
    told = {str(k): v for k, v in dict(folder.config.get("SandboxProvisioner", {})).items()}
    return {"hidden": [str(folder.root)]} | told


def _read(folder: CourseFolder, learner: str, source: AssignmentSource,
          limits: FileLimits) -> _HandedIn:
    """Read one learner's file; a renamed one is taken where it is the only one."""
    place = folder.folder("submitted", learner, source.name)
    when = _handed_in_at(place)
    top = folder.root / folder.steps["submitted"]
    if os.path.realpath(place) != os.path.join(os.path.realpath(top),
                                               os.path.relpath(place, top)):
        return _HandedIn(learner, why_not=f"The folder {place.name} of {learner} is a link to "
                         "another place. Links are not followed: put the file itself there.")
    path, renamed = place / f"{source.notebook}.ipynb", ""
    if not os.path.lexists(path):
        others = sorted(p for p in place.glob("*.ipynb"))
        if len(others) != 1:
            told = (f"{len(others)} notebooks ({', '.join(p.name for p in others[:4])}) but none"
                    if others else "no notebook")
            return _HandedIn(learner, when=when, why_not=f"There is {told} called {path.name} in "
                             f"{place}. Put the learner's file there under that name.")
        path, renamed = others[0], others[0].name
    try:
        return _HandedIn(learner, read_file(path, limits), renamed=renamed, when=when)
    except UnreadableNotebookError as trouble:
        return _HandedIn(learner, why_not=str(trouble), when=when)


def _handed_in_at(place: Path) -> datetime.datetime | None:
    """The time that nbgrader's exchange wrote beside the file, in UTC."""
    try:
        text = (place / "timestamp.txt").read_text(encoding="utf-8")[:80].strip()
        return parse_time(text) if text else None
    except (OSError, ValueError, OverflowError):
        return None


def _marked(source: AssignmentSource, handed_in: Iterable[_HandedIn], limits: FileLimits,
            fence: Mapping[str, Any], executor: Executor | None,
            ) -> Iterator[tuple[Sequence[_HandedIn], Sequence[_Done]]]:
    """Mark chunk by chunk, here or elsewhere; a few chunks are under way at a time."""
    stream = iter(handed_in)
    chunks = iter(lambda: list(islice(stream, CHUNK)), [])
    if executor is None:
        for tasks in chunks:
            yield tasks, mark_chunk(source, tasks, limits, fence)
        return
    ahead = 2 * (getattr(executor, "_max_workers", None) or 8)  # a cluster does not say
    under_way: deque[tuple[list[_HandedIn], Future[list[_Done]]]] = deque()
    for tasks in chunks:
        under_way.append((tasks, executor.submit(mark_chunk, source, tasks, limits, fence)))
        if len(under_way) > ahead:
            sent, future = under_way.popleft()
            yield sent, future.result()
    while under_way:
        sent, future = under_way.popleft()
        yield sent, future.result()


def mark_chunk(source: AssignmentSource, tasks: Sequence[_HandedIn],
               limits: FileLimits, fence: Mapping[str, Any]) -> list[_Done]:
    """Mark some submissions in whichever process this is; needs no file and no gradebook."""
    return [_mark_one(source, task, limits, fence) for task in tasks]


def _mark_one(source: AssignmentSource, task: _HandedIn, limits: FileLimits,
              fence: Mapping[str, Any]) -> _Done:
    if task.why_not:
        return _Done(MarkedNotebook("not marked", task.why_not, maximum=source.maximum), "", "")
    try:
        if source.holds_code:
            from acidbase_lib.classroom.marking.running_lane import run_notebook

            marked = run_notebook(task.data, source, limits, fence)
        else:
            marked = mark_notebook(task.data, source, limits)
    except (SandboxError, SourceError):
        raise
    except Exception as slip:  # one odd file must not stop the class
        marked = MarkedNotebook("not marked", f"The marker stopped with {type(slip).__name__} on "
                                "this file. Please mark it by hand and report the fault.",
                                maximum=source.maximum)
    if marked.notebook is None:
        text = ""
    else:
        if task.renamed:
            told = Repair("renamed", "", f"The file was called {task.renamed[:80]!r}; it was read "
                          f"as {source.notebook}.ipynb.")
            marked = replace(marked, repairs=(told, *marked.repairs), state="marked after repair")
            assert marked.notebook is not None
            note = marked.notebook["metadata"]["acidbase"]
            note["state"] = marked.state
            note["repairs"].insert(0, [told.kind, told.cell, told.sentence])
        text = json.dumps(marked.notebook, ensure_ascii=False) + "\n"  # indenting doubles the time
    return _Done(replace(marked, notebook=None), text, hashlib.sha256(task.data).hexdigest())


def _write(folder: CourseFolder, source: AssignmentSource, task: _HandedIn, one: _Done) -> None:
    """Put the marked notebook where nbgrader looks for it; take away one that no longer holds."""
    place = folder.folder("autograded", task.learner, source.name)
    path = place / f"{source.notebook}.ipynb"
    if not one.text:
        path.unlink(missing_ok=True)
        return
    write_whole(path, one.text.encode())
    drop_drafts(path)  # of a run that was stopped: they hold the key
    if task.when is not None:
        write_whole(place / "timestamp.txt", f"{task.when:%Y-%m-%d %H:%M:%S.%f} UTC\n".encode())
    secret = folder.folder("submitted", task.learner, source.name) / SECRET
    if secret.is_file() and not secret.is_symlink():
        write_whole(place / SECRET, secret.read_bytes()[:200])


def _row(learner: str, marked: MarkedNotebook) -> LearnerMarks:
    return LearnerMarks(learner, marked.state, marked.why, marked.repairs, marked.marks,
                        marked.score, marked.maximum, marked.waiting)
