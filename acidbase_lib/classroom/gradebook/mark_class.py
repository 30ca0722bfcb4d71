"""A whole class marked: each submission on its own, stored as it is done, safe to run again."""
from __future__ import annotations

import time
from collections import deque
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from concurrent.futures import Executor, Future
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

from acidbase_lib.classroom.atomic_write import UnwrittenError, drop_drafts, write_whole
from acidbase_lib.classroom.gradebook.safekeeping.class_history import HandIn, noted
from acidbase_lib.classroom.gradebook.safekeeping.erased import erase_again, erased_from
from acidbase_lib.classroom.gradebook.safekeeping.private_course import keeping_private
from acidbase_lib.classroom.marking.check_cells import marker_for
from acidbase_lib.classroom.marking.reading_lane import MarkedNotebook, NotebookState, mark_notebook
from acidbase_lib.classroom.notebooks.assignment import AssignmentSource, SourceError
from acidbase_lib.classroom.notebooks.own_numbers import OwnNumbers, numbers_beside
from acidbase_lib.classroom.notebooks.read_notebook import LIMITS, FileLimits
from acidbase_lib.classroom.notebooks.repair import Repair
from acidbase_lib.classroom.phrases import printable
from acidbase_lib.teaching.questions.exercise import Mark

from .course_folder import CourseFolder
from .hand_in import (
    SECRET,
    Done,
    HandedIn,
    can_be_kept,
    leads_elsewhere,
    mark_one,
    not_marked,
    read_hand_in,
    small_file,
    whose_numbers,
)
from .marking_worker import closing_workers, mark_within_budget

__all__ = ["ClassMarks", "LearnerMarks", "MarkedNotebook", "SourceError", "mark_class",
           "mark_notebook"]

CHUNK = 25  # submissions in one transaction: a stop loses at most this much work
LARGEST_CHUNK = 20_000_000  # [bytes] of submissions in memory at once, or one that is larger


@dataclass(frozen=True, slots=True)
class LearnerMarks:
    """What one learner's submission came to."""

    learner: str
    state: NotebookState
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

    def in_state(self, state: NotebookState) -> tuple[LearnerMarks, ...]:
        """Return the learners whose submissions are in a state."""
        return tuple(one for one in self.learners if one.state == state)


OnProgress = Callable[[int, int, LearnerMarks], None]


