"""The numbers of an hour in words: how each is named, printed, and what a rule rests on."""
from __future__ import annotations

from collections.abc import Iterable
from typing import Final

from acidbase_lib.reading.kilopascal import both_pressures, pressure, unit_heading

from .body import HourNumbers
from .path import Judged

_NAMED: Final = {  # as a table heads them
    "respiratory_rate": "breaths a minute", "effort": "effort of breathing", "spo2": "SpO2 (%)",
    "pulse": "pulse a minute", "systolic": "systolic pressure (mmHg)",
    "lactate": "lactate (mmol/L)", "consciousness": "consciousness",
    "glucose": "glucose (mmol/L)", "ph": "pH", "paco2": "PaCO2",
    "hco3": "bicarbonate (mmol/L)", "potassium": "potassium (mmol/L)"}
_IN_A_LINE: Final = {
    "respiratory_rate": "{} breaths a minute", "effort": "breathing {}", "spo2": "SpO2 {} %",
    "pulse": "pulse {}", "systolic": "systolic pressure {} mmHg", "lactate": "lactate {} mmol/L",
    "consciousness": "{}", "glucose": "glucose {} mmol/L", "ph": "pH {}",
    "paco2": "PaCO2 {}", "hco3": "bicarbonate {} mmol/L", "potassium": "potassium {} mmol/L"}
_EFFORT: Final = {"easy": "easy", "labored": "hard", "tiring": "hard, and tiring",
                  "shallow": "shallow", "deep": "deep and regular", "none": "none"}
_MIND: Final = {"alert": "awake", "voice": "wakes to the voice", "pain": "moans when pinched",
                "unresponsive": "does not respond"}


def heading(name: str) -> str:
    """How a table names a number, with its unit as the school has it."""
    return unit_heading(_NAMED[name]) if name == "paco2" else _NAMED[name]


def printed(name: str, look: HourNumbers) -> str:
    """One number as a table shows it."""
    value = getattr(look, name)
    if name == "consciousness":
        return _MIND[value]
    if name == "effort":
        return _EFFORT[value]
    if name == "paco2":
        return both_pressures(value)
    return f"{value:.2f}" if name == "ph" else str(value)


def in_a_line(shows: Iterable[str], look: HourNumbers) -> str:
    """What a look showed, in one line: "28 breaths a minute, SpO2 86 %"."""
    return ", ".join(_IN_A_LINE[name].format(
        pressure(look.paco2) if name == "paco2" else printed(name, look)) for name in shows)


def cited(judged: Judged) -> str:
    """The sources of a judgment, in one line."""
    return "; ".join(one.rstrip(".").replace(". (", " (") for one in judged.sources)


