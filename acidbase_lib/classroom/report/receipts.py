"""What the history says of a class, for the instructor: receipts, and files that are the same."""
from __future__ import annotations

import hashlib
from pathlib import Path

from acidbase_lib.classroom.gradebook.course_folder import CourseFolder
from acidbase_lib.classroom.gradebook.safekeeping.class_history import note_pages
from acidbase_lib.classroom.gradebook.safekeeping.history import HistoryError
from acidbase_lib.classroom.gradebook.safekeeping.receipts import (
    history_of,
    receipts_of,
    same_files,
)

from .grade_file import write_table

SHOWN = 20  # groups on the screen


def tell_history(folder: CourseFolder, unit: str, out: Path) -> tuple[str, ...]:
    """Write everyone's receipt into a table, and return what the instructor should know.

    Parameters
    ----------
    folder : CourseFolder
        The course.
    unit : str
        The assignment.
    out : Path
        Where the pages of the class are.
    """
    try:
        receipts = receipts_of(folder, unit)
        place = write_table(out / "receipts.csv", ("id", "unit", "file", "received (UTC)", "line"),
                            [(who, unit, one.fingerprint, one.at, one.line)
                             for who, one in sorted(receipts.items())])
        note_pages(folder, unit, out)
        lines = [f"the same file, to the byte: {', '.join(group)}{_why(folder, unit, file)}"
                 for file, group in same_files(folder, unit)]
        if len(lines) > SHOWN:
            lines[SHOWN:] = [f"and {len(lines) - SHOWN} more groups; receipts.csv has them all"]
        last = history_of(folder).last()
        end = f"; the history has {last.number} lines and ends in {last.chain[:16]}" \
            if last else ""
        return (*lines, f"receipts: {place}{end}")
    except HistoryError as error:
        return (str(error),)


def _why(folder: CourseFolder, unit: str, file: str) -> str:
    released = folder.folder("release", ".", unit) / folder.source_notebook(unit).name
    if released.is_file() and hashlib.sha256(released.read_bytes()).hexdigest() == file:
        return " (the notebook as it was released)"
    return ". That alone does not say why"
