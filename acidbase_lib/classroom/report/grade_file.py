"""A plain grade file for a learning management system: id, score, maximum, state."""
from __future__ import annotations

import csv
import io
import re
from collections.abc import Iterable, Sequence
from pathlib import Path

from acidbase_lib.classroom.atomic_write import write_whole
from acidbase_lib.classroom.phrases import DECIDE, number_of
from acidbase_lib.classroom.plain_letters import printable

from .results import LearnerResult

COLUMNS = ("id", "score", "maximum", "state")
# the wide forms begin a formula where a spreadsheet is set to Japanese or Chinese
_FORMULA = ("=", "+", "-", "@", "\t", "\r", "\n", "\uff1d", "\uff0b", "\uff0d", "\uff20")
# where another spreadsheet begins a new cell
_INSIDE = re.compile(r"([;|\t\r\n]\s*+)(?=[=+@\uff1d\uff0b\uff0d\uff20-])")


def safe_cell(text: str) -> str:
    """Text that a spreadsheet will not run as a formula: an apostrophe is put before = + - @.

    Also behind a semicolon or another mark at which a spreadsheet of another country splits.

    Examples
    --------
    >>> safe_cell("=1+1"), safe_cell("a;=1+1"), safe_cell("a-b")
    ("'=1+1", "a;'=1+1", 'a-b')
    """
    text = _INSIDE.sub(r"\1'", text)
    return "'" + text if text.startswith(_FORMULA) else text


def grade_rows(results: Iterable[LearnerResult]) -> tuple[tuple[str, str, str, str], ...]:
    """One row a learner; a submission that could not be marked has an empty score, never 0.

    The state also says how many written answers wait for a person: the score is without them;
    and where a person must decide whether there is a mark at all.
    """
    return tuple(
        (safe_cell(r.learner), "" if r.score is None else f"{r.score:g}", f"{r.maximum:g}",
         state_in_words(r)) for r in results)


def state_in_words(result: LearnerResult) -> str:
    """What became of a hand-in: also how many answers wait, or must be decided; and if late."""
    waits = (f", {len(result.waiting)} waiting" if result.waiting else
             ", a person must decide" if result.why.startswith(DECIDE) else "")
    return f"{result.state}{waits}{', late' if result.late else ''}"


def decided_rows(results: Iterable[LearnerResult]) -> tuple[str, ...]:
    """What was decided afterwards, a cell a learner; of one learner alone without the reason."""
    return tuple(safe_cell("; ".join(
        f"{note.what} ({note.reason})" if note.for_all else note.what for note in r.notes))
        for r in results)


def comment_rows(results: Iterable[LearnerResult]) -> tuple[str, ...]:
    """What a person wrote beside each learner's answers, a cell a learner."""
    return tuple(safe_cell("; ".join(
        f"{number_of(question)}: {' '.join(text.split())}"
        for question, text in sorted(r.comments.items()))) for r in results)


def write_grade_file(path: str | Path, results: Iterable[LearnerResult]) -> Path:
    """Write the grade file whole or not at all.

    Parameters
    ----------
    path : path
        The CSV to write.
    results : iterable of LearnerResult
        One a learner.

    Returns
    -------
    Path
        The file written.

    Notes
    -----
    UTF-8 *without* a byte order mark: the file is for a program that looks for a column named
    "id", and importers that do not expect the mark read it as part of that name. It holds no
    names, so nothing is garbled in a spreadsheet. Tables meant for people
    (:func:`write_table`) carry the mark.
    """
    results = tuple(results)
    rows: list[Sequence[str]] = [COLUMNS, *grade_rows(results)]
    for column, cells in (("decided afterwards", decided_rows(results)),
                          ("comments", comment_rows(results))):
        if any(cells):  # a column more where there is something to say
            rows = [(*row, said) for row, said in zip(rows, (column, *cells), strict=True)]
    return _write(Path(path), rows, "utf-8")


def write_table(path: str | Path, header: Sequence[str], rows: Iterable[Sequence[object]]) -> Path:
    """Write a table for people: UTF-8, with the byte order mark that spreadsheets need for an é."""
    body = [[safe_cell(c) if isinstance(c, str) else "" if c is None else f"{c}" for c in row]
            for row in rows]
    plain = all(cell.isascii() for row in (header, *body) for cell in row)
    return _write(Path(path), (header, *body), "utf-8" if plain else "utf-8-sig")


def _write(path: Path, rows: Iterable[Sequence[str]], encoding: str) -> Path:
    buffer = io.StringIO()
    csv.writer(buffer, lineterminator="\r\n").writerows(
        [[printable(cell) for cell in row] for row in rows])
    # a name of another system may hold what no text can: half a letter does not stop the class
    return write_whole(path, buffer.getvalue().encode(encoding, "backslashreplace"))
