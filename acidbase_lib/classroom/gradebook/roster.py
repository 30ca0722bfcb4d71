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

from acidbase_lib.classroom.plain_letters import printable, seen
from acidbase_lib.teaching.questions.spelling import few_marks

_ID_COLUMNS = ("id", "learner id", "student id", "learner", "student number", "id number",
               "username", "user name", "user", "user id", "login", "login id", "number", "student",
               "email", "e-mail", "email address", "e-mail address")
_NAME_COLUMNS = (("first name", "given name", "given names", "firstname", "first", "forename"),
                 ("last name", "family name", "surname", "lastname", "last"))
_WHOLE_NAME = ("name", "full name", "student name", "learner name", "display name", "student")
_SECTION = ("section", "sections", "course section", "group", "class group", "class", "cohort")
_SAFE_ID = re.compile(r"[^/\\\0]{1,128}")
_WINDOWS = os.name == "nt"
_NOT_ON_WINDOWS = re.compile(r'.*[<>:"|?*\x01-\x1f].*|.*\.|(con|prn|aux|nul|com\d|lpt\d)(\..*)?',
                             re.IGNORECASE | re.DOTALL)
LONGEST_ID = 200  # as a folder's name; most systems take 255 [bytes]
LONGEST_NAME = 1_000  # of a file with its folders [characters]
# what people and programs call any file; an id of such words alone tells whose a file is to nobody
_COMMON = frozenset({
    "assignment", "attempt", "blood", "checkpoint", "copy", "course", "draft", "exam", "file",
    "final", "form", "gas", "homework", "ipynb", "jupyter", "late", "my", "new", "notebook",
    "paper", "part", "quiz", "resubmission", "revised", "sitting", "submission", "submitted",
    "test", "the", "unit", "untitled", "upload", "version", "week", "work"})


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
        reader = csv.DictReader(io.StringIO(text, newline=""), delimiter=between)
        rows = list(reader)
    except (OSError, UnicodeError, csv.Error) as error:
        raise IntakeError(f"The roster {path} cannot be read: {error}. Save it as CSV, UTF-8.") \
            from None
    headings = {_fold(name): name for name in reader.fieldnames or () if name}
    column = next((headings[name] for name in _ID_COLUMNS if name in headings), None)
    if column is None:
        raise IntakeError(f"The roster {path} has no column 'id' "
                          f"(it has: {', '.join(headings) or 'no line'}).")
    names = [next((headings[n] for n in choices if n in headings), None)
             for choices in _NAME_COLUMNS]
    whole = next((headings[n] for n in _WHOLE_NAME if n in headings and headings[n] != column),
                 None)
    section = next((headings[n] for n in _SECTION if n in headings), None)
    lines: dict[str, RosterLine] = {}
    ids: set[str] = set()
    for number, row in enumerate(rows, start=2):
        learner = (row[column] or "").strip()
        if (not _names_a_folder(learner) or printable(learner) != learner or "\n" in learner
                or "\t" in learner or len(learner.encode()) > LONGEST_ID):
            raise IntakeError(f"The roster {path}, line {number}: the id {learner[:40]!r} is empty "
                              "or cannot name a folder.")
        if (as_seen := unicodedata.normalize("NFC", learner)) in ids:  # é is written in two ways
            raise IntakeError(f"The roster {path}, line {number}: the id {learner!r} stands twice.")
        ids.add(as_seen)
        given = [(row[name] or "").strip() if name else "" for name in names]
        if not all(given) and whole:
            last, comma, first = (row[whole] or "").partition(",")
            given = [first.strip(), last.strip()] if comma else [last.strip()]
        given = [seen(one) for one in given]
        known = _words(" ".join(given)) if all(given) else ()
        lines[learner] = RosterLine(learner, _words(learner), known if len(known) > 1 else (),
                                    " ".join(filter(None, given)),
                                    seen((row[section] or "").strip()) if section else "")
    return tuple(lines.values())


