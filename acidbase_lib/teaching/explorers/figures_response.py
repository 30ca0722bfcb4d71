"""The response band as a picture: hours and days across, the value that answers up."""
from __future__ import annotations

from collections.abc import Iterable
from math import sqrt

from acidbase_lib.physiology.units import MMHG_PER_KPA
from acidbase_lib.reading.kilopascal import bare_pressure, kpa_first, school_unit
from acidbase_lib.reading.lab_settings import LabSettings
from acidbase_lib.reading.settings_in_force import in_force
from acidbase_lib.teaching.explanations.response import (
    LONGEST,
    Standing,
    standing,
    standing_sentence,
)

from .svg import Figure, Scale, framed, words

RESPONSE_PACO2 = (12, 90)
RESPONSE_HCO3 = (5, 46)

_LEFT, _RIGHT, _TOP, _BOTTOM = 46, 424, 34, 350  # the frame inside a 440 x 420 picture
_TICKS = ((1, "1 h"), (6, "6 h"), (24, "1 day"), (72, "3 days"), (120, "5 days"))
_HIGHEST = {"PaCO2": 90, "HCO3": 50}
_STYLE = (
    ".ab-band .line{stroke:var(--ab-control,#7d858e);fill:none;stroke-width:1.2}"
    ".ab-band .usual{stroke:var(--ab-control,#7d858e);stroke-dasharray:3 4;fill:none}"
    ".ab-band .expected{fill:var(--ab-accent-panel,#f5edf3);stroke:var(--ab-accent,#74386b);"
    "stroke-width:1.5}.ab-band .way{stroke-dasharray:6 4}"
    ".ab-band .dot{fill:var(--ab-ink,#1f2328);stroke:var(--ab-paper,#fff);stroke-width:3}"
)


def response_figure(paco2: float, hco3: float, hours: float,
                    settings: LabSettings | None = None, *,
                    uid: str = "response") -> Figure:
    """Draw where the value that answers belongs, from the first minutes to a week, and the patient.

    Parameters
    ----------
    paco2 : float
        Arterial carbon dioxide tension. [mmHg]
    hco3 : float
        Bicarbonate. [mmol/L]
    hours : float
        Time since the disorder began. [h]
    settings : LabSettings
        The ranges and rules in use.
    uid : str
        Keeps the picture's inner names apart from those of another picture on the page.

    Returns
    -------
    Figure
        The picture, and the sentence that reads it.

    Raises
    ------
    QuantityError
        If a value is outside its credible limits.
    """
    settings = settings or in_force()
    here = standing(paco2, hco3, hours, settings)
    sentence = standing_sentence(here)
    quantity = here.quantity or "HCO3"
    value = here.value if here.value is not None else hco3
    body = "".join((*_frame(quantity, settings), *_bands(here, quantity),
                    *_patient(here, quantity, value)))
    return framed(body, f"The expected response over hours and days: {_named(quantity)}",
                  sentence, uid=uid, look="ab-band", style=_STYLE, height=420)


def _named(quantity: str) -> str:
    return f"PaCO2, {school_unit()}" if quantity == "PaCO2" else "bicarbonate, mmol/L"


def _x(hours: float) -> float:
    """The first hours get the room: the root of time is what is drawn."""
    return Scale(0, 1, _LEFT, _RIGHT).at(sqrt(hours / LONGEST))


def _y(value: float, quantity: str) -> float:
    return Scale(0, _HIGHEST[quantity], _BOTTOM, _TOP).at(value)


def _frame(quantity: str, settings: LabSettings) -> Iterable[str]:
    usual = settings.paco2 if quantity == "PaCO2" else settings.hco3
    yield (f'<rect class="line" x="{_LEFT}" y="{_TOP}" width="{_RIGHT - _LEFT}" '
           f'height="{_BOTTOM - _TOP}"/>')
    yield words(_LEFT, _TOP - 12, _named(quantity), "b")
    for edge in (usual.low, usual.high):
        yield f'<path class="usual" d="M{_LEFT} {_y(edge, quantity)}H{_RIGHT}"/>'
    kpa = quantity == "PaCO2" and kpa_first()
    step = 20 if quantity == "PaCO2" else 10
    ticks = ({f"{tick}": tick * MMHG_PER_KPA for tick in (0, 3, 6, 9, 12)} if kpa else
             {f"{tick}": float(tick) for tick in range(0, _HIGHEST[quantity] + 1, step)})
    for text, value in ticks.items():
        yield words(_LEFT - 7, _y(value, quantity) + 5, text, "q", "end")
    for hours, name in _TICKS:
        yield f'<path class="line" d="M{_x(hours)} {_BOTTOM}v5"/>'
        yield words(_x(hours), _BOTTOM + 22, name, "q", "middle")
    yield words((_LEFT + _RIGHT) / 2, _BOTTOM + 48, "time since it began", anchor="middle")


def _bands(here: Standing, quantity: str) -> Iterable[str]:
    usual = in_force().paco2 if quantity == "PaCO2" else in_force().hco3
    for stretch in here.stretches:
        x, right = _x(stretch.start), _x(stretch.end)
        top, bottom = _y(stretch.high, quantity), _y(stretch.low, quantity)
        way = " way" if stretch.name == "on the way" else ""
        yield (f'<rect class="expected{way}" x="{x}" y="{top}" width="{right - x:.1f}" '
               f'height="{bottom - top:.1f}"/>')
        # the name stands on the side away from the usual range
        above = (stretch.low + stretch.high) >= (usual.low + usual.high)
        if here.value is not None and stretch is here.now:  # but not where the patient is
            dot = _y(here.value, quantity)
            above = above if abs(dot - (top - 12 if above else bottom + 13)) > 24 else not above
        y = max(top - 7, _TOP + 18) if above else min(bottom + 18, _BOTTOM - 6)
        yield words((x + right) / 2, y, _short(stretch.name), "q halo", "middle")
    y = _y((usual.low + usual.high) / 2, quantity) + 5
    yield words(_RIGHT - 6, y, "usual range", "q halo", "end")


def _short(name: str) -> str:
    return {"minutes to hours": "hours", "half a day and later": "expected"}.get(name, name)


def _patient(here: Standing, quantity: str, value: float) -> Iterable[str]:
    x, y = _x(here.hours), _y(value, quantity)
    side, gap = ("end", -14) if x > 300 else ("start", 14)
    yield (f'<path class="usual" d="M{x} {_TOP}V{_BOTTOM}"/>'
           f'<circle class="dot" cx="{x}" cy="{y}" r="8"/>')
    shown = bare_pressure(value, as_is=True) if quantity == "PaCO2" else f"{value:g}"
    yield words(x + gap, y + 5, shown, "b halo", side)
