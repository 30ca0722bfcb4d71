"""The form that a chart cell shows in a front end: buttons and boxes that write the cell's text."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Any

import traitlets

from acidbase_lib.teaching.theme import TOKENS

from .answer_check import AnswerCheck
from .assets import asset
from .placed_widget import PlacedWidget

FORM_SCRIPTS = ("placed.js", "chart_text.js", "cell_access.js", "control_choices.js",
                "control_order.js", "control_number.js", "control_text.js", "control_grid.js",
                "check_answer.js", "options_once.js", "chart_form.js")


class ChartForm(PlacedWidget):
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
        Takes a text, records it and returns what the form shows, as plain data; with a second
        argument of True, a written answer is kept and compared with another text.
    check : AnswerCheck, optional
        What *Check my answer* asks; none in a sitting.
    """

    _esm = asset(*FORM_SCRIPTS)
    _css = TOKENS + asset("chart_form.css", "check_answer.css")

    question = traitlets.Dict().tag(sync=True)
    cell_id = traitlets.Unicode().tag(sync=True)
    text = traitlets.Unicode().tag(sync=True)
    state = traitlets.Dict().tag(sync=True)
    checked = traitlets.Dict().tag(sync=True)
    reopened = (
        "Run this cell to show the question. Your answer is kept in the cell's text; "
        "you can also type it there."
    )

    def __init__(
        self,
        question: Mapping[str, Any],
        cell_id: str,
        text: str,
        read: Callable[..., dict[str, Any]],
        check: AnswerCheck | None = None,
    ) -> None:
        self.held: str | None = None
        self.window = ""
        self._read = read
        self._check = check
        super().__init__(
            question=dict(question),
            cell_id=cell_id,
            text=text,
            state={**read(text), "turn": 0},
            checked={**check.follow(text), "turn": 0} if check else {},
        )
        self.on_msg(self._receive)

    def _receive(self, _: Any, content: Any, buffers: Any) -> None:
        """Record the text that the form has written; `held` where it could not write the cell."""
        match content:
            case {"kind": "text", "text": str(text), "turn": int(turn)}:
                self.held = text if content.get("held") else None
                self.state = {**self._read(text), "turn": turn}
                if self._check is not None:
                    self.checked = {**self._check.follow(text), "turn": self.checked["turn"]}
            case {"kind": "compare", "text": str(text), "turn": int(turn)}:
                self.state = {**self._read(text, True), "turn": turn}
            case {"kind": "check", "ask": str(what), "text": str(text), "turn": int(turn)}:
                choice = content.get("choice")
                self.check(what, text, choice if isinstance(choice, int) else -1, turn)

    def check(self, what: str, text: str, choice: int = -1, turn: int | None = None) -> None:
        """Ask the check for something, as its buttons do, and show what it says."""
        if self._check is not None:
            self.checked = {**self._check.ask(what, text, choice),
                            "turn": self.checked["turn"] if turn is None else turn}
