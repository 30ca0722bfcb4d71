"""The class list, as a school keeps it or a platform gives it, read from a table."""
from __future__ import annotations

import csv
import io
import os
import re
import unicodedata
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from pathlib import Path

from acidbase_lib.classroom.plain_letters import printable, seen
from acidbase_lib.teaching.questions.spelling import few_marks

ID_COLUMNS = ("id", "learner id", "student id", "learner", "student number", "id number",
               "username", "user name", "user", "user id", "login", "login id", "number", "student",
               "email", "e-mail", "email address", "e-mail address")
NAME_COLUMNS = (("first name", "given name", "given names", "firstname", "first", "forename"),
                 ("last name", "family name", "surname", "lastname", "last"))
WHOLE_NAME = ("name", "full name", "student name", "learner name", "display name", "student")
_SECTION = ("section", "sections", "course section", "group", "class group", "class", "cohort")
# a column of ids by whatever name; not the number of a telephone or a room
LIKE_AN_ID = re.compile(r"(?!.*(?:phone|mobile|room|seat|course|section|class|group|assignment))"
                         r"(?:.* )?(?:id|identifier|username|login|number|e-?mail)")
_ABOUT_POINTS = ("points possible", "possible points", "maximum points", "max points",
                 "total points", "out of")
# letters that come apart into no accent and letter, as platforms write them
_PLAIN = str.maketrans({"ø": "o", "ł": "l", "đ": "d", "ð": "d", "ħ": "h", "ı": "i", "ŧ": "t",
                        "æ": "ae", "œ": "oe", "þ": "th"})
_AS_TWO = str.maketrans({"ø": "oe", "ö": "oe", "ä": "ae", "ü": "ue", "å": "aa"})
_TEST_LEARNER = {("test", "student"), ("student", "test")}  # whom a platform adds to every export
_SPREADSHEETS = (b"PK\x03\x04", b"\xd0\xcf\x11\xe0")  # .xlsx and .ods, .xls
_SAFE_ID = re.compile(r"[^/\\\0]{1,128}")
_WINDOWS = os.name == "nt"
_NOT_ON_WINDOWS = re.compile(r'.*[<>:"|?*\x01-\x1f].*|.*\.|(con|prn|aux|nul|com\d|lpt\d)(\..*)?',
                             re.IGNORECASE | re.DOTALL)
LONGEST_ID = 200  # as a folder's name; most systems take 255 [bytes]
LONGEST_NAME = 1_000  # of a file with its folders [characters]


class IntakeError(ValueError):
    """A roster or a bundle of files that cannot be used; the text says what and why."""


@dataclass(frozen=True, slots=True)
class RosterLine:
    """One learner of the roster, with the words by which a file name may call them."""

    learner: str
    by_id: tuple[str, ...]
    by_name: tuple[str, ...]
    name: str = ""
    section: str = ""
    also: tuple[tuple[str, ...], ...] = ()

    @property
    def spelled(self) -> tuple[tuple[str, ...], ...]:
        """The name's words where a letter that a platform does not have is written as two."""
        if not self.by_name:
            return ()
        whole = unicodedata.normalize("NFC", few_marks(self.name))
        long = words_of(whole.casefold().translate(_AS_TWO))
        return (long,) if long and long != self.by_name else ()


