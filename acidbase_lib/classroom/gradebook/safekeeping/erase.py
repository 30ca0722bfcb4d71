"""One learner erased from a course: gradebook, backups, folders, pages and history; then sought."""
from __future__ import annotations

import csv
import html
import io
import os
import re
import shutil
import sqlite3
import unicodedata
import zipfile
from collections.abc import Iterable, Iterator, Sequence
from contextlib import suppress
from dataclasses import dataclass
from pathlib import Path

from acidbase_lib.classroom.atomic_write import write_whole
from acidbase_lib.classroom.folder_lock import one_at_a_time
from acidbase_lib.classroom.gradebook.course_folder import CourseFolder
from acidbase_lib.classroom.gradebook.gradebook_error import GradebookError, gradebook_trouble
from acidbase_lib.classroom.gradebook.nbgrader_adapter import guard
from acidbase_lib.classroom.private import owner_only

from .erased import erase_from_file, erased_from
from .history import MAY_RETURN, WROTE
from .integrity import gradebook_file, grading_folder, opened, require_whole
from .receipts import history_of

_TABLES = ("grades.csv", "intake.csv", "receipts.csv", "report/learners.csv", "report/ideas.csv",
           "learners.csv", "ideas.csv")
_PAGES = ("report/class_report.html", "class_report.html")
_ALONE, _BETWEEN = r"(?<![^\W_]){}(?![^\W_])", r"[\W_]*"  # a word, and what parts words
_PACKED = frozenset({".gz", ".tgz", ".bz2", ".xz", ".7z", ".rar", ".zst"})  # not looked into
_LARGEST = 200_000_000  # bytes of one file that are searched


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
          outs: Iterable[Path] = ()) -> Erasure:
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
    if file is None:
        raise GradebookError("This gradebook is on a database server, with backups of its own: "
                             "erase the learner there first, with nbgrader db student remove.")
    if near := _in_other_letters(file, learner):
        raise GradebookError(f"Nobody is called {learner[:40]!r} here, but somebody is called "
                             f"{near!r}. Nothing was erased: write the id as the roster has it.")
    history = history_of(folder)
    places = {folder.root / page["out"] for line in history.lines() if line.what == WROTE
              and (page := line.details)} | {Path(out).resolve() for out in outs}
    with owner_only(), one_at_a_time(grading):
        # the tombstone first: after a stop nothing brings the learner back meanwhile
        lines = {line.number for line in history.lines()
                 if line.details and _tells_of(line.details, learner, names)}
        erased = erased_from(folder)
        if lines or learner not in erased:
            history.erase(lines, {"key": erased.key, "print": erased.print_of(learner)})
        try:
            if file.is_file():
                with opened(file, folder.db_url) as book:
                    known = guard.people(book).get(learner, "")
                names = [*names, *([known] if known else [])]
                rows = erase_from_file(file, learner)
            else:
                rows = 0
            backups = sum(bool(erase_from_file(one, learner))
                          for one in sorted((grading / "backups").glob("*.db")))
            for one in file.parent.glob("*.kept"):  # put aside by a restore: often damaged
                with suppress(sqlite3.DatabaseError):  # then the search names it
                    backups += bool(erase_from_file(one, learner))
        except sqlite3.DatabaseError as error:
            raise GradebookError(gradebook_trouble(folder.db_url, error)) from error
        folders = _remove_folders(folder, learner)
        files = sum(_clean(place, learner, names) for place in sorted(places) if place.is_dir())
    searched, left, unread = _search([folder.root, *sorted(places)],
                                     names if is_too_short(learner) else [learner, *names])
    return Erasure(rows, backups, folders, files, len(lines), searched, tuple(left), tuple(unread))


def _in_other_letters(file: Path, learner: str) -> str:
    """An id that differs in small and capital letters alone, where only that one is there."""
    if not file.is_file():
        return ""
    with opened(file) as book:
        known = guard.people(book)
    return "" if learner in known else next(
        (one for one in known if one.casefold() == learner.casefold()), "")


def let_return(folder: CourseFolder, learner: str) -> bool:
    """Let a learner who was erased be taken in again; False where nobody of that id was erased."""
    erased = erased_from(folder)
    if learner not in erased:
        return False
    history_of(folder).add(MAY_RETURN, {"print": erased.print_of(learner)})
    return True


