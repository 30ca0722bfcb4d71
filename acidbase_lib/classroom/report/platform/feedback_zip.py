"""Feedback pages in one zip, named as the files came in: so a platform gives each one back."""
from __future__ import annotations

import io
import zipfile
from collections.abc import Mapping
from pathlib import Path

from acidbase_lib.classroom.atomic_write import write_whole
from acidbase_lib.classroom.gradebook.course_folder import CourseFolder
from acidbase_lib.classroom.gradebook.ledger import Ledger
from acidbase_lib.classroom.gradebook.safekeeping.history import HistoryError

NAME = "feedback.zip"
_WHEN = (1980, 1, 1, 0, 0, 0)  # the same pages make the same zip, to the byte


def names_to_give_back(folder: CourseFolder, unit: str, learners: list[str]) -> dict[str, str]:
    """Return what each learner's page is called in the zip: as their file was, but ``.html``.

    Parameters
    ----------
    folder : CourseFolder
        The course; its history knows how each file was called in what the platform gave.
    unit : str
        The sitting.
    learners : list of str
        Whose pages there are.

    Returns
    -------
    dict of str to str
        A learner whose file's name is not known, or stands for somebody else too, has their id.
    """
    try:
        came = Ledger(folder).names(unit)
    except HistoryError:  # told by the marking
        came = {}
    names = {who: _page_name(came[who]) for who in learners if came.get(who)}
    taken = list(names.values())
    return {who: names[who] if who in names and taken.count(names[who]) == 1 else f"{who}.html"
            for who in learners}


def zip_feedback(pages: Path, names: Mapping[str, str], out: Path) -> Path:
    """Write the pages into a zip, whole or not at all.

    Parameters
    ----------
    pages : Path
        The folder with a page a learner.
    names : mapping of str to str
        Learner to the page's name in the zip.
    out : Path
        The zip.

    Raises
    ------
    UnwrittenError
        If there is no room or no right to write.
    """
    buffer = io.BytesIO()
    with zipfile.ZipFile(buffer, "w", zipfile.ZIP_DEFLATED) as archive:
        for learner, name in sorted(names.items(), key=lambda one: one[1]):
            entry = zipfile.ZipInfo(name, _WHEN)
            entry.compress_type = zipfile.ZIP_DEFLATED
            archive.writestr(entry, (pages / f"{learner}.html").read_bytes())
    return write_whole(out, buffer.getvalue())


def _page_name(came: str) -> str:
    """A page's name from its file's: no folder above, nothing that leads elsewhere."""
    parts = [part for part in came.replace("\\", "/").split("/") if part not in {"", ".", ".."}]
    if not parts:
        return ""
    stem = parts[-1][:-len(".ipynb")] if parts[-1].casefold().endswith(".ipynb") else parts[-1]
    return "/".join([*parts[:-1], f"{stem}.html"])
