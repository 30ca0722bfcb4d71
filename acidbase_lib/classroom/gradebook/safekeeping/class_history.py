"""What the history is told of a class: hand-ins, and every change of a mark."""
from __future__ import annotations

import getpass
import hashlib
import sqlite3
from collections.abc import Iterable, Mapping
from contextlib import suppress
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import sqlalchemy as sa

from acidbase_lib.classroom.gradebook.course_folder import CourseFolder
from acidbase_lib.classroom.gradebook.gradebook_error import GradebookError, gradebook_trouble
from acidbase_lib.classroom.gradebook.nbgrader_adapter import guard
from acidbase_lib.classroom.gradebook.nbgrader_adapter.reading import cells_of
from acidbase_lib.classroom.gradebook.our_tables import STATES

from .history import BY_HAND, HANDED_IN, MARKED, UNFIT, WROTE, History, HistoryError, Line
from .integrity import gradebook_file, opened
from .log_head import fits, head_in, keep_head
from .receipts import history_of, receipts_of

BATCH = 500  # lines that are added at once
Points = dict[str, float | None]


@dataclass(frozen=True, slots=True)
class HandIn:
    """A file as it was handed in: whose, its SHA-256, where it came from, and when (UTC)."""

    learner: str
    file: str
    origin: str = ""
    at: str = ""


def note_hand_ins(folder: CourseFolder, unit: str, files: Iterable[HandIn]) -> None:
    """Note files that were handed in, each once.

    Raises
    ------
    HistoryError
        If the history cannot be read or written.
    """
    history = history_of(folder)
    last = {who: receipt.file for who, receipt in receipts_of(folder, unit).items()}
    history.add_all([(HANDED_IN, {"unit": unit, "learner": one.learner, "file": one.file,
                                  "from": one.origin}, one.at)
                     for one in files if one.file and last.get(one.learner) != one.file])


def note_intake(folder: CourseFolder, unit: str, taken: Mapping[str, str],
                bundle: str) -> None:
    """Note what `collect` took in: learner and file of the bundle.

    A history that cannot be used is told by the marking that follows.
    """
    notebook = folder.source_notebook(unit).name
    found = []
    for learner, name in taken.items():
        path = folder.folder("submitted", learner, unit) / notebook
        if path.is_file():
            found.append(HandIn(learner, hashlib.sha256(path.read_bytes()).hexdigest(),
                                f"{name} in {bundle}"))
    with suppress(HistoryError):
        note_hand_ins(folder, unit, found)


def note_taken_away(folder: CourseFolder, unit: str, learner: str) -> None:
    """Note that a person has taken a learner's only file away: no receipt holds for it any more.

    Raises
    ------
    HistoryError
        If the history cannot be read or written.
    """
    if learner in receipts_of(folder, unit):
        history_of(folder).add(HANDED_IN, {"unit": unit, "learner": learner, "file": "",
                                           "from": "taken away by a decision"})


def note_pages(folder: CourseFolder, unit: str, out: Path) -> None:
    """Note where pages of a class were written: `acidbase erase` looks there as well."""
    history = history_of(folder)
    place = out.resolve()
    if place.is_relative_to(folder.root):  # so that a copy of the folder tells of its own pages
        place = place.relative_to(folder.root)
    page = {"unit": unit, "out": place.as_posix()}
    if not any(line.what == WROTE and line.details and page.items() <= line.details.items()
               for line in history.each()):
        history.add(WROTE, page)


def marks_by_hand_noted(folder: CourseFolder) -> dict[tuple[str, str, str], float]:
    """Return the marks by hand that the history told last: unit, learner and cell to points."""
    found: dict[tuple[str, str, str], float] = {}
    for line in history_of(folder).each():
        if line.what == BY_HAND and line.details:
            key = line.details["unit"], line.details["learner"], line.details["cell"]
            found.pop(key, None)
            if line.details["to"] is not None:
                found[key] = line.details["to"]
    return found


