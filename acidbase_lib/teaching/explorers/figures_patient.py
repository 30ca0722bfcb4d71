"""A patient over time as a picture: saturation, PaCO2 and pH, point by point."""
from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Final

from acidbase_lib.physiology.units import mmhg_to_kpa
from acidbase_lib.reading.kilopascal import kpa_first, pressure
from acidbase_lib.reading.lab_settings import LabSettings
from acidbase_lib.reading.settings_in_force import in_force

from .patient_course import Course, CourseNumbers, CourseState, numbers
from .svg import Figure, Scale, framed, words

_LEFT, _RIGHT = 58, 372  # where the time runs inside a 440 x 470 picture
_HEIGHT, _GAP, _TOP = 108, 34, 26
LONGEST: Final = 180  # minutes that the picture holds
_TIME = Scale(0, LONGEST, _LEFT, _RIGHT)


@dataclass(frozen=True, slots=True)
class _Panel:
    name: str
    unit: str
    low: float
    high: float
    band: tuple[float, float]
    band_says: str
    digits: int = 0


def patient_figure(course: Course, states: Sequence[CourseState],
                   settings: LabSettings | None = None, *, uid: str = "patient") -> Figure:
    """Draw a case so far: three lines over the same time, each with its target or range.

    Parameters
    ----------
    course : Course
        The case.
    states : sequence of CourseState
        Where it has been, the first state included; see ``patient_course.follow``.
    settings : LabSettings
        The ranges in use.
    uid : str
        Keeps the picture's inner names apart from those of another picture on the page.

    Returns
    -------
    Figure
        The picture, and a sentence that tells where the patient is and what has changed.
    """
    settings = settings or in_force()
    seen = [numbers(course.body, state) for state in states]
    sentence = patient_sentence(course, states, settings)
    panels: tuple[tuple[_Panel, Sequence[float]], ...] = (
        (_Panel("SpO2", "%", 60, 100, course.body.target, "target"), [n.spo2 for n in seen]),
        _paco2_panel(settings, [n.paco2 for n in seen]),
        (_Panel("pH", "", 7.0, 7.6, (settings.ph.low, settings.ph.high), "range", 2),
         [n.ph for n in seen]),
    )
    minutes = [state.minute for state in states]
    body = "".join(part for place, (panel, values) in enumerate(panels)
                   for part in _drawn(panel, values, minutes, _TOP + place * (_HEIGHT + _GAP)))
    body += "".join(_clock(course, minutes, _TOP + 3 * _HEIGHT + 2 * _GAP))
    return framed(body, f"{course.name}: SpO2, PaCO2 and pH over time", sentence, uid=uid,
                  look="ab-course", style=_STYLE, height=470)


def patient_sentence(course: Course, states: Sequence[CourseState],
                     settings: LabSettings | None = None) -> str:
    """Say where the patient is now, and what has changed since the step before."""
    settings = settings or in_force()
    now = numbers(course.body, states[-1])
    before = numbers(course.body, states[-2]) if len(states) > 1 else None
    low, high = course.body.target
    place = "below" if now.spo2 < low else "above" if now.spo2 > high else "in"
    return (f"{clock(course, states[-1])}. On {states[-1].device}. "
            f"SpO2 {_moved(before.spo2 if before else None, now.spo2, ' %')}, {place} the target "
            f"of {low:g}–{high:g} %. "
            f"PaCO2 {_paco2_moved(before.paco2 if before else None, now.paco2)}. "
            f"pH {_moved(before.ph if before else None, now.ph, '', 2)}: {_side(now, settings)}. "
            f"Bicarbonate {now.hco3:.0f} mmol/L. "
            f"{now.rate} breaths a minute, {now.effort}; {now.mind}.")


def _paco2_panel(settings: LabSettings,
                 values: Sequence[float]) -> tuple[_Panel, Sequence[float]]:
    """The panel of PaCO2 and its values, in the school's unit."""
    span = (settings.paco2.low, settings.paco2.high)
    if not kpa_first(settings):
        return _Panel("PaCO2", "mmHg", 20, 110, span, "range"), values
    low, high = map(mmhg_to_kpa, span)
    return (_Panel("PaCO2", "kPa", 2.5, 15, (low, high), "range", 1),
            [mmhg_to_kpa(value) for value in values])