def _tells_of(details: object, learner: str, names: Sequence[str]) -> bool:
    if isinstance(details, dict):
        return details.get("learner") == learner or any(
            _holds(str(value), [learner, *names]) for key, value in details.items()
            if key in {"from", "to"} and isinstance(value, str))
    return False


def _remove_folders(folder: CourseFolder, learner: str) -> int:
    gone = 0
    for step in ("submitted", "autograded", "feedback"):
        top = folder.root / folder.steps[step]
        for place in {top / learner, *(folder.folder(step, learner, unit.name) for unit in
                                       folder.folder("source", ".", "x").parent.glob("*"))}:
            if place.is_dir() and not place.is_symlink() and top in place.parents:
                shutil.rmtree(place)
                gone += 1
    return gone


def _clean(out: Path, learner: str, names: Sequence[str]) -> int:
    """Take a learner out of a folder of pages; a report about them goes as a whole."""
    changed = 0
    wanted = [*names] if is_too_short(learner) else [learner, *names]
    page = out / "feedback" / f"{learner}.html"
    if page.is_file():
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
        if path.is_file() and _holds(_text(path.read_bytes()), wanted):
            path.unlink()
            changed += 1
    return changed


def _is_theirs(heading: Sequence[str], row: Sequence[str], learner: str,
               wanted: Sequence[str]) -> bool:
    """True for a row about a learner: by its id, or by words in what is no number."""
    cells = dict(zip(heading, row, strict=False))
    return cells.get("id", "").removeprefix("'") == learner or any(
        _holds(cell, wanted) for cell in row if not re.fullmatch(r"[\d.,]*", cell))


def _search(places: Sequence[Path], wanted: Sequence[str]) -> tuple[int, list[Path], list[Path]]:
    """Look for ids and names in every file, its path and what a zip holds."""
    searched, left, unread = 0, [], []
    seen: set[Path] = set()
    for place in places:
        for path in sorted(place.rglob("*")):
            if path in seen:
                continue
            seen.add(path)
            if path.is_symlink() or not path.is_file():  # by its name, and where a link leads
                lead = f" {os.readlink(path)}" if path.is_symlink() else ""
                if _holds(path.name + lead, wanted):
                    left.append(path)
                continue
            searched += 1
            try:
                if path.stat().st_size > _LARGEST or path.suffix.lower() in _PACKED:
                    unread.append(path)
                elif _holds(path.relative_to(place).as_posix(), wanted) or any(
                        _holds(text, wanted) for text in _texts(path)):
                    left.append(path)
            except Exception:  # whatever an unpacker makes of a damaged file
                unread.append(path)
    return searched, left, unread


def _texts(path: Path) -> Iterator[str]:
    if zipfile.is_zipfile(path):
        with zipfile.ZipFile(path) as archive:
            for entry in archive.infolist():
                yield entry.filename
                if Path(entry.filename).suffix.lower() in {*_PACKED, ".zip"}:
                    raise NotImplementedError(entry.filename)  # packed twice
                with archive.open(entry) as file:
                    yield _text(file.read(_LARGEST))
    else:
        data = path.read_bytes()
        yield _text(data)
        if data.count(0) > len(data) // 8:
            yield data.decode("utf-16-le", "replace")


def _text(data: bytes) -> str:
    """A file's text with the usual escapes undone: of JSON, of HTML."""
    text = data.decode("utf-8", "replace")
    if "\\u" in text:
        text = re.sub(r"\\u([0-9a-fA-F]{4})", lambda m: chr(int(m[1], 16)), text)
    return html.unescape(text) if "&" in text else text


def is_too_short(learner: str) -> bool:
    """True for an id such as 12, which stands in many files for other reasons."""
    return len(learner) < 4 and learner.isdigit()


def _folded(text: str) -> str:
    plain = unicodedata.normalize("NFKD", text.casefold())
    return "".join(c for c in plain if not unicodedata.combining(c))


def _holds(text: str, wanted: Sequence[str]) -> bool:
    """True where an id stands in a text as a word, or a name's words beside each other."""
    plain = _folded(text)
    for one in wanted:
        words = [re.escape(word) for word in re.split(r"[\W_]+", _folded(one)) if word]
        if not words:
            continue
        orders = [words, words[::-1]] if len(words) > 1 else [words]
        if any(re.search(_ALONE.format(_BETWEEN.join(order)), plain) for order in orders):
            return True
    return False
