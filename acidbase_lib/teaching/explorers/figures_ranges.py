"""The number lines as SVG: each value on its range, the pressure in both units."""
from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from acidbase_lib.physiology.henderson_hasselbalch import hco3_of
from acidbase_lib.physiology.quantities import QUANTITIES
from acidbase_lib.physiology.units import mmhg_to_kpa
from acidbase_lib.reading.kilopascal import kpa_first, pressure
from acidbase_lib.reading.lab_settings import LabSettings
from acidbase_lib.reading.settings_in_force import in_force
from acidbase_lib.reading.value_range import Range
from acidbase_lib.teaching.theme import mark

from .svg import Figure, Scale, framed, words

LINE_PH, LINE_PACO2, LINE_HCO3 = (7.0, 7.8), (10.0, 100.0), (0.0, 50.0)

_LEFT, _RIGHT = 12, 428  # the ends of each line inside a picture 440 wide
_TRACK = 24


@dataclass(frozen=True, slots=True)
class _Lane:
    """One number on its line."""

    name: str
    value: float
    text: str
    unit: str
    span: Range
    ends: tuple[float, float]
    ticks: Sequence[float]
    digits: int
    low_word: str = "low"
    high_word: str = "high"

    @property
    def state(self) -> str:
        return self.span.state(self.value)

    def x(self, value: float) -> float:
        return Scale(*self.ends, _LEFT, _RIGHT).at(value)


def number_lines(ph: float, paco2: float, settings: LabSettings | None = None, *,
                 as_kpa: float | None = None, uid: str = "lines") -> Figure:
    """Draw pH, PaCO2 and bicarbonate on their ranges; bicarbonate is worked out from the two.

    Parameters
    ----------
    ph : float
        Arterial pH.
    paco2 : float
        Arterial carbon dioxide tension. [mmHg]
    settings : LabSettings
        The ranges in use.
    as_kpa : float, optional
        The same tension as it was set in the other unit, so that its rounding stays. [kPa]
    uid : str
        Keeps the picture's inner names apart from those of another picture on the page.

    Returns
    -------
    Figure
        Three lines, each with its range and the value, and the sentence that reads them aloud.

    Raises
    ------
    QuantityError
        If ``ph`` or ``paco2`` is outside its credible limits.
    """
    settings = settings or in_force()
    hco3 = round(hco3_of(ph, paco2), 1)
    other = f"{mmhg_to_kpa(paco2) if as_kpa is None else as_kpa:.1f} kPa"
    kpa = kpa_first(settings)
    lanes = (
        _Lane("pH", ph, f"{ph:.2f}", "", settings.ph, LINE_PH, (7.0, 7.2, 7.6, 7.8), 2,
              "low: acid", "high: alkaline"),
        _Lane("PaCO2", paco2, f"{other} ({paco2:g} mmHg)" if kpa else f"{paco2:g} mmHg = {other}",
              "(mmHg)" if kpa else "mmHg", settings.paco2, LINE_PACO2, (20, 60, 80), 0),
        _Lane("bicarbonate", hco3, f"{hco3:g} mmol/L", "mmol/L", settings.hco3, LINE_HCO3,
              (10, 40), 0),
    )
    sentence = _sentence(lanes, other)
    drawn = "".join(part for lane, top in zip(lanes, (6, 100, 222), strict=True)
                    for part in _draw(lane, top))
    drawn += words(_LEFT, 316, "The box on each line is its range.", "q")
    return framed(drawn, "Number lines of pH, PaCO2 and bicarbonate", sentence, uid=uid,
                  look="ab-lines", style=_STYLE, height=322)


_STYLE = (
    ".ab-lines .track{fill:var(--ab-panel,#f6f5f3);stroke:var(--ab-control,#7d858e)}"
    ".ab-lines .band{fill:var(--ab-paper,#fff);stroke:var(--ab-ink,#1f2328);stroke-width:2}"
    ".ab-lines .pin{stroke:var(--ab-accent,#74386b);stroke-width:3}"
    ".ab-lines .dot{fill:var(--ab-accent,#74386b);stroke:var(--ab-paper,#fff);stroke-width:2.5}"
)


