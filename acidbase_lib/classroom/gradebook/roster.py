"""The class list, and whose a file is by its name alone; nothing is guessed."""
from __future__ import annotations

import csv
import io
import os
import re
import unicodedata
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from pathlib import Path

_ID_COLUMNS = ("id", "learner id", "student id", "learner", "student number", "id number",
               "username", "user name", "user", "user id", "login", "login id", "number", "student",
               "email", "e-mail", "email address", "e-mail address")
_NAME_COLUMNS = (("first name", "given name", "given names", "firstname", "first", "forename"),
                 ("last name", "family name", "surname", "lastname", "last"))
_WHOLE_NAME = ("name", "full name", "student name", "learner name", "display name", "student")
_SAFE_ID = re.compile(r"[^/\\\0]{1,128}")
_WINDOWS = os.name == "nt"
_NOT_ON_WINDOWS = re.compile(r'.*[<>:"|?*\x01-\x1f].*|.*\.|(con|prn|aux|nul|com\d|lpt\d)(\..*)?',
                             re.IGNORECASE | re.DOTALL)


class IntakeError(ValueError):
    """A roster or a bundle of files that cannot be used; the text says what and why."""


@dataclass(frozen=True, slots=True)
class RosterLine:
    """One learner of the roster, with the words by which a file name may call them."""

    learner: str
    by_id: tuple[str, ...]
    by_name: tuple[str, ...]
    name: str = ""


def read_roster(path: str | Path) -> tuple[RosterLine, ...]:
    """Read the class list.

    Parameters
    ----------
    path : str or Path
        A CSV file with a heading: a column ``id`` (or what a class list usually calls it), and
        ``first name`` and ``last name``, or ``name``, if files are to be known by names. Commas,
        semicolons or tabs between the columns; UTF-8, or what a spreadsheet writes.

    Raises
    ------
    IntakeError
        If the file is not such a table, or an id is missing, stands twice or cannot name a folder.
    """
    try:
        text = _decoded(Path(path).read_bytes())
        first = text.partition("\n")[0]
        between = max(",;\t", key=first.count)
        rows = list(csv.DictReader(io.StringIO(text, newline=""), delimiter=between))
    except (OSError, UnicodeError, csv.Error) as slip:
        raise IntakeError(f"The roster {path} cannot be read: {slip}. Save it as CSV, UTF-8.") \
            from None
    headings = {_fold(name): name for row in rows[:1] for name in row if name}
    column = next((headings[name] for name in _ID_COLUMNS if name in headings), None)
    if column is None:
        raise IntakeError(f"The roster {path} has no column 'id' "
                          f"(it has: {', '.join(headings) or 'no line'}).")
    names = [next((headings[n] for n in choices if n in headings), None)
             for choices in _NAME_COLUMNS]
    whole = next((headings[n] for n in _WHOLE_NAME if n in headings and headings[n] != column),
                 None)
    lines: list[RosterLine] = []
    for number, row in enumerate(rows, start=2):
        learner = (row[column] or "").strip()
        if not _names_a_folder(learner):
            raise IntakeError(f"The roster {path}, line {number}: the id {learner[:40]!r} is empty "
                              "or cannot name a folder.")
        if any(line.learner == learner for line in lines):
            raise IntakeError(f"The roster {path}, line {number}: the id {learner!r} stands twice.")
        given = [(row[name] or "").strip() if name else "" for name in names]
        if not all(given) and whole:
            last, comma, first = (row[whole] or "").partition(",")
            given = [first.strip(), last.strip()] if comma else [last.strip()]
        known = _words(" ".join(given)) if all(given) else ()
        lines.append(RosterLine(learner, _words(learner), known if len(known) > 1 else (),
                                " ".join(filter(None, given))))
    return tuple(lines)


def owner_of(name: str, roster: Sequence[RosterLine]) -> tuple[str | None, str]:
    """Find whose file this is by its name alone.

    Returns
    -------
    learner : str or None
        None unless exactly one learner fits: by id, or where no id fits by first and last name.
    why_not : str
        Why there is none.
    """
    words = _words(name.removesuffix(".ipynb"))
    by_id = [line for line in roster if _holds(words, line.by_id)]
    by_id = [one for one in by_id if not any(
        one is not other and _holds(other.by_id, one.by_id) for other in by_id)]
    by_name = [line for line in roster if line.by_name and (
        _holds(words, line.by_name) or _holds(words, line.by_name[::-1])
        or "".join(line.by_name) in words or "".join(line.by_name[::-1]) in words)]
    if len(by_id) == 1 and by_name and by_id[0] not in by_name:
        by_id = [*by_id, *by_name]  # the id says one person, the name another
    if len(by_id) == 1 and not by_name and _short_number(by_id[0]):
        return None, (f"it may be {by_id[0].learner}, but a number that short can stand in a "
                      "file's name for other reasons")
    found = by_id or by_name
    if not found:
        return None, "no learner's id or name is in the file's name"
    if len(found) > 1:
        return None, "it may be " + " or ".join(sorted(line.learner for line in found)[:5])
    return found[0].learner, ""


def _names_a_folder(learner: str) -> bool:
    return (_SAFE_ID.fullmatch(learner) is not None and not learner.startswith(".")
            and not (_WINDOWS and _NOT_ON_WINDOWS.fullmatch(learner)))


def _decoded(data: bytes) -> str:
    """A roster's text: UTF-8, or UTF-16 with its mark, or the one-byte code of old spreadsheets."""
    if data[:2] in {b"\xff\xfe", b"\xfe\xff"}:
        return data.decode("utf-16")
    try:
        return data.decode("utf-8-sig")
    except UnicodeDecodeError:
        return data.decode("cp1252")


def _fold(text: str) -> str:
    plain = unicodedata.normalize("NFKD", text.casefold())
    return " ".join("".join(c for c in plain if not unicodedata.combining(c))
                    .replace("_", " ").split())


def _words(text: str) -> tuple[str, ...]:
    """A name's words: folded, without accents, split at whatever is no letter or digit."""
    return tuple(word for word in re.split(r"[\W_]+", _fold(text)) if word)


def _short_number(line: RosterLine) -> bool:
    return len(line.learner) < 4 and line.learner.isdigit()


def _holds(words: Iterable[str], part: Sequence[str]) -> bool:
    """True where ``part`` stands among ``words``, unbroken and in order."""
    words = tuple(words)
    return bool(part) and any(words[i:i + len(part)] == tuple(part)
                              for i in range(len(words) - len(part) + 1))
