"""Widgets drawn in a place their cell's output keeps, so that a reopened notebook reads well."""

from __future__ import annotations

from collections.abc import Mapping
from secrets import token_hex
from typing import Any

import anywidget
import traitlets
from IPython.core.getipython import get_ipython

from acidbase_lib.teaching.escaping import escape
from acidbase_lib.teaching.worded import script_words

from .front_end import names_its_cells, request_of


class PlacedWidget(anywidget.AnyWidget):  # type: ignore[misc]
    """A widget that leaves a sentence, not an error, in a saved notebook.

    A saved notebook keeps what was displayed. A widget would leave "model not found" there for the
    next day. This one displays an element that holds a sentence, and its script draws into that
    element: begin the script with ``placed.js`` and export
    ``{ initialize: drawInPlace(render), render }``.

    Attributes
    ----------
    place : str
        The class of the element that the widget is drawn in.
    reopened : str
        The sentence.
    words : dict
        The script's sentences in a school's own words, by the kit's.
    """

    reopened = "Run this cell to show it."
    place = traitlets.Unicode().tag(sync=True)
    words = traitlets.Dict().tag(sync=True)

    def __init__(self, **values: Any) -> None:
        super().__init__(place=f"ab-place-{token_hex(8)}", words=script_words(), **values)

    def bundle(self, request: Mapping[str, Any]) -> dict[str, Any]:
        """Return what to display for a request, by MIME type."""
        if names_its_cells(request):
            html = f'<div class="{self.place}"><p>{escape(self.reopened)}</p></div>'
            return {"text/plain": self.reopened, "text/html": html}
        made = super()._repr_mimebundle_()
        data = made[0] if isinstance(made, tuple) else made
        return {**(data or {}), "text/plain": self.reopened}

    def _repr_mimebundle_(self, **kwargs: Any) -> tuple[dict[str, Any], dict[str, Any]]:
        return self.bundle(request_of(get_ipython())), {}


def living_widgets() -> list[PlacedWidget]:
    """The widgets of this kernel that a front end can still speak to."""
    from ipywidgets.widgets import widget

    return [one for one in getattr(widget, "_instances", {}).values()
            if isinstance(one, PlacedWidget) and one.comm is not None]
