"""The question desk's notebook: a heading and one locked cell, in a school's folder."""
from __future__ import annotations

import json
import os
from pathlib import Path
from typing import Any

from acidbase_lib.caution import CAUTION
from acidbase_lib.classroom.atomic_write import write_whole
from acidbase_lib.classroom.notebooks.read_notebook import UnreadableNotebookError, read_file

from .fields import QuestionDeskError

NAME = "question_desk.ipynb"
_CODE = ("from acidbase_lib.classroom.question_desk.question_desk import open_questions\n"
         "open_questions()")


def question_notebook() -> dict[str, Any]:
    """Return the notebook; where the kit's front end is, it opens ready."""
    texts = (("markdown", "# The question desk\n\nWrite questions of your own and keep your "
              "school's ranges. If nothing stands below, click into the cell and press "
              f"Shift+Enter.\n\n{CAUTION}"), ("code", _CODE))
    locked = {"deletable": False, "editable": False}
    cells: list[dict[str, Any]] = [
        {"cell_type": kind, "id": f"questions-{number}", "source": text, "metadata": dict(locked)
         | ({"jupyter": {"source_hidden": True}} if kind == "code" else {})}
        | ({"outputs": [], "execution_count": None} if kind == "code" else {})
        for number, (kind, text) in enumerate(texts)]
    return {"cells": cells, "nbformat": 4, "nbformat_minor": 5, "metadata": {
        "kernelspec": {"name": "python3", "display_name": "Python 3", "language": "python"}}}


def put_question_desk(folder: Path) -> Path:
    """Write the notebook into a school's folder, whole or not at all.

    Raises
    ------
    QuestionDeskError
        A file of that name is there that is no question desk.
    UnwrittenError
        No room or no right to write.
    """
    path = folder / NAME
    if os.path.lexists(path) and not _is_ours(path):
        raise QuestionDeskError(f"{path} is a file of your own and was left alone; give it another "
                                "name")
    return write_whole(path, json.dumps(question_notebook(), indent=1) + "\n")


def _is_ours(path: Path) -> bool:
    try:
        cells = json.loads(read_file(path))["cells"]
        code = ["".join(cell["source"]) for cell in cells if cell["cell_type"] == "code"]
    except (UnreadableNotebookError, ValueError, LookupError, TypeError, RecursionError):
        return False
    return code == [_CODE]
