"""One learner erased from a course: gradebook, backups, folders, pages and history; then sought."""
from __future__ import annotations

import csv
import io
import os
import re
import shutil
import sqlite3
from collections.abc import Callable, Collection, Iterable, Sequence
from contextlib import suppress
from dataclasses import dataclass, replace
from pathlib import Path

from acidbase_lib.classroom.atomic_write import write_whole
from acidbase_lib.classroom.folder_lock import one_at_a_time
from acidbase_lib.classroom.gradebook.course_folder import CourseFolder
from acidbase_lib.classroom.gradebook.gradebook_error import GradebookError, gradebook_trouble
from acidbase_lib.classroom.gradebook.letter_case import as_one, stands_as
from acidbase_lib.classroom.notebooks.assignment import SourceError
from acidbase_lib.classroom.notebooks.own_numbers import SUFFIX, OwnNumbers
from acidbase_lib.classroom.private import owner_only

from .erased import erase_from_file, erase_from_server, erased_from, people_in
from .history import MAY_RETURN, OFFERED, WROTE
from .integrity import gradebook_file, grading_folder, require_whole
from .receipts import history_of
from .search import Sought, file_text, holds, is_too_short, search

_TABLES = ("grades.csv", "intake.csv", "receipts.csv", "report/learners.csv", "report/ideas.csv",
           "learners.csv", "ideas.csv", "term.csv", "term_not_on_roster.csv")
_PAGES = ("report/class_report.html", "class_report.html", "term.html")


@dataclass(frozen=True, slots=True)
class Erasure:
    """What was erased, and what the search found afterwards.

    Parameters
    ----------
    rows, backups, folders, files, lines : int
        Rows of the gradebook, backups that held the learner, folders, files of pages and tables,
        and lines of the history.
    searched : int
        How many files were searched.
    left : tuple of Path
        Files in which an id or name still stands.
    unread : tuple of Path
        Files that could not be searched.
    """

    rows: int
    backups: int
    folders: int
    files: int
    lines: int
    searched: int
    left: tuple[Path, ...]
    unread: tuple[Path, ...]

    @property
    def anything(self) -> int:
        """How much there was."""
        return self.rows + self.backups + self.folders + self.files + self.lines


def erase(folder: CourseFolder, learner: str, names: Sequence[str] = (),
          outs: Iterable[Path] = (), beside: Callable[[str], int] = lambda _: 0) -> Erasure:
    """Erase one person from a course; run it again if it was stopped.

    Parameters
    ----------
    folder : CourseFolder
        The course.
    learner : str
        The id.
    names : sequence of str
        The person's names, which are looked for as well.
    outs : iterable of Path
        Folders of pages beyond those that the history knows.
    beside : callable
        Takes the learner out of what stands beside the gradebook, before the search; returns how
        many files that changed.

    Raises
    ------
    GradebookError
        If the gradebook is damaged or in use. Nothing was erased from it then.
    """
    if (
        not learner.strip()
        or Path(learner).name != learner
        or learner.startswith(".")
        or "\\" in learner
    ):
        raise GradebookError(f"{learner[:40]!r} can be no learner's id. Nothing was erased.")
    require_whole(folder)
    file, grading = gradebook_file(folder.db_url), grading_folder(folder)
    people = people_in(folder)
    there = {*people, *_with_folders(folder)}
    others = sorted(one for one in there if one != learner and as_one(one) == as_one(learner))
    if others and learner not in there and learner not in erased_from(folder):
        near = others[0]
        raise GradebookError(f"Nobody is called {learner[:40]!r} here, but somebody is called "
                             f"{near!r}. Nothing was erased: write the id as the roster has it.")
    history = history_of(folder)
    ids = () if is_too_short(learner) else (learner,)
    wanted = Sought(tuple(names), ids) if others else Sought((*ids, *names))
    places = {folder.root / details["out"] for line in history.lines() if line.what == WROTE
              and (details := line.details)} | {Path(out).resolve() for out in outs}
    with owner_only(), one_at_a_time(grading):
        # the tombstone first: after a stop nothing brings the learner back meanwhile
        lines = {line.number for line in history.lines()
                 if line.details and _tells_of(line.details, learner, wanted)}
        kept_aside = {line.details["file"] for line in history.lines()
                      if line.number in lines and line.what == OFFERED and line.details}
        erased = erased_from(folder)
        if lines or learner not in erased:
            history.erase(lines, {"key": erased.key,
                                  "print": erased.print_of(learner, exactly=bool(others))})
        if known := people.get(learner):
            wanted = replace(wanted, words=(*wanted.words, known))
        try:
            if file is None:
                rows = erase_from_server(folder, learner)
            else:
                rows = erase_from_file(file, learner) if file.is_file() else 0
            backups = sum(bool(erase_from_file(one, learner))
                          for one in sorted((grading / "backups").glob("*.db")))
            for one in file.parent.glob("*.kept") if file else ():  # put aside: often damaged
                with suppress(sqlite3.DatabaseError):  # then the search names it
                    backups += bool(erase_from_file(one, learner))
        except sqlite3.DatabaseError as error:
            raise GradebookError(gradebook_trouble(folder.db_url, error)) from error
        folders = _remove_folders(folder, learner)
        for aside in (grading / "set_aside").glob("*/*.ipynb"):
            if aside.stem in kept_aside:
                aside.unlink()
        files = sum(_clean(place, learner, wanted) for place in sorted(places) if place.is_dir())
        files += _own_numbers(folder, learner) + beside(learner)
    searched, left, unread = search([folder.root, *sorted(places)], wanted)
    return Erasure(rows, backups, folders, files, len(lines), searched, tuple(left), tuple(unread))


