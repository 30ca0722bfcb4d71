"""The form that a chart cell shows in a front end: buttons and boxes that write the cell's text."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from html import escape
from importlib.resources import files
from secrets import token_hex
from typing import Any

import anywidget
import traitlets

from .theme import TOKENS

#: A saved notebook holds this in place of the form; the answer is the cell's own text.
REOPENED = (
    "Run this cell to show the question. Your answer is kept in the cell's text; "
    "you can also type it there."
)

_HERE = files("acidbase_lib.teaching")


def _read(*names: str) -> str:
    return "\n".join(_HERE.joinpath(name).read_text(encoding="utf-8") for name in names)


class ChartForm(anywidget.AnyWidget):  # type: ignore[misc]
    """A question's form, bound to the cell that asked for it.

    Parameters
    ----------
    question : mapping
        The question's id and fields, as plain data.
    cell_id : str
        The cell whose text the form writes; empty where the front end did not say.
    text : str
        The cell's text as it was run.
    read : callable
        Takes a text, records it and returns what the form shows, as plain data.

    Attributes
    ----------
    place : str
        The class of the element that the form is drawn in; empty where it is displayed itself.
    """

    _esm = _read("chart_text.js", "chart_form.js")
    _css = TOKENS + _read("chart_form.css")

    question = traitlets.Dict().tag(sync=True)
    cell_id = traitlets.Unicode().tag(sync=True)
    text = traitlets.Unicode().tag(sync=True)
    state = traitlets.Dict().tag(sync=True)
    place = traitlets.Unicode().tag(sync=True)

    def __init__(
        self,
        question: Mapping[str, Any],
        cell_id: str,
        text: str,
        read: Callable[[str], dict[str, Any]],
    ) -> None:
        self.held: str | None = None
        self._read = read
        # A front end of the Jupyter family names its cells; others name them by an address.
        in_place = bool(cell_id) and ":" not in cell_id
        super().__init__(
            question=dict(question),
            cell_id=cell_id,
            text=text,
            state={**read(text), "turn": 0},
            place=f"ab-place-{token_hex(8)}" if in_place else "",
        )
        self.on_msg(self._receive)

    def bundle(self) -> dict[str, Any]:
        """Return what is displayed below the cell, by MIME type.

        A saved notebook keeps what was displayed. A widget would leave "model not found" there for
        the next day; a place to draw in leaves the sentence that says how to go on.
        """
        if not self.place:
            return dict(self._repr_mimebundle_()[0])
        html = f'<div class="{self.place}"><p>{escape(REOPENED)}</p></div>'
        return {"text/plain": REOPENED, "text/html": html}

    def _receive(self, _: Any, content: Any, buffers: Any) -> None:
        """Record the text that the form has written; `held` where it could not write the cell."""
        match content:
            case {"kind": "text", "text": str(text), "turn": int(turn)}:
                self.held = text if content.get("held") else None
                self.state = {**self._read(text), "turn": turn}

    def _repr_mimebundle_(self, **kwargs: Any) -> Any:
        bundle = super()._repr_mimebundle_(**kwargs)
        data, metadata = bundle if isinstance(bundle, tuple) else (bundle, {})
        return {**data, "text/plain": REOPENED}, metadata
