"""The screen of worked readings: a line at each press, then blanks to fill."""
from __future__ import annotations

import secrets
from collections.abc import Sequence
from typing import Any

import traitlets

from acidbase_lib.caution import CAUTION
from acidbase_lib.reading.blood_gas import BloodGas
from acidbase_lib.reading.kilopascal import pressure
from acidbase_lib.reading.settings_in_force import in_force
from acidbase_lib.teaching.explanations.printed_numbers import range_text
from acidbase_lib.teaching.patients.cases import draw_case
from acidbase_lib.teaching.seeded_random import SeededRandom
from acidbase_lib.teaching.theme import CSS
from acidbase_lib.teaching.widgets.assets import asset
from acidbase_lib.teaching.widgets.placed_widget import PlacedWidget

from .worked_steps import Walk, WorkedReading, fading, steps_to_the_name, steps_to_the_word

_PARTIAL = "partially compensated"
_FRESH: tuple[dict[str, Any], ...] = (
    {"disorder": "metabolic acidosis", "compensation": _PARTIAL},
    {"disorder": "metabolic alkalosis", "compensation": _PARTIAL},
    {"disorder": "respiratory acidosis", "compensation": _PARTIAL, "chronic": True},
    {"disorder": "respiratory alkalosis", "compensation": _PARTIAL, "chronic": True},
)
_FULL: tuple[dict[str, Any], ...] = (
    {"disorder": "respiratory acidosis", "compensation": "fully compensated", "chronic": True},
    {"disorder": "metabolic alkalosis", "compensation": "fully compensated"},
    {"disorder": "respiratory alkalosis", "compensation": "uncompensated", "chronic": False},
)


class WorkedSteps(PlacedWidget):
    """Worked readings whose lines come one by one; later ones have blanks.

    Parameters
    ----------
    title : str
        Names the whole.
    readings : sequence of WorkedReading
        In order, more and more of each left to the reader.
    """

    _esm = asset("placed.js", "worked.js")
    _css = CSS + asset("chart_form.css", "practice.css")

    view = traitlets.Dict().tag(sync=True)

    def __init__(self, title: str, readings: Sequence[WorkedReading]) -> None:
        self.title, self.walk = title, Walk(readings)
        super().__init__(view=view_of(self.walk, title))
        self.on_msg(self._told)

    def _told(self, _widget: object, message: dict[str, Any], _buffers: object) -> None:
        if message.get("want") == "next":
            self.walk.go_on(str(message.get("choice", "")))
        elif message.get("want") == "again":
            self.walk = Walk(self.walk.readings)
        self.view = view_of(self.walk, self.title)

    @property
    def text(self) -> str:
        """The whole in words, every step told: what the widget shows to the end."""
        return "\n".join(f"{reading.title}: {_numbers(reading.gas)}\n"
                         + "\n".join(f"{n}. {step.reason}"
                                     for n, step in enumerate(reading.steps, start=1))
                         for reading in self.walk.readings)

    @property
    def reopened(self) -> str:  # type: ignore[override]
        """What stands in a saved notebook until the cell is run again."""
        return f"Run this cell to show: {self.title}. {CAUTION}"

    def __repr__(self) -> str:
        return self.reopened


def view_of(walk: Walk, title: str) -> dict[str, Any]:
    """Everything that the screen shows, as plain data; no blank's answer before it is filled."""
    reading = walk.reading
    step = None if walk.complete else reading.steps[walk.reached]
    last, school = walk.at + 1 == len(walk.readings), in_force()
    return {
        "title": title,
        "patient": f"{reading.title} ({walk.at + 1} of {len(walk.readings)})",
        "columns": ["number", "result", "range"],
        "rows": [["pH", f"{reading.gas.ph:.2f}", range_text("pH", school)],
                 ["PaCO2", pressure(reading.gas.paco2), range_text("PaCO2", school)],
                 ["bicarbonate", f"{reading.gas.hco3:.0f} mmol/L",
                  range_text("bicarbonate", school)]],
        "said": list(walk.said),
        "asks": step.asks if step else "",
        "choices": list(step.choices) if step and walk.blank else [],
        "button": ("Fill in" if walk.blank else "Show the next step" if step else
                   "Start again" if last else "Next patient"),
        "want": "again" if step is None and last else "next",
        "caution": CAUTION,
    }


def _numbers(gas: BloodGas) -> str:
    return f"pH {gas.ph:.2f}, PaCO2 {pressure(gas.paco2)}, bicarbonate {gas.hco3:.0f} mmol/L."


def explore_steps_to_the_name(seed: str = "") -> WorkedSteps:
    """Walk from three numbers to the name: Mrs. Quill, Mr. Ives, then a fresh patient."""
    fresh = _fresh(_FRESH, seed)
    patients = [("Mrs. Quill", BloodGas(7.29, 62, 29)), ("Mr. Ives", BloodGas(7.25, 28, 12)),
                ("A new patient", fresh)]
    return WorkedSteps("Three steps to the name", fading(patients, steps_to_the_name))


def explore_steps_to_the_word(seed: str = "") -> WorkedSteps:
    """Walk from three numbers to the word for compensation, ending with a fresh patient."""
    fresh = _fresh(_FULL, seed)
    patients = [("Mrs. Quill, that first morning", BloodGas(7.29, 62, 29)),
                ("Mr. Ives", BloodGas(7.25, 28, 12)), ("A new patient", fresh)]
    return WorkedSteps("Steps to the word for compensation", fading(patients, steps_to_the_word))


def _fresh(wishes: Sequence[dict[str, Any]], seed: str) -> BloodGas:
    draw = SeededRandom(f"worked|{seed or secrets.token_hex(8)}")
    return draw_case(**draw.pick(wishes), seed=draw.seed).gas