class Owners:
    """Whose a file is by its name alone; one look-up a file, however long the roster is.

    Parameters
    ----------
    roster : sequence of RosterLine
        The class list.
    assignment : str
        What is handed in, such as "02_primary_disorder": its words in a file's name tell of nobody.
    """

    def __init__(self, roster: Sequence[RosterLine], assignment: str = "") -> None:
        self._assignment = _words(assignment)
        self._ids, self._names = _Index(), _Index()
        for line in roster:
            self._ids.add(line.by_id, line)
            for name in {line.by_name, line.by_name[::-1], ("".join(line.by_name),),
                         ("".join(line.by_name[::-1]),)}:
                if line.by_name:
                    self._names.add(name, line)

    def of(self, name: str) -> tuple[str | None, str]:
        """Find whose file this is.

        Returns
        -------
        learner : str or None
            None unless exactly one learner fits: by id, or where no id fits by first and last name.
        why_not : str
            Why there is none.
        """
        learner, why, _ = self.found(name)
        return learner, why

    def found(self, name: str) -> tuple[str | None, str, tuple[str, ...]]:
        """Find whose file this is, see `of`; and where it may be several people's, whose."""
        written = name[:LONGEST_NAME].removesuffix(".ipynb")
        words, names_unit = _without(_words(written), self._assignment)
        by_name = self._names.found(words)
        by_id = _as_written(written, self._ids.found(words))
        by_id = [one for one in by_id if not any(
            len(other.by_id) > len(one.by_id) and _holds(other.by_id, one.by_id)
            for other in by_id)]
        strong = [one for one in by_id if one in by_name or not self._why_weak(one, names_unit)]
        if strong or by_name:
            by_id = strong
        if len(by_id) == 1 and by_name and by_id[0] not in by_name:
            by_id = [*by_id, *by_name]  # the id says one person, the name another
        if len(by_id) == 1 and not by_name and (
                why := self._why_weak(by_id[0], names_unit)):
            return None, f"it may be {by_id[0].learner}, but {why}", (by_id[0].learner,)
        found = by_id or by_name
        if not found:
            return None, "no learner's id or name is in the file's name", ()
        if len(found) > 1:
            may_be = tuple(sorted({line.learner for line in found}))
            return None, f"it may be {' or '.join(may_be[:5])}", may_be
        return found[0].learner, "", ()

    def _why_weak(self, line: RosterLine, names_unit: bool) -> str:
        """Why an id is too common to tell whose a file is; nothing where it is not."""
        if line.learner.isdigit() and len(line.learner) < 4:
            return "a number that short can stand in a file's name for other reasons"
        if re.fullmatch(r"(?:19|20)[0-9]{2}", line.learner):
            return "a year can stand in a file's name for other reasons"
        common = _COMMON if names_unit else _COMMON | set(self._assignment)
        return ("that word can stand in a file's name for other reasons"
                if common.issuperset(line.by_id) else "")


def owner_of(name: str, roster: Sequence[RosterLine]) -> tuple[str | None, str]:
    """Find whose one file is; see ``Owners.of``."""
    return Owners(roster).of(name)


class _Index:
    """Roster lines by the words that call them."""

    def __init__(self) -> None:
        self._lines: dict[tuple[str, ...], list[RosterLine]] = {}
        self._lengths: set[int] = set()

    def add(self, words: tuple[str, ...], line: RosterLine) -> None:
        """Let these words, unbroken and in order, call this line."""
        if words:
            self._lines.setdefault(words, []).append(line)
            self._lengths.add(len(words))

    def found(self, words: tuple[str, ...]) -> list[RosterLine]:
        """Return every line that some of the words call, once."""
        found: dict[str, RosterLine] = {}
        for start in range(len(words)):
            for length in self._lengths:
                for line in self._lines.get(words[start:start + length], ()):
                    found[line.learner] = line
        return list(found.values())


def _without(words: tuple[str, ...], part: tuple[str, ...]) -> tuple[tuple[str, ...], bool]:
    """The words less an unbroken part, an empty word in its place; and whether it was there."""
    if not part:
        return words, False
    kept: list[str] = []
    place, there = 0, False
    while place < len(words):
        if words[place:place + len(part)] == part:
            kept.append("")
            place, there = place + len(part), True
        else:
            kept.append(words[place])
            place += 1
    return tuple(kept), there


def _as_written(name: str, found: list[RosterLine]) -> list[RosterLine]:
    """Of ids that differ in case or accents alone, those that the name spells exactly."""
    alike: dict[tuple[str, ...], list[RosterLine]] = {}
    for line in found:
        alike.setdefault(line.by_id, []).append(line)
    exact = tuple(re.split(r"[\W_]+", name))
    chosen: list[RosterLine] = []
    for lines in alike.values():
        same = [line for line in lines
                if _holds(exact, tuple(filter(None, re.split(r"[\W_]+", line.learner))))]
        chosen += same if len(lines) > 1 and same else lines
    return chosen


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
    plain = unicodedata.normalize("NFKD", few_marks(text.casefold()))
    return " ".join("".join(c for c in plain if not unicodedata.combining(c))
                    .replace("_", " ").split())


def _words(text: str) -> tuple[str, ...]:
    """A name's words: folded, without accents, split at whatever is no letter or digit."""
    return tuple(word for word in re.split(r"[\W_]+", _fold(text)) if word)


def _holds(words: Iterable[str], part: Sequence[str]) -> bool:
    """True where ``part`` stands among ``words``, unbroken and in order."""
    words = tuple(words)
    return bool(part) and any(words[i:i + len(part)] == tuple(part)
                              for i in range(len(words) - len(part) + 1))
