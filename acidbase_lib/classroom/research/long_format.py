"""Answers in a long format: a row for each line of each answer, and a dictionary of columns."""
from __future__ import annotations

import csv
import io
import random
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path
from typing import Final

from acidbase_lib.caution import CAUTION
from acidbase_lib.classroom.atomic_write import write_whole
from acidbase_lib.classroom.private import owner_only
from acidbase_lib.classroom.report.own_numbers_told import place_of
from acidbase_lib.classroom.report.results import LearnerResult
from acidbase_lib.teaching.questions.exercise import Exercise, Mark, Part
from acidbase_lib.teaching.questions.fields import Value
from acidbase_lib.teaching.unit import Unit

from .code_key import ANSWERS

FIRST, LAST, ONLY = "first", "last", "only"

#: Column: (its kind, what it says). The order is that of the table.
COLUMNS: Final[Mapping[str, tuple[str, str]]] = {
    "learner": ("code", "Six letters drawn by chance; the same in every export of this course."),
    "sitting": ("text", "The name of the sitting, such as 02_primary_disorder."),
    "form": ("number", "Which form of it: with the same number everybody had the same patients."),
    "item": ("text", "The question by its place in the unit's file, whatever its number was."),
    "place": ("number", "Where the question stood on this learner's sheet, from 1."),
    "line": ("text", "The line of the answer, such as pH or disorder."),
    "kind": ("text", "one, many, order, number or text: how the line is answered."),
    "try": ("text", "first: kept when the answer was first checked. last: as it was handed in. "
                    "only: no first try was kept."),
    "given": ("text", "What was answered; several choices with | between. Empty where nothing "
                      "was. Of an answer in one's own words never the words: 'written'."),
    "key": ("text", "What earns the point. Empty where a person decides."),
    "right": ("0 or 1", "Whether the line is right. Empty where a person decides."),
    "how sure": ("text", "What the learner said before the answer was told; empty where nothing."),
    "points": ("number", "What the whole question earned, in every row of it."),
    "maximum": ("number", "What the whole question could earn."),
    "counts": ("0 or 1", "0 where the question was made void for this learner."),
    "hours": ("number", "When the file came, counted from the sitting's first file; empty where "
                        "nobody knows. No date: a date can tell who it was."),
}
_ABOUT: Final = """Answers exported for research. {caution}

answers.csv      a row for each line of each answer; the rows stand in a random order
dictionary.csv   what each column says

No name and no id is in these files. Who is behind a code stands in a file of the course alone,
{key}: do not pass it on with these. A code is no promise: who knows the class, and how somebody
answered, can still tell. What people may do with these answers is for their consent, for your
ethics review and for local rules to say. `acidbase erase` takes a learner out of the course, out of
the file of codes, and out of this folder while it stands where it was written.
Not in it: {left_out}.
"""


@dataclass(frozen=True, slots=True)
class Sat:
    """One sitting: its name, its unit, everyone's result, and when each file came [UTC]."""

    name: str
    unit: Unit
    results: Sequence[LearnerResult]
    at: Mapping[str, datetime]


def rows_of(sat: Sat, codes: Mapping[str, str]) -> Iterator[tuple[str, ...]]:
    """Yield a row for each line of each answer of a sitting, in the order of the gradebook.

    Parameters
    ----------
    sat : Sat
        The sitting.
    codes : mapping of str to str
        Learner to code. Whoever has none, or no mark, is left out.
    """
    began = min(sat.at.values(), default=None)
    places = {question: number for number, question in enumerate(sat.unit.exercises, 1)}
    for result in sat.results:
        if result.score is None or result.learner not in codes:
            continue
        asked = result.asked(sat.unit.exercises)
        own = {} if result.own is None else {
            number: place for place, number in enumerate(result.own.slots, 1)}
        came = sat.at.get(result.learner)
        hours = "" if came is None or began is None else (
            f"{(came - began).total_seconds() / 3600:.1f}")
        for mark in result.marks:
            exercise = asked.get(mark.question)
            if exercise is None:
                continue
            place = own.get(place_of(result, mark.question), places.get(mark.question, 0))
            head = (codes[result.learner], sat.name,
                    f"{sat.unit.form if result.own is None else result.own.form}",
                    exercise.origin or mark.question, f"{place}")
            tail = (mark.how_sure or "", f"{mark.points:g}", f"{mark.maximum:g}",
                    f"{int(mark.question not in result.void)}", hours)
            for which, parts in _tries(mark):
                for part in parts:
                    yield (*head, *_line(exercise, which, part), *tail)


def write_export(out: Path, rows: Iterable[Sequence[str]], key: Path,
                 left_out: str = "nothing") -> Path:
    """Write the table in a random order, its dictionary, and a page of text; return the table.

    Raises
    ------
    UnwrittenError
        If there is no room or no right to write.
    """
    shuffled = [tuple(row) for row in rows]
    random.SystemRandom().shuffle(shuffled)
    with owner_only():
        _write(out / "dictionary.csv", [("column", "kind", "says"), *(
            (name, kind, says) for name, (kind, says) in COLUMNS.items())])
        write_whole(out / "ABOUT.txt", _ABOUT.format(caution=CAUTION, key=key, left_out=left_out))
        return _write(out / ANSWERS, [tuple(COLUMNS), *shuffled])


def _tries(mark: Mark) -> Iterator[tuple[str, Sequence[Part]]]:
    if mark.first is None:
        yield ONLY, mark.parts
        return
    yield FIRST, mark.first.parts  # none where it was changed since: nobody knows it
    yield LAST, mark.parts


def _line(exercise: Exercise, which: str, part: Part) -> tuple[str, ...]:
    kind = next((field.kind for field in exercise.fields if field.name == part.field), "one")
    given = "" if part.given is None else "written" if kind == "text" else _plain(part.given)
    key = "" if kind == "text" else _plain(part.key)
    right = "" if part.key is None else f"{int(part.right)}"
    return part.field, kind, which, given, key, right


def _plain(value: Value | None) -> str:
    if isinstance(value, tuple):
        return "|".join(value) or "none of them"
    return "" if value is None else f"{value:g}" if isinstance(value, int | float) else value


def _write(path: Path, rows: Iterable[Sequence[str]]) -> Path:
    buffer = io.StringIO()
    csv.writer(buffer, lineterminator="\n").writerows(rows)
    return write_whole(path, buffer.getvalue())
