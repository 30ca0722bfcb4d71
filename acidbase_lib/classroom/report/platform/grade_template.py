"""The grade table that a platform gave, filled in: every byte but the marks stays as it was."""
from __future__ import annotations

import re
import unicodedata
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path

from acidbase_lib.classroom.atomic_write import write_whole
from acidbase_lib.classroom.report.results import LearnerResult

LARGEST = 50_000_000  # [bytes]
_MOST_TOLD = re.compile(r"(?:max(?:imum|points|\.)?|total|points?|pts)\W{0,3}"
                        r"(?:points?|pts|grade)?\W{0,3}(\d{1,4}(?:[.,]\d{1,4})?)", re.IGNORECASE)
_MOST_ROW = re.compile(r"(?:points|marks) possible|maximum(?: points| grade)?", re.IGNORECASE)
_NUMBER = re.compile(r"\d{1,4}(?:[.,]\d{1,6})?")


class TemplateError(ValueError):
    """A grade table that cannot be filled in; the text says why and what would help."""


@dataclass(frozen=True, slots=True)
class Cell:
    """One cell: what it says, and where it stands in the text, its quotes included."""

    value: str
    start: int
    end: int


@dataclass(frozen=True, slots=True)
class Filled:
    """What came of filling a table in.

    Parameters
    ----------
    path : Path
        The filled table.
    column, by : str
        The column filled, and the one by whose ids it was filled.
    filled : int
        Learners whose mark stands in it now.
    left : tuple of str
        Learners in it whose mark is not whole yet: their cells are as they were.
    missing : tuple of str
        Learners with a mark who are not in it.
    replaced : int
        Cells that held another mark before.
    most : float or None
        The maximum that the table tells, where it is not ours.
    """

    path: Path
    column: str
    by: str
    filled: int
    left: tuple[str, ...]
    missing: tuple[str, ...]
    replaced: int
    most: float | None = None


def fill_template(template: Path, out: Path, results: Sequence[LearnerResult], column: str,
                  id_column: str = "") -> Filled:
    """Write a platform's grade table with the marks in it.

    Parameters
    ----------
    template : Path
        As the platform gave it: a CSV with a heading, whatever its columns, separator, quotes,
        line ends and letters.
    out : Path
        Where to write; another file than the template.
    results : sequence of LearnerResult
        A mark that is not whole, because something waits for a person or could not be read, is
        left as it is in the table; it is never a zero.
    column : str
        The heading of the marks' column, or how it begins.
    id_column : str
        The heading of the ids' column; found by the ids themselves where left out.

    Raises
    ------
    TemplateError
        If the table cannot be read, or a column is not there or not plain.
    UnwrittenError
        If the table cannot be written.
    """
    if out.resolve() == template.resolve():
        raise TemplateError(f"{out} would be written over the table itself; choose another --out")
    text, encoding = _read(template)
    rows = [row for row in _rows(text) if any(cell.value.strip() for cell in row)]
    if len(rows) < 2:
        raise TemplateError(f"{template} has no rows below its heading")
    heading = [cell.value.strip().lstrip("\ufeff").strip() for cell in rows[0]]
    place = _column(heading, column, template)
    known = {_folded(result.learner): result for result in results}
    by = _column(heading, id_column, template) if id_column else _ids(rows, known, template)
    if not any(_of(row, by) in known for row in rows[1:]):
        raise TemplateError(f"no cell of the column {heading[by]!r} of {template} is an id of this "
                            "class")
    comma = _writes_commas(rows)
    changes: list[tuple[int, int, str]] = []
    seen: set[str] = set()
    left, filled, replaced = [], 0, 0
    for row in rows[1:]:
        result = known.get(_of(row, by))
        if result is None or place >= len(row):
            continue
        if result.learner in seen:
            raise TemplateError(f"{template} has {result.learner!r} twice in the column "
                                f"{heading[by]!r}; name the right column with --id-column")
        seen.add(result.learner)
        if result.score is None or result.waiting:
            left.append(result.learner)
            continue
        cell, points = row[place], f"{result.score:.10g}"
        filled += 1
        if not _is_number(cell.value, result.score):
            replaced += _NUMBER.fullmatch(cell.value.strip()) is not None
            changes.append((cell.start, cell.end, _like(
                text[cell.start:cell.end], points.replace(".", ",") if comma else points)))
    for start, end, new in reversed(changes):
        text = text[:start] + new + text[end:]
    write_whole(out, text.encode(encoding))
    maximum = max((result.maximum for result in results), default=0.0)
    most = _most(rows, heading, place)
    return Filled(out, heading[place], heading[by], filled, tuple(sorted(left)),
                  tuple(sorted(r.learner for r in results
                               if r.score is not None and r.learner not in seen)), replaced,
                  most if most is not None and abs(most - maximum) > 1e-6 else None)


def _read(path: Path) -> tuple[str, str]:
    """A table's text and by which letters it is written; encoded again it is the same bytes."""
    try:
        if path.stat().st_size > LARGEST:
            raise TemplateError(f"{path} is larger than {LARGEST:,} bytes")
        data = path.read_bytes()
    except OSError as error:
        raise TemplateError(f"{path} cannot be read: {error.strerror}") from None
    if data[:4] == b"PK\x03\x04":
        raise TemplateError(f"{path} is a spreadsheet's own file; save it as CSV")
    for encoding, begins in (("utf-16-le", b"\xff\xfe"), ("utf-16-be", b"\xfe\xff"), ("utf-8", b""),
                             ("latin-1", b"")):
        try:
            text = data.decode(encoding) if data.startswith(begins) else ""
        except UnicodeDecodeError:
            continue
        if text and text.encode(encoding) == data:
            return text, encoding
    raise TemplateError(f"{path} is empty, or no table of text")


