"""Who is behind a code: a file of the course alone, drawn by chance, and how it is forgotten."""
from __future__ import annotations

import csv
import io
import secrets
from collections.abc import Iterable, Mapping
from contextlib import suppress
from pathlib import Path
from typing import Final

from acidbase_lib.classroom.atomic_write import write_whole
from acidbase_lib.classroom.errors import CommandError
from acidbase_lib.classroom.gradebook.course_folder import CourseFolder
from acidbase_lib.classroom.gradebook.safekeeping.history import WROTE, HistoryError
from acidbase_lib.classroom.gradebook.safekeeping.integrity import grading_folder
from acidbase_lib.classroom.gradebook.safekeeping.receipts import history_of
from acidbase_lib.classroom.private import owner_only, tighten

FILE: Final = "research_codes.csv"
ANSWERS: Final = "answers.csv"
HEAD: Final = ("code", "id")
#: Neither vowels, so that no code is a word, nor figures, so that none is a number.
LETTERS: Final = "BCDFGHJKMNPQRSTVWXZ"
LENGTH: Final = 6


def key_file(folder: CourseFolder) -> Path:
    """Return where a course keeps who is behind a code."""
    return grading_folder(folder) / FILE


def codes_kept(path: Path) -> dict[str, str]:
    """Return the code of each learner that has one: learner to code.

    Raises
    ------
    CommandError
        If the file is none of this kit's.
    """
    if not path.is_file():
        return {}
    try:
        rows = list(csv.reader(io.StringIO(path.read_text("utf-8"), newline="")))
        if not rows or tuple(rows[0]) != HEAD:
            raise ValueError
        return {learner: code for code, learner in rows[1:]}
    except (ValueError, UnicodeDecodeError, csv.Error):
        raise CommandError(f"{path} is to tell who is behind which code, and is damaged or none of "
                           "this kit's. Put it back from your own backup of the folder, or move "
                           "it away: new codes are drawn then, unlike the earlier ones") from None


def codes_for(path: Path, learners: Iterable[str]) -> Mapping[str, str]:
    """Return everybody's code; whoever has none yet gets one drawn by chance, and it is kept.

    A code tells nothing of an id: without the file nobody can find one from the other. The same
    learner keeps a code from one export to the next, so that sittings can be put together.
    """
    kept = codes_kept(path)
    new = [learner for learner in learners if learner not in kept]
    taken = set(kept.values())
    for learner in new:
        code = _drawn()
        while code in taken:
            code = _drawn()
        taken.add(code)
        kept[learner] = code
    if new:
        _write(path, kept)
    return kept


def forget(folder: CourseFolder, learner: str, outs: Iterable[Path] = ()) -> tuple[str, int]:
    """Take a learner out of the file of codes and out of every export that is still there.

    Parameters
    ----------
    folder : CourseFolder
        The course.
    learner : str
        The id.
    outs : iterable of Path
        Folders of exports beyond those that the history knows.

    Returns
    -------
    (str, int)
        The code that they had, empty for none, and how many files were changed.
    """
    path = key_file(folder)
    kept = codes_kept(path)
    code = kept.pop(learner, "")
    if not code:
        return "", 0
    places = {Path(one) for one in outs}
    with suppress(HistoryError):  # the erasure tells of it
        places |= {folder.root / line.details["out"] for line in history_of(folder).lines()
                   if line.what == WROTE and line.details}
    # the exports first: after a stop the file still tells which rows are theirs
    changed = sum(_without(place / ANSWERS, code) for place in sorted(places))
    _write(path, kept)
    return code, changed + 1


def _without(path: Path, code: str) -> int:
    if not path.is_file():
        return 0
    with suppress(UnicodeDecodeError, csv.Error):  # no table of ours
        rows = list(csv.reader(io.StringIO(path.read_text("utf-8-sig"), newline="")))
        if not rows or rows[0][:1] != ["learner"]:
            return 0
        left = rows[:1] + [row for row in rows[1:] if row[:1] != [code]]
        if left != rows:
            _write_rows(path, left)
            return 1
    return 0


def _drawn() -> str:
    return "".join(secrets.choice(LETTERS) for _ in range(LENGTH))


def _write(path: Path, kept: Mapping[str, str]) -> None:
    """In the order of the codes: that of the class list would tell who came after whom."""
    _write_rows(path, [HEAD, *sorted((code, learner) for learner, code in kept.items())])


def _write_rows(path: Path, rows: Iterable[Iterable[str]]) -> None:
    buffer = io.StringIO()
    csv.writer(buffer, lineterminator="\n").writerows(rows)
    with owner_only():
        write_whole(path, buffer.getvalue())
    tighten([path])
