"""Written answers of a class in one table, names hidden, and the points that came back in it."""
from __future__ import annotations

import csv
import io
import re
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from hashlib import sha256
from pathlib import Path
from typing import Any

from acidbase_lib.classroom.gradebook.by_hand.cell_points import cell_maxima
from acidbase_lib.classroom.gradebook.by_hand.give_marks import HandMark
from acidbase_lib.classroom.gradebook.course_folder import CourseFolder
from acidbase_lib.classroom.phrases import number_of, printable
from acidbase_lib.classroom.report.class_pages import results_of
from acidbase_lib.classroom.report.grade_file import safe_cell, write_table
from acidbase_lib.classroom.report.results import codes

COLUMNS = ("row", "question", "person", "answer", "look for", "ticks", "points", "most", "comment",
           "points so far", "comment so far")
FOUND, NOT_FOUND = "Found in your answer:", "Not found:"
LONGEST_COMMENT = 4_000  # letters
_LARGEST = 50_000_000  # [bytes] of a table
_NUMBER = re.compile(r"\d{1,4}(?:[.,]\d{1,4})?")


class WrittenAnswersError(ValueError):
    """A table of marks that cannot be taken; the text says what is wrong in it, row by row."""


@dataclass(frozen=True, slots=True)
class WrittenAnswer:
    """One answer that a person marks, with what was given for it so far.

    ``row`` tells whose answer to what it is, and changes with its text: marks for an answer that
    was replaced meanwhile find no place.
    """

    row: str
    learner: str
    person: str
    question: str
    cell: str
    text: str
    ticks: tuple[str, ...]
    most: float
    points: float | None
    comment: str
    waits: bool
    prompt: str = ""


@dataclass(frozen=True, slots=True)
class Taken:
    """What a filled table gives: marks to keep, and how many rows say nothing new."""

    marks: tuple[HandMark, ...]
    points: int
    comments: int
    left: int


def written_answers(folder: CourseFolder, unit: str,
                    exercises: Mapping[str, Any]) -> tuple[WrittenAnswer, ...]:
    """Return every written answer of a sitting, question by question, the people in no order.

    Parameters
    ----------
    folder : CourseFolder
        The course.
    unit : str
        The sitting.
    exercises : mapping
        Its exercises: the rubric stands in them.

    Raises
    ------
    GradebookError
        If the gradebook cannot be read or does not have the assignment.
    """
    # as the gradebook has them: before what was decided afterwards, and by the ids of then
    results = results_of(folder, unit, {}, (), history_told=False)
    maxima, persons = cell_maxima(folder, unit), codes(one.learner for one in results)
    found = []
    for result in results:
        for mark in result.marks:
            cell = f"{mark.question}-answer"
            given = [part for part in mark.parts if part.given is not None]
            if cell not in maxima or not given:
                continue
            text = "\n".join(f"{part.field}: {part.given}" if len(mark.parts) > 1
                             else str(part.given) for part in given)
            asked = result.asked(exercises).get(mark.question)
            waits = mark.state == "waits for the instructor"
            hand = mark.question in result.by_hand
            found.append(WrittenAnswer(
                _row(unit, result.learner, mark.question, text), result.learner,
                persons[result.learner], mark.question, cell, text,
                tuple(tick.replace("**", "") for tick in asked.ticks) if asked else (),
                maxima[cell], mark.points if hand else None,
                result.comments.get(mark.question, ""), waits,
                asked.prompt if asked else ""))
    return tuple(sorted(found, key=lambda one: (number_of(one.question), one.row)))


def write_answers(path: Path, answers: Sequence[WrittenAnswer]) -> Path:
    """Write the table to be filled in.

    Raises
    ------
    WrittenAnswersError
        If the file is there already: somebody's marks may stand in it.
    """
    if path.exists():
        raise WrittenAnswersError(f"{path} is there already, perhaps with marks in it that were "
                                  "not taken yet; choose another name")
    return write_table(path, COLUMNS, [
        (one.row, number_of(one.question), one.person, one.text,
         "\n".join(f"{number}. {tick}" for number, tick in enumerate(one.ticks, 1)), "",
         "" if one.waits else _shown(one.points), _shown(one.most), one.comment,
         _shown(one.points), print_of(one.comment))
        for one in answers])