def note_marks(folder: CourseFolder, unit: str, files: Iterable[HandIn] = (),
               why: str = "", by: str = "") -> None:
    """Note every mark that is not what the history last told: of this run, of nbgrader, by hand.

    Parameters
    ----------
    folder : CourseFolder
        The course.
    unit : str
        The assignment that was marked, or is about to be shown.
    files : iterable of HandIn
        The files that were marked; one that the history does not know is noted first.
    why : str
        Why marks have changed, where that is known.
    by : str
        By whom, and with what, points were given by hand, where that is known.

    Raises
    ------
    GradebookError, HistoryError
        If the gradebook cannot be read, or the history not be written. Marks are kept all the
        same; the next run notes what is missing.
    """
    history = history_of(folder)
    _note_what_does_not_fit(folder, history)
    note_hand_ins(folder, unit, files)
    auto, hand, about, seen = _last(history.each(), unit)
    entries: list[tuple[str, Mapping[str, Any], str]] = []
    for number, at, name, learner, cell, was, now in _by_hand_since(folder, seen):
        entries.append((BY_HAND, {"unit": name, "learner": learner, "cell": cell, "from": was,
                                  "to": now, "by": by or "a person, in nbgrader's formgrader or "
                                  "another program", "change": number}, at))
        if name == unit:
            hand.setdefault(learner, {})[cell] = now
    engine = sa.create_engine(folder.db_url)
    try:
        with engine.connect() as connection:
            new_auto, new_hand = _now(connection, unit)
            sources = {row.learner: (row.file, row.source) for row in connection.execute(
                sa.select(STATES.c.learner, STATES.c.file, STATES.c.source).where(
                    STATES.c.assignment == unit))} if sa.inspect(connection).has_table(
                        STATES.name) else {}
        marker = f"{user_name()}, with acidbase"
        for learner, points in new_auto.items():
            given, before = new_hand[learner], hand.get(learner, {})
            for cell in sorted(set(given) | set(before)):
                if given.get(cell) != before.get(cell):  # on a server nobody notes it meanwhile
                    entries.append((BY_HAND, {
                        "unit": unit, "learner": learner, "cell": cell, "from": before.get(cell),
                        "to": given.get(cell), "by": by or why or "a person; the time is when it "
                        "was found", "change": None}, ""))
            if learner in auto and points == auto[learner]:
                continue
            if len(entries) >= BATCH:  # so that memory stays flat in a large class
                history.add_all(entries)
                entries.clear()
            was = auto.get(learner, {})
            file, source = sources.get(learner, ("", ""))
            entries.append((MARKED, {
                "unit": unit, "learner": learner, "by": marker, "file": file, "source": source,
                "why": why or _why(about.get(learner), file, source),
                "cells": {cell: [was.get(cell), points.get(cell)]
                          for cell in sorted(points.keys() | was.keys())
                          if cell not in was or was[cell] != points.get(cell)}}, ""))
        entries += [(MARKED, {"unit": unit, "learner": learner, "by": marker, "file": "",
                              "source": "", "why": "no longer in the gradebook",
                              "cells": {cell: [was, None] for cell, was in points.items()}}, "")
                    for learner, points in auto.items()
                    if learner not in new_auto and any(v is not None for v in points.values())]
        entries += [(BY_HAND, {"unit": unit, "learner": learner, "cell": cell, "from": was,
                               "to": None, "by": f"{marker}: no longer in the gradebook",
                               "change": None}, "")
                    for learner, given in hand.items() if learner not in new_auto
                    for cell, was in given.items() if was is not None]
        history.add_all(entries)
        keep_head(engine, history)
    except sa.exc.SQLAlchemyError as error:
        raise GradebookError(gradebook_trouble(folder.db_url, error)) from error
    finally:
        engine.dispose()