def _draw(lane: _Lane, top: float) -> Iterable[str]:
    both = lane.name == "PaCO2"
    track = top + (50 if both else 26)
    middle, below = track + _TRACK / 2 + 5, track + _TRACK + 19
    yield words(_LEFT, top + 14, lane.name, "b")
    yield words(_RIGHT, top + 14, f"{lane.text}{_beyond(lane)}, {mark(lane.state)}", "b", "end")
    yield (f'<rect class="track" x="{_LEFT}" y="{track}" width="{_RIGHT - _LEFT}" '
           f'height="{_TRACK}" rx="4"/>')
    start, stop = lane.x(lane.span.low), lane.x(lane.span.high)
    yield (f'<rect class="band" x="{start}" y="{track - 2}" width="{stop - start:.1f}" '
           f'height="{_TRACK + 4}"/>')
    yield words(_LEFT + 8, middle, lane.low_word, "q")
    yield words(_RIGHT - 8, middle, lane.high_word, "q", "end")
    edges = (lane.span.low, lane.span.high)
    for value in (*lane.ticks, *edges):
        kind = "b" if value in edges else "q"
        x = lane.x(value)
        yield words(x, below, f"{value:.{lane.digits}f}", kind, _anchor(lane, value))
        if both:
            yield words(x, track - 8, f"{mmhg_to_kpa(value):.1f}", kind, "middle")
    if lane.unit:
        yield words(_RIGHT, below, lane.unit, "q", "end")
    if both:
        yield words(_RIGHT, track - 8, "kPa", "q", "end")
    x = lane.x(lane.value)
    yield f'<path class="pin" d="M{x} {track - 5}V{track + _TRACK + 5}"/>'
    yield f'<circle class="dot" cx="{x}" cy="{track + _TRACK / 2}" r="8"/>'


def _anchor(lane: _Lane, value: float) -> str:
    low, high = lane.ends
    return "start" if value <= low else "end" if value >= high else "middle"


def _beyond(lane: _Lane) -> str:
    return " (off the line)" if not lane.ends[0] <= lane.value <= lane.ends[1] else ""


def _sentence(lanes: Sequence[_Lane], other: str) -> str:
    ph, paco2, hco3 = lanes
    side = {"low": " That is the acid side.", "high": " That is the alkaline side."}
    text = (f"pH {ph.text}: {_where(ph, '.2f')}.{side.get(ph.state, '')} "
            f"{_paco2_said(paco2, other)}. "
            f"Bicarbonate {hco3.text}, worked out from the two: "
            f"{_where(hco3, 'g')}.")
    credible = QUANTITIES["hco3"].low <= hco3.value <= QUANTITIES["hco3"].high
    return text if credible else f"{text} No patient has that: check the two numbers."


def _paco2_said(lane: _Lane, other: str) -> str:
    if lane.unit == "mmHg":
        return f"PaCO2 {lane.value:g} mmHg, the same as {other}: {_where(lane, 'g')} mmHg"
    if lane.state == "normal":
        place = f"in its range of {pressure(lane.span.low, lane.span.high)}"
    else:
        low = lane.state == "low"
        end = pressure(lane.span.low if low else lane.span.high)
        place = f"{lane.state}, {'below' if low else 'above'} {end}"
    return f"PaCO2 {lane.text}: {place}"


def _where(lane: _Lane, shape: str) -> str:
    if lane.state == "normal":
        return f"in its range of {lane.span.low:{shape}} to {lane.span.high:{shape}}"
    end = lane.span.low if lane.state == "low" else lane.span.high
    return f"{lane.state}, {'below' if lane.state == 'low' else 'above'} {end:{shape}}"
