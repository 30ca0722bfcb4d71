"""The home page of a learner's folder, and the notebook view that it opens in."""
from __future__ import annotations

import json
import os
import sys
from importlib.util import find_spec
from pathlib import Path
from typing import Any

from acidbase_lib.classroom.atomic_write import write_whole
from acidbase_lib.classroom.notebooks.read_notebook import UnreadableNotebookError, read_file
from acidbase_lib.classroom.released_course import template_notebook
from acidbase_lib.teaching.widgets.opens_ready import jupyter_path

HOME = "home.ipynb"
_SETTINGS = Path(__file__).with_name("study_settings")


def put_home(target: Path) -> Path | None:
    """Write the home page into a folder where it is absent or an older one of ours.

    Returns
    -------
    Path or None
        The page; None where a file of the learner's own has its name, which is left alone.

    Raises
    ------
    UnwrittenError
        No room or no right to write; what was there before is still there.
    """
    path, newest = target / HOME, template_notebook("home").read_bytes()
    if os.path.lexists(path):
        there = _code_in(path)
        if there is None or any("open_home()" not in code for code in there):
            return None
        if _cells(path) == _cells(template_notebook("home")):
            return path
    return write_whole(path, newest)


def opening_command(start: Path, root: Path) -> tuple[list[str], dict[str, str]]:
    """Return the command that opens a notebook in the notebook view, and its environment.

    What it hides from a learner (another program's tools, news, logos) it hides for this run
    alone: nothing is written into anybody's settings.

    Raises
    ------
    ModuleNotFoundError
        Neither Notebook nor JupyterLab is installed.
    """
    view = next((name for name in ("notebook", "jupyterlab") if find_spec(name)), None)
    if view is None:
        raise ModuleNotFoundError("jupyterlab", name="jupyterlab")
    command = [sys.executable, "-m", view, f"--ServerApp.root_dir={root.resolve()}",
               str(start.resolve())]
    return command, {**os.environ, "JUPYTER_PATH": _before("JUPYTER_PATH", jupyter_path()),
                     "JUPYTER_CONFIG_PATH": _before("JUPYTER_CONFIG_PATH", _SETTINGS)}


def _before(name: str, folder: Path) -> str:
    """A search path of the environment, with a folder of ours in front."""
    return os.pathsep.join(filter(None, (str(folder), os.environ.get(name, ""))))


def _cells(path: Path) -> list[tuple[str, str]] | None:
    """The kind and text of each cell; None where the file is no notebook."""
    try:
        notebook: Any = json.loads(read_file(path))
        return [(cell["cell_type"], "".join(cell["source"])) for cell in notebook["cells"]]
    except (UnreadableNotebookError, ValueError, LookupError, TypeError, RecursionError):
        return None


def _code_in(path: Path) -> list[str] | None:
    """The code of a notebook; None where it holds none, or is none."""
    return [text for kind, text in _cells(path) or () if kind == "code"] or None

