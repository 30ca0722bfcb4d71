"""A course looked over: is the gradebook whole, does the history hold, are files as handed in."""
from __future__ import annotations

import hashlib
from collections.abc import Iterator
from dataclasses import dataclass

from acidbase_lib.classroom.gradebook.course_folder import CourseFolder
from acidbase_lib.classroom.gradebook.gradebook_error import GradebookError
from acidbase_lib.classroom.gradebook.nbgrader_adapter import guard
from acidbase_lib.classroom.gradebook.read_gradebook import assignments
from acidbase_lib.classroom.private import others_can_read

from .backups import backups_of
from .class_history import marks_not_told
from .history import HANDED_IN, UNFIT, HistoryError
from .integrity import faults_of, gradebook_file, opened, require_whole
from .log_head import fits, head_in
from .private_course import is_shared, private_places
from .receipts import history_of, receipts_of, same_files


@dataclass(frozen=True, slots=True)
class Finding:
    """One thing that was looked at; ``well`` is False where somebody must do something."""

    well: bool
    sentence: str


def check_course(folder: CourseFolder) -> Iterator[Finding]:
    """Yield what was found, the gradebook first. Nothing is changed."""
    yield from _gradebook(folder)
    yield from _history(folder)
    yield from _backups(folder)
    yield from _files(folder)
    open_to_others = list(others_can_read(private_places(folder), is_shared(folder)))
    if open_to_others:
        yield Finding(False, f"{len(open_to_others)} files and folders of learners can be read by "
                      f"others on this machine, such as {open_to_others[0]}. The next `acidbase "
                      "collect` takes that right away.")
    else:
        yield Finding(True, "Files of learners can be read by their owner only.")


def _gradebook(folder: CourseFolder) -> Iterator[Finding]:
    file = gradebook_file(folder.db_url)
    if file is None:
        yield from _on_server(folder)
        return
    try:
        require_whole(folder)
    except GradebookError as error:
        yield Finding(False, str(error))
        return
    if not file.is_file():
        yield Finding(True, f"There is no gradebook {file} yet, and no sign that there ever was.")
        return
    with opened(file, folder.db_url) as book:
        guarded, learners = guard.is_guarded(book), len(guard.people(book))
        taken_out = not guarded and guard.was_guarded(book)
    if taken_out:
        yield Finding(False, f"The gradebook {file} can be read, but the second copy of its marks "
                      "is no longer kept: another nbgrader has made a table anew, or somebody took "
                      "a part of it out. A mark that was changed since does not show. Compare with "
                      "a backup; the next `acidbase collect` marks all files again.")
        return
    yield Finding(True, f"The gradebook {file} is whole: {learners} learners." + (
        "" if guarded else " It has no second copy of the marks yet; the next `acidbase collect` "
        "puts it in."))


def _on_server(folder: CourseFolder) -> Iterator[Finding]:
    """No second copy of the marks is kept there: the history is what they are compared with."""
    odd: list[str] = []
    try:
        for unit in assignments(folder):
            odd += [f"{unit}, {who}" for who in marks_not_told(folder, unit)]
    except (GradebookError, HistoryError) as trouble:
        yield Finding(False, str(trouble))
        return
    if odd:
        yield Finding(False, f"The gradebook is on a database server, and {len(odd)} marks in it "
                      f"are not those that the history told last: {'; '.join(odd[:6])}. A person "
                      "or nbgrader changed them since, or another program did: the next `acidbase "
                      "collect` marks all files again and notes what has changed.")
    else:
        yield Finding(True, "The gradebook is on a database server, and each mark in it is the one "
                      "that the history told last. Whether the server's files are whole, its own "
                      "tools tell (for PostgreSQL: pg_amcheck).")


def _history(folder: CourseFolder) -> Iterator[Finding]:
    history = history_of(folder)
    if found := list(history.faults()):
        yield from (Finding(False, sentence) for sentence in found)
        return
    lines, file = history.lines(), gradebook_file(folder.db_url)
    try:
        head = head_in(folder) if file is None or file.is_file() else None
    except Exception as error:
        yield Finding(False, f"The gradebook cannot say how far the history had come: {error}.")
        return
    if not lines and not (head and head[0]):
        yield Finding(True, "There is no history yet; the next `acidbase collect` begins one.")
        return
    if cut := history.cut_off():
        yield Finding(True, f"Behind line {len(lines)} of the history stand {cut} bytes of a line "
                      "that was cut off, as a stop or a full disk leaves it. The next line is "
                      "written in their place.")
    for line in lines:
        if line.what == UNFIT:
            yield Finding(False, f"Line {line.number}, {line.at}: at that time the history did not "
                          "fit the gradebook. Lines had been taken out or written anew, or the "
                          "file had been moved away.")
    if head is not None and not fits(head, lines):
        yield Finding(False, f"The history is not the one that the gradebook knows: that one had "
                      f"{head[0]} lines, this one has {len(lines)}" + (
                          ", and they differ at the end of the shorter" if lines else "") +
                      ". Lines were taken out or written anew, or a gradebook of "
                      "another time was put here by hand.")
        return
    yield Finding(True, f"The history holds: {len(lines)} lines since {lines[0].at[:10]}, each "
                  f"fitting the one before. It ends in {lines[-1].chain[:16]}; a note of that kept "
                  "elsewhere shows later whether lines were changed.")


def _backups(folder: CourseFolder) -> Iterator[Finding]:
    backups = backups_of(folder)
    bad = [one for one in backups if faults_of(one)]
    for one in bad:
        yield Finding(False, f"The backup {one} is damaged and cannot be put back.")
    if good := [one for one in backups if one not in bad]:
        yield Finding(True, f"Backups that are whole: {len(good)}; the newest is {good[0]}.")
    elif gradebook_file(folder.db_url) is not None:
        yield Finding(True, "There is no backup. `acidbase backup` makes one; keep a copy on "
                      "another disk.")


def _files(folder: CourseFolder) -> Iterator[Finding]:
    """Compare what lies in the folders with what the history says was handed in."""
    try:
        units = dict.fromkeys(line.details["unit"] for line in history_of(folder).lines()
                              if line.what == HANDED_IN and line.details)
    except HistoryError:
        return
    for unit in units:
        other = []
        for learner, receipt in receipts_of(folder, unit).items():
            place = folder.folder("submitted", learner, unit)
            found = {hashlib.sha256(path.read_bytes()).hexdigest()
                     for path in place.glob("*.ipynb") if path.is_file()}
            if receipt.file not in found:
                other.append(learner)
        if other:
            yield Finding(False, f"{unit}: the files of {', '.join(other[:6])}"
                          f"{' and others' if len(other) > 6 else ''} are not those that were "
                          "handed in last, as the history tells. Were they replaced by hand?")
        for _, group in same_files(folder, unit):
            yield Finding(True, f"{unit}: the same file, to the byte: {', '.join(group)}. That "
                          "alone does not say why.")