def marks_not_told(folder: CourseFolder, unit: str) -> list[str]:
    """Return whose marks of a unit are not those that the history told last."""
    auto, hand, _, _ = _last(history_of(folder).each(), unit)
    engine = sa.create_engine(folder.db_url)
    try:
        with engine.connect() as connection:
            new_auto, new_hand = _now(connection, unit)
    except sa.exc.SQLAlchemyError as trouble:
        raise GradebookError(gradebook_trouble(folder.db_url, trouble)) from trouble
    finally:
        engine.dispose()
    points_by_cell = {who: {cell: points for cell, points in given.items() if points is not None}
            for who, given in hand.items()}
    return [who for who in sorted(auto.keys() | new_auto.keys())
            if (auto.get(who, {}) != new_auto.get(who, {}) if who in new_auto
                else any(points is not None for points in auto[who].values()))
            or points_by_cell.get(who, {}) != new_hand.get(who, {})]


def noted(folder: CourseFolder, unit: str, files: Iterable[HandIn] = ()) -> tuple[str, ...]:
    """Note every change of a mark; a history that cannot be used is told, and stops no marking."""
    try:
        note_marks(folder, unit, files)
    except HistoryError as error:
        return (str(error),)
    return ()


def _note_what_does_not_fit(folder: CourseFolder, history: History) -> None:
    """Keep in the history that lines of it had been taken out: the gradebook forgets it next."""
    try:
        head = head_in(folder)
    except sa.exc.SQLAlchemyError as error:
        raise GradebookError(gradebook_trouble(folder.db_url, error)) from error
    if head is not None and not fits(head, history.each()) and not any(
            line.what == UNFIT and line.details and line.details["chain"] == head[1]
            for line in history.each()):
        history.add(UNFIT, {"lines": head[0], "chain": head[1]})


def _last(lines: Iterable[Line], unit: str) -> tuple[dict[str, Points], dict[str, Points],
                                                    dict[str, tuple[str, str]], int]:
    """What the history last told of a unit: points by program, by hand; file and source; seen."""
    auto: dict[str, Points] = {}
    hand: dict[str, Points] = {}
    about: dict[str, tuple[str, str]] = {}
    seen = 0
    for line in lines:
        details = line.details
        if details is None:
            continue
        if line.what == BY_HAND:
            seen = max(seen, details["change"] or 0)
        if line.what == "restored":
            seen = int(details.get("change", 0))
        if details.get("unit") != unit:
            continue
        if line.what == MARKED:
            points = auto.setdefault(details["learner"], {})
            points |= {cell: change[1] for cell, change in details["cells"].items()}
            about[details["learner"]] = details["file"], details["source"]
        elif line.what == BY_HAND:
            hand.setdefault(details["learner"], {})[details["cell"]] = details["to"]
    return auto, hand, about, seen


def _now(connection: sa.Connection, unit: str) -> tuple[dict[str, Points], dict[str, Points]]:
    auto: dict[str, Points] = {}
    hand: dict[str, Points] = {}
    for row in cells_of(connection, unit):
        auto.setdefault(row.learner, {})[row.cell] = row.auto
        by_hand = hand.setdefault(row.learner, {})
        if row.manual is not None:
            by_hand[row.cell] = row.manual
    return auto, hand


def _by_hand_since(folder: CourseFolder, seen: int) -> list[Any]:
    file = gradebook_file(folder.db_url)
    if file is None:
        return []
    try:
        with opened(file, folder.db_url) as book:
            return list(guard.hand_changes(book, seen))
    except sqlite3.DatabaseError as error:
        raise GradebookError(gradebook_trouble(folder.db_url, error)) from error


def _why(before: tuple[str, str] | None, file: str, source: str) -> str:
    if before is None:
        return "marked for the first time"
    if before[0] != file:
        return "another file was handed in"
    if before[1] != source:
        return "the instructor's notebook was changed, or released again"
    return "marked again, by another version of the kit or by nbgrader"


def user_name() -> str:
    """Who is at work here, as the system calls them."""
    try:
        return getpass.getuser()
    except (OSError, KeyError, ImportError):
        return "somebody"
