"""A platform's results file of a quiz: which column is what, and each row's answers.

Three shapes are known by their columns: a row a person with a column a question (or a column a
part of it); a row an answer, with person, question and what was given; either with the options'
letters, their names in the quiz's file, or their texts.
"""
from __future__ import annotations

import csv
import io
import re
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path

from acidbase_lib.classroom.gradebook.roster import (
    ID_COLUMNS,
    LIKE_AN_ID,
    NAME_COLUMNS,
    WHOLE_NAME,
    decoded,
    words_of,
)
from acidbase_lib.classroom.phrases import number_of
from acidbase_lib.teaching.questions.exercise import Exercise

from .quiz_words import Piece, field_called

LARGEST = 50_000_000  # [bytes]
_SPREADSHEETS = (b"PK\x03\x04", b"\xd0\xcf\x11\xe0")
_QUESTION = ("question", "question id", "question title", "question name", "item", "item id",
             "item identifier", "item title", "item name", "question identifier")
_ANSWER = ("answer", "response", "given", "given answer", "given response", "answer given",
           "learner answer", "learner response", "student answer", "student response",
           "selected", "selected answer", "choice", "value")
_PART = ("part", "field", "line", "response identifier", "response id", "answer part")
_POINTS = ("points", "score", "mark", "marks", "points awarded", "points earned", "item score")
_ATTEMPT = ("attempt", "attempt number", "attempt no", "try")
_PERSON = (*WHOLE_NAME, "person", "participant", "candidate", "respondent")
_NO_PERSON = re.compile(r"\b(?:question|item|response|answer|attempt|quiz|test|result|session|"
                        r"assessment|part|score)\b")
# a column that tells of an answer, and is none
_ABOUT = re.compile(r"\b(?:points?|score|marks?|grade|max|maximum|possible|seconds|time|duration|"
                    r"feedback|correct|right|key|status|state|attempts?|flagged|comment)\b")


class QuizFileError(ValueError):
    """A results file that cannot be used; the text says what its columns would have to be."""


@dataclass(frozen=True, slots=True)
class Answered:
    """One row's answers: who, at which attempt, and what to each question.

    ``ids`` and ``names`` are the cells that tell who; ``unknown`` is a question that is none of
    the quiz's.
    """

    row: int
    ids: tuple[str, ...]
    names: tuple[str, ...]
    attempt: str
    pieces: tuple[tuple[str, Piece], ...]
    unknown: str = ""


@dataclass(frozen=True, slots=True)
class QuizFile:
    """What a results file holds: its shape in words, its rows, and columns that were not read."""

    shape: str
    rows: tuple[Answered, ...]
    questions: frozenset[str]
    passed_over: tuple[str, ...]


def read_quiz_file(path: Path, exercises: Mapping[str, Exercise]) -> QuizFile:
    """Read a results file.

    Parameters
    ----------
    path : Path
        A CSV with a heading; commas, semicolons or tabs; UTF-8, or what a spreadsheet writes.
    exercises : mapping of str to Exercise
        The questions that are in the quiz.

    Raises
    ------
    QuizFileError
        The file cannot be read, or its columns are of no shape that is known.
    """
    heading, rows = _table(path)
    folded = [" ".join(words_of(cell)) for cell in heading]
    ids, names = _people(folded)
    question, answer = _column(folded, _QUESTION), _column(folded, _ANSWER)
    attempt = _column(folded, _ATTEMPT)
    if not ids and not any(names):
        raise QuizFileError(f"{path} has no column that tells who answered: a column of ids as on "
                            f"the roster, or of names (it has: {', '.join(heading)[:300]})")
    calls = _Calls(exercises)

    def who(row: Sequence[str]) -> tuple[tuple[str, ...], tuple[str, ...], str]:
        first_last = " ".join(row[place] for place in names[0] if row[place].strip())
        return (tuple(row[place].strip() for place in ids),
                tuple(filter(None, [first_last, *(row[place].strip() for place in names[1])])),
                "" if attempt is None else row[attempt].strip())

    if question is not None and answer is not None:
        part, points = _column(folded, _PART), _column(folded, _POINTS)
        made = []
        for line, row in rows:
            called, rest = calls.found(row[question])
            field = row[part].strip() if part is not None else rest if called and (
                field_called(exercises[called], rest) is not None) else ""
            piece = Piece(line, field, row[answer],
                          None if points is None else _number(row[points]))
            made.append(Answered(line, *who(row), ((called, piece),) if called else (),
                                 "" if called else row[question].strip() or "(no question)"))
        used = {*ids, *names[0], *names[1], question, answer, part, points, attempt}
        return QuizFile("a row an answer", tuple(made),
                        frozenset(q for one in made for q, _ in one.pieces),
                        tuple(h for place, h in enumerate(heading) if place not in used))
    columns, told, passed_over = _question_columns(heading, exercises, calls)
    if not columns:
        raise QuizFileError(
            f"no column of {path} is a question of this quiz, and it has not both a column "
            "'question' and a column 'answer'. A question is known by its id or its title in the "
            f"quiz, such as {next(iter(exercises))} or Question "
            f"{number_of(next(iter(exercises)))}; is the unit right?")
    used = {*ids, *names[0], *names[1], attempt}
    made = [Answered(line, *who(row), tuple(
        (called, Piece(line, field, row[place], _number(row[told[called]])
                       if not field and called in told else None))
        for place, (called, field) in columns.items())) for line, row in rows]
    return QuizFile("a row a person", tuple(made), frozenset(q for q, _ in columns.values()),
                    tuple(h for place, h in passed_over.items() if place not in used))