def _rows(text: str) -> Iterator[list[Cell]]:
    """Yield the rows with the place of every cell; a quote begins and ends a cell, twice is one."""
    first = text.partition("\n")[0]
    between = max(",;\t", key=first.count)
    row: list[Cell] = []
    at, end = (1 if text.startswith("\ufeff") else 0), len(text)
    while at <= end:
        start = at
        if text[at:at + 1] == '"':
            at += 1
            while at < end and (text[at] != '"' or text[at + 1:at + 2] == '"'):
                at += 2 if text[at] == '"' else 1
            at += 1
        while at < end and text[at] not in (between, "\r", "\n"):
            at += 1
        at = min(at, end)
        raw = text[start:at]
        value = raw[1:-1].replace('""', '"') if len(raw) > 1 and raw[0] == raw[-1] == '"' else raw
        row.append(Cell(value, start, at))
        if at >= end:
            break
        if text[at] == between:
            at += 1
            continue
        at += 2 if text[at:at + 2] == "\r\n" else 1
        yield row
        row = []
    yield row


def _column(heading: Sequence[str], name: str, template: Path) -> int:
    """The column of that heading, a number behind it or not; else the only one that begins so."""
    wanted = _folded(name)
    exact = [place for place, one in enumerate(heading) if _folded(one) == wanted]
    begun = [place for place, one in enumerate(heading) if _folded(one).startswith(wanted)]
    whole = [place for place in begun
             if _folded(re.sub(r"\s*\([^()]*\)\s*$", "", heading[place])) == wanted]
    found = exact or whole or begun
    if len(found) == 1 and wanted:
        return found[0]
    there = ", ".join(repr(heading[place]) for place in (found or range(len(heading))))[:400]
    raise TemplateError(f"{template} has {'several columns' if found else 'no column'} "
                        f"{name!r}: {there}. Write the heading as it stands there")


def _ids(rows: Sequence[Sequence[Cell]], known: Mapping[str, LearnerResult],
         template: Path) -> int:
    """The column whose cells are ids of the class, each once; the one with the most of them."""
    best: list[tuple[int, int]] = []
    for place in range(len(rows[0])):
        ids = [one for row in rows[1:] if (one := _of(row, place)) in known]
        if ids and len(ids) == len(set(ids)):
            best.append((len(ids), place))
    most = max((count for count, _ in best), default=0)
    found = [place for count, place in best if count == most]
    if not found:
        raise TemplateError(f"no column of {template} holds the ids of this class, such as "
                            f"{next(iter(known.values())).learner!r}" if known else
                            "nobody of this class is in the gradebook")
    alike = {tuple(_of(row, place) if _of(row, place) in known else "" for row in rows[1:])
             for place in found}
    if len(alike) > 1:
        names = " and ".join(repr(rows[0][place].value) for place in found)
        raise TemplateError(f"the columns {names} of {template} hold ids of this class, but of "
                            "different people in one row; name the right one with --id-column")
    return found[0]


def _of(row: Sequence[Cell], place: int) -> str:
    """The id in a row, as ids are compared, without the sign that marks it as a text."""
    return _folded(row[place].value.strip().lstrip("'#")) if place < len(row) else ""


def _folded(text: str) -> str:
    return " ".join(unicodedata.normalize("NFC", text).casefold().split())


def _is_number(text: str, score: float) -> bool:
    text = text.strip()
    return _NUMBER.fullmatch(text) is not None and abs(
        float(text.replace(",", ".")) - score) < 1e-9


def _like(old: str, points: str) -> str:
    """The points, in quotes where the cell had them."""
    return f'"{points}"' if old.startswith('"') else points


def _writes_commas(rows: Iterable[Sequence[Cell]]) -> bool:
    """True where the table writes its broken numbers with a comma."""
    numbers = [cell.value.strip() for row in rows for cell in row]
    broken = [one for one in numbers if re.fullmatch(r"\d{1,4}[.,]\d{1,6}", one)]
    return bool(broken) and all("," in one for one in broken)


def _most(rows: Sequence[Sequence[Cell]], heading: Sequence[str], place: int) -> float | None:
    """The maximum that the table tells: in the heading, in a column or a row of its own."""
    if found := _MOST_TOLD.search(heading[place]):
        return float(found[1].replace(",", "."))
    for at, name in enumerate(heading):
        if re.fullmatch(r"max(imum)?( grade| points| score)?", name, re.IGNORECASE):
            told = {row[at].value.strip() for row in rows[1:] if at < len(row)}
            if len(told) == 1 and _NUMBER.fullmatch(one := told.pop()):
                return float(one.replace(",", "."))
    for row in rows[1:4]:
        one = row[place].value.strip() if place < len(row) else ""
        if _NUMBER.fullmatch(one) and any(_MOST_ROW.fullmatch(cell.value.strip()) for cell in row):
            return float(one.replace(",", "."))
    return None