def read_answers(path: Path, answers: Sequence[WrittenAnswer]) -> Taken:
    """Read a filled table; every row is looked over before anything of it counts.

    Parameters
    ----------
    path : Path
        As a spreadsheet saved it: commas, semicolons or tabs between the columns.
    answers : sequence of WrittenAnswer
        As they are in the gradebook now.

    Raises
    ------
    WrittenAnswersError
        If any row cannot be taken; all that is wrong is told, and nothing counts.
    """
    known = {one.row: one for one in answers}
    marks, faults, seen = [], [], set()
    points = comments = left = 0
    for number, cells in _rows(path):
        row = cells["row"].strip()
        if not any(cell.strip() for cell in cells.values()):
            continue
        try:
            if row in seen:
                raise WrittenAnswersError("the same answer stands in the table twice")
            seen.add(row)
            if row not in known:
                raise WrittenAnswersError("there is no such answer now: it was handed in anew "
                                          "since, or the table is of another sitting; write the "
                                          "table again and mark that answer in it")
            mark = mark_of(known[row], cells)
        except WrittenAnswersError as error:
            faults.append(f"row {number}: {error}")
            continue
        if mark is None:
            left += 1
            continue
        marks.append(mark)
        points += mark.points is not None
        comments += mark.comment is not None
    if faults:
        raise WrittenAnswersError(f"{path} was not taken, and nothing of it was kept. "
                                  + "; ".join(faults[:20]) + (
                                      f"; and {len(faults) - 20} more" if len(faults) > 20 else "")
                                  + ".")
    return Taken(tuple(marks), points, comments, left)


def mark_of(one: WrittenAnswer, cells: Mapping[str, str],
            clears: bool = False) -> HandMark | None:
    """Return what a row gives, where it gives anything new.

    Parameters
    ----------
    one : WrittenAnswer
        The answer as it is in the gradebook now.
    cells : mapping
        The row: ticks, points, comment, points so far, comment so far.
    clears : bool
        Whether an empty comment takes away what was there.

    Raises
    ------
    WrittenAnswersError
        If the row cannot be taken; the text says why.
    """
    ticked = _ticks(one, cells["ticks"])
    points, so_far = _points(one, cells["points"]), _points(one, cells["points so far"])
    if points == so_far and not one.waits:
        points = None  # left as it was written
    if points is None and ticked is not None:
        points = round(one.most * len(ticked) / len(one.ticks), 4)
    if points is not None and one.points not in {so_far, points}:
        raise WrittenAnswersError(f"somebody has given {_shown(one.points)} points for it "
                                  "meanwhile; write the table again, and see whether that stands")
    comment, was = _comment(one, cells["comment"], ticked), cells["comment so far"].strip()
    is_new = (comment or clears) and comment != one.comment and print_of(comment) != was
    if is_new and print_of(one.comment) != was:
        raise WrittenAnswersError("somebody has written another comment meanwhile; write the table "
                                  "again, and see whether that stands")
    new_points = points if points is not None and (points != one.points or one.waits) else None
    new_comment = comment if is_new else None
    if new_points is None and new_comment is None:
        return None
    return HandMark(one.learner, one.cell, new_points, new_comment)


def _points(one: WrittenAnswer, text: str) -> float | None:
    text = text.strip()
    if not text:
        return None
    if not _NUMBER.fullmatch(text):
        raise WrittenAnswersError(f"{text[:20]!r} is no number of points; write one from 0 to "
                                  f"{one.most:g}, or leave the place empty")
    points = float(text.replace(",", "."))
    if points > one.most:
        raise WrittenAnswersError(f"{points:g} points are more than the {one.most:g} that question "
                                  f"{number_of(one.question)} can earn")
    return points