def mark_class(course: str | Path | CourseFolder, assignment: str,
               executor: Executor | None = None, progress: OnProgress | None = None, *,
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
        Where the marking is done, such as a ProcessPoolExecutor; in one process beside this one by
        default. Reading files and writing the gradebook stay in this process.
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
    from .write_gradebook import ClassGradebook, GradebookEntry

    began = time.perf_counter()
    folder = CourseFolder.find(course)
    source = AssignmentSource.from_file(folder.source_notebook(assignment), assignment)
    with keeping_private(folder), ClassGradebook(folder, source) as book, closing_workers():
        fence = _fence_of(folder)
        if book.source.holds_code:
            from acidbase_lib.classroom.marking.running_lane import ready_to_run

            ready_to_run(book.source, fence)
        else:
            marker_for(book.source)  # what cannot be marked with says so before any learner
        erase_again(folder)  # a copy of a server's may have been put back with its own tools
        erased = erased_from(folder)
        there = tuple(name for name in folder.learners(assignment) if name not in erased)
        names = tuple(filter(can_be_kept, there))
        odd = tuple(f"The folder {printable(name)[:80]} in {folder.steps['submitted']} has a name "
                    "that a gradebook cannot keep; it was left alone. Give it the learner's id."
                    for name in there if not can_be_kept(name))
        rows: list[LearnerMarks] = []
        files: list[HandIn] = []
        beside = numbers_beside(source.folder)
        numbers = None if beside is None else OwnNumbers(beside)
        handed_in = (read_hand_in(folder, name, source, limits, numbers) for name in names)
        for tasks, done in _marked(book.source, handed_in, limits, fence, executor):
            if numbers is not None:
                done = [_with_whose(source, task, one, limits, numbers)
                        for task, one in zip(tasks, done, strict=True)]
            for task, one in zip(tasks, done, strict=True):
                _write(folder, source, task, one)
            book.store([GradebookEntry(task.learner, one.marked, one.file, task.when)
                        for task, one in zip(tasks, done, strict=True)])
            files += [HandIn(task.learner, one.file, "found in the course's folder",
                             f"{task.when:%Y-%m-%dT%H:%M:%SZ}" if task.when else "")
                      for task, one in zip(tasks, done, strict=True)]
            for task, one in zip(tasks, done, strict=True):
                row = _row(task.learner, one.marked)
                rows.append(row if keep_marks else replace(row, marks=()))
                if progress is not None:
                    progress(len(rows), len(names), row)
        notes = book.notes + odd + noted(folder, assignment, files)
        return ClassMarks(assignment, tuple(rows), source.maximum, notes,
                          time.perf_counter() - began)


def _fence_of(folder: CourseFolder) -> dict[str, Any]:
    """The course's own settings of the fence around learners' code."""
    settings = {str(k): v for k, v in dict(folder.config.get("SandboxProvisioner", {})).items()}
    return {"hidden": [str(folder.root)]} | settings


def _marked(source: AssignmentSource, handed_in: Iterable[HandedIn], limits: FileLimits,
            fence: Mapping[str, Any], executor: Executor | None,
            ) -> Iterator[tuple[Sequence[HandedIn], Sequence[Done]]]:
    """Mark chunk by chunk, here or elsewhere; a few chunks are under way at a time."""
    chunks = _chunks(handed_in)
    if executor is None:
        for tasks in chunks:
            yield tasks, mark_chunk(source, tasks, limits, fence)
        return
    ahead = 2 * (getattr(executor, "_max_workers", None) or 8)  # a cluster does not say
    under_way: deque[tuple[list[HandedIn], Future[list[Done]]]] = deque()
    for tasks in chunks:
        under_way.append((tasks, executor.submit(mark_chunk, source, tasks, limits, fence)))
        if len(under_way) > ahead:
            sent, future = under_way.popleft()
            yield sent, future.result()
    while under_way:
        sent, future = under_way.popleft()
        yield sent, future.result()


def _chunks(handed_in: Iterable[HandedIn]) -> Iterator[list[HandedIn]]:
    """Some submissions at a time: so many, or as many as are so large together."""
    chunk: list[HandedIn] = []
    for one in handed_in:
        if chunk and (len(chunk) == CHUNK or sum(len(o.data) for o in chunk) > LARGEST_CHUNK):
            yield chunk
            chunk = []
        chunk.append(one)
    if chunk:
        yield chunk


def mark_chunk(source: AssignmentSource, tasks: Sequence[HandedIn], limits: FileLimits,
               fence: Mapping[str, Any]) -> list[Done]:
    """Mark some submissions in whichever process this is; needs no file and no gradebook.

    Code is run behind its own fence. Charts are read in a process beside this one, which is ended
    when a submission costs more than its budget.
    """
    if source.holds_code:
        return [mark_one(source, task, limits, fence) for task in tasks]
    return mark_within_budget(source, tasks, limits)


def _write(folder: CourseFolder, source: AssignmentSource, task: HandedIn, one: Done) -> None:
    """Put the marked notebook where nbgrader looks for it; take away one that no longer holds."""
    place = folder.folder("autograded", task.learner, source.name)
    if leads_elsewhere(folder, "autograded", place):
        raise UnwrittenError(f"{place} is a link to another place, or lies in one. Links are not "
                             "followed: take it away, and run this again.")
    path = place / f"{source.notebook}.ipynb"
    if not one.text:
        path.unlink(missing_ok=True)
        return
    # not waited for: what a lost power takes, the next run makes again
    write_whole(path, one.text.encode("utf-8", "replace"), durable=False)
    drop_drafts(place)  # of a run that was stopped: they hold the key
    if task.when is not None:
        write_whole(place / "timestamp.txt", f"{task.when:%Y-%m-%d %H:%M:%S.%f} UTC\n",
                    durable=False)
    secret = small_file(folder.folder("submitted", task.learner, source.name) / SECRET)
    if secret:
        write_whole(place / SECRET, secret, durable=False)


def _with_whose(source: AssignmentSource, task: HandedIn, one: Done, limits: FileLimits,
                numbers: OwnNumbers) -> Done:
    """A file whose questions are not its owner's: whose they are, in place of a mark."""
    if task.own is None or (not any("-prompt" in repair.cell for repair in one.marked.repairs) \
            and one.marked.state != "not marked"):
        return one
    why = whose_numbers(task, limits, numbers)
    return not_marked(source, task, why) if why else one


def _row(learner: str, marked: MarkedNotebook) -> LearnerMarks:
    return LearnerMarks(learner, marked.state, marked.why, marked.repairs, marked.marks,
                        marked.score, marked.maximum, marked.waiting)