def read_roster(path: str | Path) -> tuple[RosterLine, ...]:
    """Read the class list.

    Parameters
    ----------
    path : str or Path
        A CSV file with a heading: a column ``id`` (or what a class list usually calls it), and
        ``first name`` and ``last name``, or ``name``, if files are to be known by names. Other
        columns of ids, such as a username beside a student number, call their owner too. Commas,
        semicolons or tabs between the columns; UTF-8, or what a spreadsheet writes. A row that
        begins with "Points Possible" is nobody's, and so is the learner "Student, Test" that a
        platform adds.

    Raises
    ------
    IntakeError
        If the file is not such a table, or an id is missing, stands twice or cannot name a folder.
    """
    try:
        data = Path(path).read_bytes()
        if data[:4] in _SPREADSHEETS:
            raise IntakeError(f"The roster {path} is a spreadsheet's own file. Open it there, "
                              "choose Save As or Download, then CSV (UTF-8), and name that file.")
        text = decoded(data)
        first = text.partition("\n")[0]
        between = max(",;\t", key=first.count)
        reader = csv.DictReader(io.StringIO(text, newline=""), delimiter=between)
        rows = [(reader.line_num, row) for row in reader if not _is_about_points(row)]
    except (OSError, UnicodeError, csv.Error) as error:
        raise IntakeError(f"The roster {path} cannot be read: {error}. Save it as CSV, UTF-8.") \
            from None
    headings = {_fold(name): name for name in reader.fieldnames or () if name}
    ids_there = [headings[name] for name in (*ID_COLUMNS, *(
        name for name in headings if LIKE_AN_ID.fullmatch(name) and name not in ID_COLUMNS))
        if name in headings]
    if not ids_there:
        raise IntakeError(f"The roster {path} has no column 'id' "
                          f"(it has: {', '.join(headings) or 'no line'}).")
    column, *others = ids_there
    names = [next((headings[n] for n in choices if n in headings), None)
             for choices in NAME_COLUMNS]
    whole = next((headings[n] for n in WHOLE_NAME if n in headings and headings[n] != column),
                 None)
    section = next((headings[n] for n in _SECTION if n in headings), None)
    lines: dict[str, RosterLine] = {}
    ids: set[str] = set()
    for number, row in rows:
        given = [(row[name] or "").strip() if name else "" for name in names]
        if not all(given) and whole:
            last, comma, first = (row[whole] or "").partition(",")
            given = [first.strip(), last.strip()] if comma else [last.strip()]
        given = [seen(one) for one in given]
        known = words_of(" ".join(given))
        if known in _TEST_LEARNER:
            continue
        learner = (row[column] or "").strip()
        if (not _names_a_folder(learner) or printable(learner) != learner or "\n" in learner
                or "\t" in learner or len(learner.encode()) > LONGEST_ID):
            raise IntakeError(f"The roster {path}, line {number}: the id {learner[:40]!r} is empty "
                              "or cannot name a folder.")
        if (as_seen := unicodedata.normalize("NFC", learner)) in ids:  # é is written in two ways
            raise IntakeError(f"The roster {path}, line {number}: the id {learner!r} stands twice.")
        ids.add(as_seen)
        lines[learner] = RosterLine(
            learner, words_of(learner), known if all(given) and len(known) > 1 else (),
            " ".join(filter(None, given)),
            seen((row[section] or "").strip()) if section else "",
            tuple(_other_ids([row[name] or "" for name in others if name != whole])))
    if not lines:
        raise IntakeError(f"The roster {path} names nobody.")
    return tuple(lines.values())


def _is_about_points(row: Mapping[str, object]) -> bool:
    """True for a row that is nobody's: what a platform's grade export says of the columns."""
    cells = [_fold(cell).strip() for cell in row.values() if isinstance(cell, str)]
    told = [cell for cell in cells if cell]
    return not told or told[0].startswith(_ABOUT_POINTS)


def _other_ids(cells: Iterable[str]) -> Iterator[tuple[str, ...]]:
    """Yield what else may call somebody: ids of other columns, of an address also its beginning.

    A worksheet's "Participant 884213" calls by its number alone.
    """
    for cell in cells:
        words = words_of(cell)
        yield from {words, words_of(cell.partition("@")[0]),
                    words[1:] if len(words) == 2 and words[1].isdigit() else words} - {()}


def _names_a_folder(learner: str) -> bool:
    return (_SAFE_ID.fullmatch(learner) is not None and not learner.startswith(".")
            and not (_WINDOWS and _NOT_ON_WINDOWS.fullmatch(learner)))


def decoded(data: bytes) -> str:
    """A roster's text: UTF-8, or UTF-16 with its mark, or the one-byte code of old spreadsheets."""
    if data[:2] in {b"\xff\xfe", b"\xfe\xff"}:
        return data.decode("utf-16")
    try:
        return data.decode("utf-8-sig")
    except UnicodeDecodeError:
        return data.decode("cp1252")


def _fold(text: str) -> str:
    plain = unicodedata.normalize("NFKD", few_marks(text.casefold())).translate(_PLAIN)
    return " ".join("".join(c for c in plain if not unicodedata.combining(c))
                    .replace("_", " ").split())


def words_of(text: str) -> tuple[str, ...]:
    """A name's words: folded, without accents, split at whatever is no letter or digit."""
    return tuple(word for word in re.split(r"[\W_]+", _fold(text)) if word)