def _ticks(one: WrittenAnswer, text: str) -> frozenset[int] | None:
    """The lines of the rubric that were found in the answer, by number; 0 for none of them."""
    if not text.strip():
        return None
    words = re.findall(r"[^\s,;.+]+", text)
    if not one.ticks:
        raise WrittenAnswersError(f"question {number_of(one.question)} has no list to tick; write "
                                  "the points")
    if not all(word.isdecimal() and int(word) <= len(one.ticks) for word in words):
        raise WrittenAnswersError(f"ticks {text[:20]!r} are not numbers of its list, 1 to "
                                  f"{len(one.ticks)}, or 0 for none of them")
    return frozenset(map(int, words)) - {0}


def _comment(one: WrittenAnswer, text: str, ticked: frozenset[int] | None) -> str:
    """The comment as the learner reads it: what was written, and what was found of the rubric."""
    text = printable(text).strip()
    if text.startswith("'") and safe_cell(text[1:]) == text:
        text = text[1:]  # the apostrophe that keeps a spreadsheet from running it
    if ticked is not None:
        own = [line for line in text.splitlines() if not line.startswith((FOUND, NOT_FOUND))]
        numbered = list(enumerate(one.ticks, 1))
        found = [tick for number, tick in numbered if number in ticked]
        missed = [tick for number, tick in numbered if number not in ticked]
        own += [f"{FOUND} {'; '.join(found)}."] if found else []
        text = "\n".join([*own, *([f"{NOT_FOUND} {'; '.join(missed)}."] if missed else [])])
    if len(text) > LONGEST_COMMENT:
        raise WrittenAnswersError(f"the comment has {len(text):,} letters; at most "
                                  f"{LONGEST_COMMENT:,} are kept")
    return text


def _rows(path: Path) -> Iterator[tuple[int, dict[str, str]]]:
    """Yield the rows of a table with their numbers, every column of ours in each."""
    try:
        if path.stat().st_size > _LARGEST:
            raise WrittenAnswersError(f"{path} is larger than {_LARGEST:,} bytes")
        data = path.read_bytes()
    except OSError as error:
        raise WrittenAnswersError(f"{path} cannot be read: {error.strerror}") from None
    try:
        text = data.decode("utf-16" if data[:2] in {b"\xff\xfe", b"\xfe\xff"} else "utf-8-sig")
    except UnicodeError:
        text = data.decode("cp1252", "replace")  # as old spreadsheets write it
    first = text.partition("\n")[0]
    reader = csv.reader(io.StringIO(text, newline=""), delimiter=max(",;\t", key=first.count))
    try:
        heading = [name.strip().casefold() for name in next(reader, [])]
        if missing := [name for name in COLUMNS if name not in heading and name not in
                       {"question", "person", "answer", "look for", "most"}]:
            raise WrittenAnswersError(f"{path} is not a table that `acidbase written --out` wrote: "
                                      f"it lacks the column {missing[0]!r}. Save it as CSV")
        for number, row in enumerate(reader, 2):
            cells = dict(zip(heading, row, strict=False))
            yield number, {name: cells.get(name, "") for name in COLUMNS}
    except csv.Error as error:
        raise WrittenAnswersError(f"{path} is no table: {error}. Save it as CSV") from None


def _row(unit: str, learner: str, question: str, text: str) -> str:
    return "a" + sha256("\n".join((unit, learner, question, text)).encode(
        "utf-8", "backslashreplace")).hexdigest()[:15]


def print_of(comment: str) -> str:
    """A comment's print, by which one tells whether it was changed; a letter first, no number."""
    return "c" + sha256("\n".join(comment.split("\r\n")).encode(
        "utf-8", "backslashreplace")).hexdigest()[:9]


def _shown(points: float | None) -> str:
    return "" if points is None else f"{points:g}"