def _paco2_moved(before: float | None, now: float) -> str:
    if not kpa_first():
        return _moved(before, now, " mmHg")
    text = pressure(now)
    if before is None:
        return text
    if round(before) == round(now):
        return f"{text} as before"
    return f"{text}, {'up' if now > before else 'down'} from {pressure(before)}"


def clock(course: Course, state: CourseState) -> str:
    """The time of a state, as a clock shows it."""
    hour, minute = divmod(course.clock + state.minute, 60)
    return f"{hour:02d}:{minute:02d}"


def _moved(before: float | None, now: float, unit: str, digits: int = 0) -> str:
    text = f"{now:.{digits}f}{unit}"
    if before is None:
        return text
    if round(before, digits) == round(now, digits):
        return f"{text} as before"
    way = "up" if now > before else "down"
    return f"{text}, {way} from {before:.{digits}f}"


def _side(now: CourseNumbers, settings: LabSettings) -> str:
    return {"low": "the blood is acid", "high": "the blood is alkaline",
            "normal": "in range"}[settings.ph.state(now.ph)]


_STYLE = (
    ".ab-course .band{fill:var(--ab-accent-panel,#f5edf3)}"
    ".ab-course .edge{stroke:var(--ab-control,#7d858e);stroke-dasharray:3 4;fill:none}"
    ".ab-course .frame{stroke:var(--ab-control,#7d858e);fill:none}"
    ".ab-course .line{stroke:var(--ab-accent,#74386b);fill:none;stroke-width:2.5}"
    ".ab-course .dot{fill:var(--ab-paper,#fff);stroke:var(--ab-accent,#74386b);stroke-width:2.5}"
    ".ab-course .now{fill:var(--ab-accent,#74386b);stroke:var(--ab-paper,#fff);stroke-width:3}"
)


def _drawn(panel: _Panel, values: Sequence[float], minutes: Sequence[int],
           top: float) -> Iterable[str]:
    scale = Scale(panel.low, panel.high, top + _HEIGHT, top)
    high, low = scale.at(panel.band[1]), scale.at(panel.band[0])
    width = _RIGHT - _LEFT
    named = f"{panel.name}, {panel.unit}" if panel.unit else panel.name
    yield (f'<rect class="band" x="{_LEFT}" y="{high}" width="{width}" '
           f'height="{low - high:.1f}"/>'
           f'<path class="edge" d="M{_LEFT} {high}H{_RIGHT}M{_LEFT} {low}H{_RIGHT}"/>'
           f'<rect class="frame" x="{_LEFT}" y="{top}" width="{width}" height="{_HEIGHT}"/>'
           f'<text class="b" x="{_LEFT}" y="{top - 8}">{named}'
           f'<tspan class="q" dx="8">{panel.band_says} {panel.band[0]:.{panel.digits}f}–'
           f"{panel.band[1]:.{panel.digits}f}</tspan></text>")
    for end in (panel.low, panel.high):
        yield words(_LEFT - 6, scale.at(end) + (0 if end == panel.low else 11),
                    f"{end:.{min(panel.digits, 1)}f}", "q", "end")
    points = [(_TIME.at(minute), scale.at(value))
              for minute, value in zip(minutes, values, strict=True)]
    yield f'<path class="line" d="M{"L".join(f"{a} {b}" for a, b in points)}"/>'
    for a, b in points[:-1]:
        yield f'<circle class="dot" cx="{a}" cy="{b}" r="5"/>'
    a, b = points[-1]
    yield f'<circle class="now" cx="{a}" cy="{b}" r="8"/>'
    yield words(a + 13, max(b + 5, top + 16), f"{values[-1]:.{panel.digits}f}", "b")


def _clock(course: Course, minutes: Sequence[int], y: float) -> Iterable[str]:
    for minute in range(0, LONGEST + 1, 60):
        hour, rest = divmod(course.clock + minute, 60)
        yield words(_TIME.at(minute), y + 20, f"{hour:02d}:{rest:02d}", "q", "middle")