def _with_folders(folder: CourseFolder) -> Collection[str]:
    top = folder.root / folder.steps["submitted"]
    return os.listdir(top) if top.is_dir() else ()


def let_return(folder: CourseFolder, learner: str) -> bool:
    """Let a learner who was erased be taken in again; False where nobody of that id was erased."""
    erased = erased_from(folder)
    if learner not in erased:
        return False
    history_of(folder).add(MAY_RETURN, *({"print": one} for one in erased.prints_of(learner)))
    return True


def _tells_of(details: object, learner: str, wanted: Sought) -> bool:
    if isinstance(details, dict):
        return details.get("learner") == learner or any(
            holds(str(value), wanted) for key, value in details.items()
            if key in {"from", "to", "why"} and isinstance(value, str)) or (
                learner in details.get("may be", ()))
    return False


def _remove_folders(folder: CourseFolder, learner: str) -> int:
    gone = 0
    for step in ("submitted", "autograded", "feedback"):
        top = folder.root / folder.steps[step]
        for place in {top / learner, *(folder.folder(step, learner, unit.name) for unit in
                                       folder.folder("source", ".", "x").parent.glob("*"))}:
            if (place.is_dir() and not place.is_symlink() and top in place.parents
                    and stands_as(top, place.relative_to(top).parts[0])):
                shutil.rmtree(place)
                gone += 1
    return gone


def _own_numbers(folder: CourseFolder, learner: str) -> int:
    """Take away the numbers that were made for a learner, and the notebook that held them."""
    changed = 0
    for path in folder.folder("source", ".", "x").parent.glob(f"*{SUFFIX}"):
        with suppress(SourceError):  # damaged: then the search names it
            data, file = OwnNumbers(path).without(learner)
            if data:
                write_whole(path, data)
                changed += 1
            given = folder.root / "each" / path.name.removesuffix(SUFFIX) / Path(file).name
            if file and given.is_file():
                given.unlink()
                changed += 1
    return changed


def _clean(out: Path, learner: str, wanted: Sought) -> int:
    """Take a learner out of a folder of pages; a report about them goes as a whole."""
    changed = 0
    if (out / "feedback.zip").is_file():  # the next collect that is asked for it writes it anew
        (out / "feedback.zip").unlink()
        changed += 1
    for page in (out / "feedback" / f"{learner}.html", out / "learners" / f"{learner}.html"):
        if page.is_file() and stands_as(page.parent, page.name):
            page.unlink()
            changed += 1
    for name in _TABLES:
        path = out / name
        if not path.is_file():
            continue
        text = path.read_text(encoding="utf-8-sig", errors="replace")
        try:
            rows = list(csv.reader(io.StringIO(text, newline="")))
        except csv.Error:  # no table of ours any more: then the search names it
            continue
        kept = rows[:1] + [row for row in rows[1:] if not _is_theirs(rows[0], row, learner, wanted)]
        if kept != rows:
            buffer = io.StringIO()
            csv.writer(buffer, lineterminator="\r\n").writerows(kept)
            marked = path.read_bytes().startswith(b"\xef\xbb\xbf")
            write_whole(path, buffer.getvalue().encode("utf-8-sig" if marked else "utf-8"))
            changed += 1
    for name in _PAGES:
        path = out / name
        if path.is_file() and holds(file_text(path.read_bytes()), wanted):
            path.unlink()
            changed += 1
    return changed


def _is_theirs(heading: Sequence[str], row: Sequence[str], learner: str,
               wanted: Sought) -> bool:
    """True for a row about a learner: by its id, or by words in what is no number."""
    details = dict(zip(heading, row, strict=False))
    return details.get("id", "").removeprefix("'") == learner or any(
        holds(cell, wanted) for cell in row if not re.fullmatch(r"[\d.,]*", cell))
