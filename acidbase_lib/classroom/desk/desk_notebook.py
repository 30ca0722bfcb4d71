"""The desk's notebook: a heading and one locked cell, written into a course's folder."""
from __future__ import annotations

import json
import os
from pathlib import Path
from typing import Any

from acidbase_lib.caution import CAUTION
from acidbase_lib.classroom.atomic_write import write_whole
from acidbase_lib.classroom.notebooks.read_notebook import UnreadableNotebookError, read_file

from .panels import DeskError

NAME = "desk.ipynb"
_IMPORT = "from acidbase_lib.classroom.desk.desk import open_desk"


def desk_notebook(out: str = "", school: str = "") -> dict[str, Any]:
    """Return the notebook.

    It does not start by itself as a lesson does: it reads the course's settings, which are code.

    Parameters
    ----------
    out : str
        The folder of results, where it is not the usual one.
    school : str
        The school's own folder, where it was named.
    """
    said = ", ".join(f"{name}={json.dumps(value)}" for name, value in
                     (("out", out), ("school", school)) if value)
    texts = (
        ("markdown", "# The desk\n\nClick into the cell below and press Shift+Enter: the desk "
         "opens. You may close it at any time and open it again the same way; a run that was "
         f"ended in the middle is begun again by the same press.\n\n{CAUTION}"),
        ("code", f"{_IMPORT}\nopen_desk({said})"))
    locked = {"deletable": False, "editable": False}
    cells: list[dict[str, Any]] = [
        {"cell_type": kind, "id": f"desk-{number}", "metadata": dict(locked), "source": text}
        | ({"outputs": [], "execution_count": None} if kind == "code" else {})
        for number, (kind, text) in enumerate(texts)]
    return {"cells": cells, "nbformat": 4, "nbformat_minor": 5, "metadata": {
        "kernelspec": {"name": "python3", "display_name": "Python 3", "language": "python"}}}


def put_desk(home: Path, out: str = "", school: str = "") -> Path:
    """Write the desk's notebook into a folder, whole or not at all.

    Raises
    ------
    DeskError
        A file of that name is there that is no desk.
    UnwrittenError
        No room or no right to write.
    """
    path = home / NAME
    if os.path.lexists(path) and not _is_a_desk(path):
        raise DeskError(f"{path} is a file of your own and was left alone; give it another name")
    return write_whole(path, json.dumps(desk_notebook(out, school), indent=1) + "\n")


def _is_a_desk(path: Path) -> bool:
    try:
        cells = json.loads(read_file(path))["cells"]
        code = ["".join(cell["source"]) for cell in cells if cell["cell_type"] == "code"]
    except (UnreadableNotebookError, ValueError, LookupError, TypeError, RecursionError):
        return False
    return len(code) == 1 and code[0].startswith(_IMPORT)
