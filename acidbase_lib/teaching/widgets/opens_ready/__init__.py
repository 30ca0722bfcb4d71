"""What a kernel tells the front-end extension, which opens a unit ready; its files stand beside."""
from __future__ import annotations

import os
from importlib.resources import files
from pathlib import Path
from typing import Any

from acidbase_lib.teaching.widgets.front_end import names_its_cells, request_of

NAME = "acidbase-ready"
HOW_TO_SHOW = "To show all questions, open the Run menu and choose Run All Cells."
_PAGES = frozenset({"HomePage", "QuestionDesk"})  # each stands alone in its notebook
_SEEN = "ACIDBASE_OPENS_READY"  # the extension sets it in the kernels of the kit's notebooks


def extension_folder() -> Path:
    """The extension's own folder, for a page that is built with it."""
    return jupyter_path() / "labextensions" / NAME


def jupyter_path() -> Path:
    """A folder that Jupyter may search for front-end extensions."""
    return Path(str(files(__name__)))


def say_how_to_show(shell: Any) -> None:
    """Say in one sentence how to show the questions, where nothing shows them by itself."""
    if _SEEN not in os.environ and names_its_cells(request_of(shell)):
        shell.display_pub.publish({"text/plain": HOW_TO_SHOW, "text/html": f"<p>{HOW_TO_SHOW}</p>"})


def what_is_open(shell: Any) -> dict[str, Any]:
    """Say which unit the kernel of a notebook has open, and which widgets are alive in it.

    Returns
    -------
    dict
        "unit": the unit's id, form, picks and order, "home" where the home page is shown, or ""
        where nothing is open; "places": the places that living widgets are drawn in.
    """
    from acidbase_lib.teaching.widgets.chart_cell import ChartCells
    from acidbase_lib.teaching.widgets.placed_widget import living_widgets

    magic = shell.find_cell_magic("chart")
    cells = getattr(magic, "__self__", None)
    alive = living_widgets()
    if isinstance(cells, ChartCells):
        unit = unit_words(cells.unit)
    else:
        unit = "home" if any(type(one).__name__ in _PAGES for one in alive) else ""
    return {"unit": unit, "places": sorted(one.place for one in alive)}


def unit_words(unit: Any) -> str:
    """A unit's id, form, picks and order, as the extension reads them in the setup cell."""
    return "|".join(str(getattr(unit, name, "")) for name in ("id", "form", "picks", "order"))