def _table(path: Path) -> tuple[list[str], list[tuple[int, list[str]]]]:
    try:
        data = path.read_bytes()
        if len(data) > LARGEST:
            raise QuizFileError(f"{path} is larger than {LARGEST:,} bytes")
        if data[:4] in _SPREADSHEETS:
            raise QuizFileError(f"{path} is a spreadsheet's own file. Open it there, choose Save "
                                "As or Download, then CSV (UTF-8), and name that file.")
        text = decoded(data)
        first = text.partition("\n")[0]
        reader = csv.reader(io.StringIO(text, newline=""),
                            delimiter=max(",;\t", key=first.count))
        rows = [(reader.line_num, row) for row in reader if any(cell.strip() for cell in row)]
    except (OSError, UnicodeError, csv.Error) as error:
        raise QuizFileError(f"{path} cannot be read: {error}. Save it as CSV, UTF-8.") from None
    if len(rows) < 2:
        raise QuizFileError(f"{path} has no rows below its heading")
    (_, heading), *below = rows
    return heading, [(line, row + [""] * (len(heading) - len(row))) for line, row in below]


def _people(folded: Sequence[str]) -> tuple[list[int], tuple[list[int], list[int]]]:
    """The columns of ids; of first and last name; of whole names."""
    both = [_column(folded, choices) for choices in NAME_COLUMNS]
    halves = [place for place in both if place is not None]
    whole = [place for place, name in enumerate(folded) if name in _PERSON
             and place not in halves]
    ids = [place for place, name in enumerate(folded)
           if name in {" ".join(words_of(one)) for one in ID_COLUMNS} or (
               LIKE_AN_ID.fullmatch(name) and not _NO_PERSON.search(name))
           or name in _PERSON]  # what is called a person may be told by id
    return ids, (halves if len(halves) == 2 else [], whole)


def _column(folded: Sequence[str], names: Sequence[str]) -> int | None:
    return next((folded.index(name) for name in names if name in folded), None)


def _question_columns(heading: Sequence[str], exercises: Mapping[str, Exercise], calls: _Calls,
                      ) -> tuple[dict[int, tuple[str, str]], dict[str, int], dict[int, str]]:
    """By place: the question and field of a column; points by question; columns not read."""
    columns: dict[int, tuple[str, str]] = {}
    points: dict[str, int] = {}
    others: dict[int, str] = {}
    for place, head in enumerate(heading):
        called, rest = calls.found(head)
        if not called:
            others[place] = head
        elif (field := field_called(exercises[called], rest)) is not None:
            columns[place] = called, field.name
        elif _ABOUT.search(rest) and len(rest.split()) <= 6:
            others[place] = head
            if rest in _POINTS:
                points.setdefault(called, place)
        elif (called, "") in columns.values():
            raise QuizFileError(f"two columns hold the answers to question {number_of(called)}; "
                                "take out the one that does not count")
        else:
            columns[place] = called, ""
    return columns, points, others


class _Calls:
    """Which question a heading or a cell names: by id, or by the title that the quiz gave it."""

    def __init__(self, exercises: Mapping[str, Exercise]) -> None:
        ids = "|".join(sorted(map(re.escape, exercises), key=len, reverse=True))
        numbers = "|".join(sorted((re.escape(number_of(one)) for one in exercises),
                                  key=len, reverse=True))
        self._by_number = {number_of(one): one for one in exercises}
        self._name = re.compile(rf"(?<![A-Za-z0-9])({ids})(?![A-Za-z0-9-])|"
                                rf"\bquestion\s+({numbers})(?![0-9])|"
                                rf"^[\s*#]*({numbers})(?![0-9])", re.IGNORECASE)

    def found(self, text: str) -> tuple[str, str]:
        """Return the question, and what else the text says, folded; nothing where none is named."""
        named = self._name.search(text)
        if named is None:
            return "", ""
        given = named[1] or named[2] or named[3]
        called = given.lower() if named[1] else self._by_number[given]
        before = re.sub(r"unit_\w*$", "", text[:named.start()])
        rest = re.sub(r"\bquestion$", "", " ".join(words_of(before)))
        after = re.sub(r"^(?:answer|response|given)\b|\b(?:answer|response|given)$", "",
                       " ".join(_words(text[named.end():])))
        return called, f"{rest} {after}".strip()


def _words(text: str) -> Iterator[str]:
    """Words as a field's name has them: an underscore belongs to RESPONSE_2."""
    return (word.strip(":()[]/-.,*#") for word in text.replace("_RESPONSE", " RESPONSE").split()
            if word.strip(":()[]/-.,*#"))


def _number(text: str) -> float | None:
    try:
        return float(text.strip().replace(",", "."))
    except ValueError:
        return None
