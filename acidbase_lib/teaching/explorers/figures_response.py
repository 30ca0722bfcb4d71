"""The response band as a picture: hours and days across, the value that answers up."""
from __future__ import annotations

from collections.abc import Iterable
from html import escape
from math import sqrt

from acidbase_lib.reading.lab_settings import DEFAULT_SETTINGS, LabSettings
from acidbase_lib.teaching.explanations.response import (
    LONGEST,
    Standing,
    standing,
    standing_sentence,
)

from .figures import Figure

RESPONSE_PACO2 = (12, 90)
RESPONSE_HCO3 = (5, 46)

_LEFT, _RIGHT, _TOP, _BOTTOM = 46, 424, 34, 350  # the frame inside a 440 x 420 picture
_TICKS = ((1, "1 h"), (6, "6 h"), (24, "1 day"), (72, "3 days"), (120, "5 days"))
_HIGHEST = {"PaCO2": 90, "HCO3": 50}
_NAMES = {"PaCO2": "PaCO2, mmHg", "HCO3": "bicarbonate, mmol/L"}
_STYLE = (
    ".ab-band{display:block;width:100%;max-width:560px;height:auto;font-family:inherit}"
    ".ab-band text{fill:var(--ab-ink,#1f2328);font-size:14px}"
    ".ab-band .q{fill:var(--ab-quiet,#57606a)}.ab-band .b{font-weight:650;font-size:15px}"
    ".ab-band .line{stroke:var(--ab-control,#7d858e);fill:none;stroke-width:1.2}"
    ".ab-band .usual{stroke:var(--ab-control,#7d858e);stroke-dasharray:3 4;fill:none}"
    ".ab-band .expected{fill:var(--ab-accent-panel,#f5edf3);stroke:var(--ab-accent,#74386b);"
    "stroke-width:1.5}.ab-band .way{stroke-dasharray:6 4}"
    ".ab-band .halo{paint-order:stroke;stroke:var(--ab-paper,#fff);stroke-width:5px;"
    "stroke-linejoin:round}"
    ".ab-band .dot{fill:var(--ab-ink,#1f2328);stroke:var(--ab-paper,#fff);stroke-width:3}"
)


def response_figure(paco2: float, hco3: float, hours: float,
                    settings: LabSettings = DEFAULT_SETTINGS, *,
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
    here = standing(paco2, hco3, hours, settings)
    sentence = standing_sentence(here)
    quantity = here.quantity or "HCO3"
    value = here.value if here.value is not None else hco3
    body = "".join((*_frame(quantity, settings), *_bands(here, quantity),
                    *_patient(here, quantity, value)))
    svg = (f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 440 420" role="img" '
           f'aria-labelledby="{uid}-title {uid}-desc" class="ab-map ab-band">'
           f'<title id="{uid}-title">The expected response over hours and days: '
           f'{_NAMES[quantity]}</title><desc id="{uid}-desc">{escape(sentence)}</desc>'
           f"<style>{_STYLE}</style>{body}</svg>")
    return Figure(svg, sentence)


def _x(hours: float) -> float:
    """The first hours get the room: the root of time is what is drawn."""
    return round(_LEFT + sqrt(min(hours, LONGEST) / LONGEST) * (_RIGHT - _LEFT), 1)


def _y(value: float, quantity: str) -> float:
    highest = _HIGHEST[quantity]
    return round(_BOTTOM - min(value, highest) / highest * (_BOTTOM - _TOP), 1)


def _frame(quantity: str, settings: LabSettings) -> Iterable[str]:
    usual = settings.paco2 if quantity == "PaCO2" else settings.hco3
    yield (f'<rect class="line" x="{_LEFT}" y="{_TOP}" width="{_RIGHT - _LEFT}" '
           f'height="{_BOTTOM - _TOP}"/><text class="b" x="{_LEFT}" y="{_TOP - 12}">'
           f"{_NAMES[quantity]}</text>")
    for edge in (usual.low, usual.high):
        yield f'<path class="usual" d="M{_LEFT} {_y(edge, quantity)}H{_RIGHT}"/>'
    step = 20 if quantity == "PaCO2" else 10
    for value in range(0, _HIGHEST[quantity] + 1, step):
        yield (f'<text class="q" x="{_LEFT - 7}" y="{_y(value, quantity) + 5}" '
               f'text-anchor="end">{value}</text>')
    for hours, name in _TICKS:
        yield (f'<path class="line" d="M{_x(hours)} {_BOTTOM}v5"/><text class="q" '
               f'x="{_x(hours)}" y="{_BOTTOM + 22}" text-anchor="middle">{name}</text>')
    yield (f'<text x="{(_LEFT + _RIGHT) / 2}" y="{_BOTTOM + 48}" text-anchor="middle">'
           "time since it began</text>")


def _bands(here: Standing, quantity: str) -> Iterable[str]:
    usual = DEFAULT_SETTINGS.paco2 if quantity == "PaCO2" else DEFAULT_SETTINGS.hco3
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
        yield (f'<text class="q halo" x="{(x + right) / 2:.1f}" y="{y:.1f}" '
               f'text-anchor="middle">{_short(stretch.name)}</text>')
    y = _y((usual.low + usual.high) / 2, quantity) + 5
    yield (f'<text class="q halo" x="{_RIGHT - 6}" y="{y:.1f}" text-anchor="end">usual range'
           "</text>")


def _short(name: str) -> str:
    return {"minutes to hours": "hours", "half a day and later": "expected"}.get(name, name)


def _patient(here: Standing, quantity: str, value: float) -> Iterable[str]:
    x, y = _x(here.hours), _y(value, quantity)
    side, gap = ("end", -14) if x > 300 else ("start", 14)
    yield (f'<path class="usual" d="M{x} {_TOP}V{_BOTTOM}"/>'
           f'<circle class="dot" cx="{x}" cy="{y}" r="8"/>'
           f'<text class="b halo" x="{x + gap}" y="{y + 5}" text-anchor="{side}">{value:g}</text>')
