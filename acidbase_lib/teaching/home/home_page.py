"""The home page: units, the way on, practice and progress, in a notebook of its own."""
from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path
from typing import Any

import traitlets

from acidbase_lib.caution import CAUTION
from acidbase_lib.teaching.hour.opened import open_practice
from acidbase_lib.teaching.hour.screen import BEDSIDE_HOUR
from acidbase_lib.teaching.memory.remembered import Remembered
from acidbase_lib.teaching.practice.bedside import CLINICAL_PRIORITY
from acidbase_lib.teaching.practice.skills import open_skills
from acidbase_lib.teaching.practice.topics import TOPICS
from acidbase_lib.teaching.practice.what_i_need import WHAT_I_NEED, NeededPractice
from acidbase_lib.teaching.practice.whole_gas import WHOLE_GAS
from acidbase_lib.teaching.theme import TOKENS
from acidbase_lib.teaching.widgets.assets import asset
from acidbase_lib.teaching.widgets.front_end import names_its_cells
from acidbase_lib.teaching.widgets.placed_widget import PlacedWidget

from .before_after import before_and_after
from .learner_units import LearnerUnit, learner_units, next_unit
from .practiced import held_in_words
from .progress import progress_in

ENOUGH = 0.8  # of a unit's points, as after a sitting; below it the unit is worth another look


class HomePage(PlacedWidget):
    """The units of a folder, as a page that leads to them.

    Parameters
    ----------
    folder : Path
        Where the units lie.
    """

    _esm = asset("placed.js", "home.js")
    _css = TOKENS + asset("home.css")

    view = traitlets.Dict().tag(sync=True)
    practice = traitlets.Dict().tag(sync=True)
    progress = traitlets.List().tag(sync=True)
    worth_a_look = traitlets.Dict().tag(sync=True)
    before = traitlets.List().tag(sync=True)
    held = traitlets.Dict().tag(sync=True)
    reopened = "Run this cell to show the units."

    def __init__(self, folder: Path) -> None:
        self.folder = folder
        self.memory = Remembered(folder)
        self._practice: PlacedWidget | None = None
        super().__init__(view=view_of(learner_units(folder)))
        self.on_msg(self._receive)

    def bundle(self, request: Mapping[str, Any]) -> dict[str, Any]:
        """Return what to display: in a terminal, the page in words."""
        shown = super().bundle(request)
        return shown if names_its_cells(request) else {**shown, "text/plain": plain_home(self.view)}

    def _receive(self, _: Any, content: Any, buffers: Any) -> None:
        match content:
            case {"kind": "read again"}:
                self.view = view_of(learner_units(self.folder))
            case {"kind": "practice", "topic": str(topic)}:
                self._start_practice(topic)
            case {"kind": "progress"}:
                units = learner_units(self.folder)
                self.progress = [row for unit in units if (row := progress_row(unit))]
                self.before = before_and_after(units)
                self.worth_a_look = worth_a_look(self.progress)
                self.held = held_in_words(self.memory.refresh())
                self.send({"kind": "progress"})
            case {"kind": "erase"}:
                self._end_practice()
                done = self.memory.erase()
                self.held = held_in_words(self.memory) | ({} if done else {
                    "warning": self.memory.record.said})
                self.send({"kind": "erased"})

    def _end_practice(self) -> None:
        if self._practice is not None:
            self._practice.close()
            self._practice = None
        self.practice = {}

    def _start_practice(self, topic: str) -> None:
        self._end_practice()
        self.memory.refresh()
        if topic == WHAT_I_NEED:
            begun = {Path(unit.path).name[:2] for unit in learner_units(self.folder) if unit.begun}
            self._practice = NeededPractice(self.memory, open_skills(begun, self.memory.held))
        elif topic in (*TOPICS, CLINICAL_PRIORITY, WHOLE_GAS, BEDSIDE_HOUR):
            self._practice = open_practice(topic, self.memory)
        if self._practice is not None:
            self.practice = {"topic": topic, "place": self._practice.place}


def view_of(units: tuple[LearnerUnit, ...]) -> dict[str, Any]:
    """Everything that the page shows, as plain data."""
    on = next_unit(units)
    asked, done = (sum(len(each) for each in parts) for parts in (
        [unit.texts for unit in units], [unit.answered for unit in units]))
    return {
        "units": [_row(unit) for unit in units],
        "next": {} if on is None else {
            "path": on.path, "title": on.title,
            "label": "Go on with" if on.begun else "Start with", "left": _left(on)},
        "said": _said(len(units), done, asked),
        "topics": [*TOPICS, CLINICAL_PRIORITY, BEDSIDE_HOUR, WHOLE_GAS],
        "caution": CAUTION,
    }


def _said(units: int, done: int, asked: int) -> str:
    if not units:
        return ("No units are in this folder. Stop here, and start the course again with: "
                "acidbase study")
    if asked and done == asked:
        return f"All {asked} questions are answered. Practice brings new patients without end."
    return f"{done} of {asked} questions are answered."


def _row(unit: LearnerUnit) -> dict[str, Any]:
    return {"path": unit.path, "title": unit.title, "asked": len(unit.texts),
            "done": len(unit.answered), "said": unit.error or _left(unit),
            "trouble": bool(unit.error)}


def _left(unit: LearnerUnit) -> str:
    asked, done = len(unit.texts), len(unit.answered)
    if not unit.begun:
        return f"Not started. {asked} questions."
    if unit.done:
        return f"Done. All {asked} questions are answered."
    return f"{done} of {asked} answered, {asked - done} left."


def progress_row(unit: LearnerUnit) -> dict[str, Any] | None:
    """One row of the progress table; None for a unit with nothing to count."""
    counted = progress_in(unit) if unit.answered else None
    if counted is None or not (counted.checked or counted.thoughts):
        return None
    kept = counted.thoughts
    return {"title": unit.title, "path": unit.path, "checked": counted.checked,
            "first": counted.first, "now": counted.now, "points": counted.points,
            "maximum": counted.maximum, "thoughts": "" if not kept else
            f"{kept} first {'thought' if kept == 1 else 'thoughts'} kept"}


def worth_a_look(rows: list[dict[str, Any]]) -> dict[str, str]:
    """The unit with the least of its points, and why it is named; a sentence alone where none is.

    Examples
    --------
    >>> row = {"title": "Unit 2", "path": "02", "points": 3.5, "maximum": 8.0}
    >>> worth_a_look([row])["says"]
    'has the fewest of its points: 3.5 of 8.'
    """
    marked = [row for row in rows if row["maximum"]]
    if not marked:
        return {}
    least = min(marked, key=lambda row: row["points"] / row["maximum"])
    if least["points"] >= ENOUGH * least["maximum"]:
        return {"says": "Of what you answered, no unit needs another look. "
                        "Practice keeps it fresh."}
    return {"title": least["title"], "path": least["path"], "says":
            f"has the fewest of its points: {least['points']:g} of {least['maximum']:g}."}


def open_home(folder: Path | None = None) -> HomePage:
    """Show the home page of the folder that the notebook lies in.

    Parameters
    ----------
    folder : Path, optional
        Another folder.
    """
    return HomePage(folder or Path.cwd())


def plain_home(view: Mapping[str, Any]) -> str:
    """The home page in words, for a front end that shows no more than text."""
    lines = [view["said"], *(f"- {unit['title']}: {unit['said']}" for unit in view["units"])]
    return "\n".join([*lines, view["caution"]])
