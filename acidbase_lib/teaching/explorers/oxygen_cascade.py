"""The way of oxygen from the air to the artery, as a picture: four steps down, each named."""
from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from acidbase_lib.physiology.oxygen_carriage import sao2_severinghaus1979
from acidbase_lib.physiology.oxygenation import barometric_pressure_of, inspired_po2
from acidbase_lib.reading.kilopascal import bare_pressure, pressure, school_unit
from acidbase_lib.reading.lab_settings import LabSettings
from acidbase_lib.reading.settings_in_force import in_force

from .svg import Figure, Scale, framed, words

RESPIRATORY_QUOTIENT = 0.8
LEAST_PAO2 = 15.0  # below it no reading is believable [mmHg]
_FAILURE = 60.0

_LEFT, _RIGHT, _TOP, _BOTTOM = 44, 406, 62, 272  # the frame inside a 440 x 378 picture
_WIDTH = 62
_NAMES = (("dry air", ""), ("breathed in", "warm, moist"), ("alveoli", ""), ("artery", "PaO2"))


@dataclass(frozen=True, slots=True)
class OxygenCascade:
    """Oxygen pressure at each step. [mmHg]"""

    altitude: float
    inspired_percent: float
    paco2: float
    lungs: float
    dry: float
    inspired: float
    alveolar: float
    arterial: float

    @property
    def saturation(self) -> float | None:
        """Saturation on the standard curve; None where nobody could live. [%]"""
        if self.arterial < LEAST_PAO2:
            return None
        return sao2_severinghaus1979(min(self.arterial, 700.0))

    @property
    def steps(self) -> tuple[float, float, float, float]:
        """The four pressures, in order."""
        return self.dry, self.inspired, self.alveolar, self.arterial


def cascade_of(
    inspired_percent: float, altitude: float, paco2: float, lungs: float
) -> OxygenCascade:
    """Work out the four pressures; none is let fall below zero.

    Parameters
    ----------
    inspired_percent : float
        Oxygen in the air breathed in. [%]
    altitude : float
        Height above sea level. [m]
    paco2 : float
        Arterial carbon dioxide tension. [mmHg]
    lungs : float
        What is lost between alveoli and artery. [mmHg]
    """
    fraction, pressure = inspired_percent / 100, barometric_pressure_of(altitude)
    inspired = inspired_po2(fraction, barometric_pressure=pressure)
    alveolar = max(inspired - paco2 / RESPIRATORY_QUOTIENT, 0.0)
    return OxygenCascade(
        altitude,
        inspired_percent,
        paco2,
        lungs,
        fraction * pressure,
        inspired,
        alveolar,
        max(alveolar - lungs, 0.0),
    )


def cascade_sentence(path: OxygenCascade, settings: LabSettings | None = None) -> str:
    """Say what the picture shows."""
    settings = settings or in_force()
    where = "At sea level" if path.altitude < 50 else f"At {path.altitude:.0f} m"
    text = (f"{where}, breathing {path.inspired_percent:.0f} % oxygen, the pressure of oxygen is "
            f"{pressure(path.dry)} in dry air and {_said(path.inspired)} once it is warm and "
            f"moist. Carbon dioxide leaves {_said(path.alveolar)} in the alveoli. The lungs pass "
            f"on {_said(path.arterial)} to the artery")
    if path.saturation is None:
        return f"{text}. No one could live with so little: move a slider back."
    state = settings.pao2.state(round(path.arterial))
    verdict = {"low": "low", "normal": "in its range", "high": "above its range"}[state]
    more = f", below {_said(_FAILURE)}" if round(path.arterial) < _FAILURE else ""
    return f"{text}: PaO2 is {verdict}{more}, a saturation of about {path.saturation:.0f} %."


def _said(mmhg: float) -> str:
    return pressure(mmhg).removesuffix(" mmHg")


def oxygen_figure(inspired_percent: float, altitude: float, paco2: float, lungs: float,
                  settings: LabSettings | None = None, *, uid: str = "oxygen") -> Figure:
    """Draw the way of oxygen from the air to the artery.

    Parameters
    ----------
    inspired_percent : float
        Oxygen in the air breathed in. [%]
    altitude : float
        Height above sea level. [m]
    paco2 : float
        Arterial carbon dioxide tension. [mmHg]
    lungs : float
        What is lost between alveoli and artery. [mmHg]
    settings : LabSettings
        The ranges in use.
    uid : str
        Keeps the picture's inner names apart from those of another picture on the page.

    Returns
    -------
    Figure
        Four bars, and the sentence that reads them.
    """
    settings = settings or in_force()
    path = cascade_of(inspired_percent, altitude, paco2, lungs)
    top = next((t for t in (120.0, 180.0, 240.0, 400.0) if t >= path.dry + 4), 800.0)
    body = "".join((_pattern(uid), *_axis(top), *_bars(path, top, uid), *_limits(settings, top),
                    *_values(path, top), *_losses(path, top)))
    return framed(body, "The way of oxygen from the air to the artery",
                  cascade_sentence(path, settings), uid=uid, look="ab-path", style=_STYLE,
                  height=378)


_STYLE = (
    ".ab-path .b{font-size:16px}"
    ".ab-path .bar{fill:var(--ab-alkaline-panel,#e7f2fa);stroke:var(--ab-alkaline-mark,#0072b2);"
    "stroke-width:1.5}"
    ".ab-path .here{stroke:var(--ab-accent,#74386b);stroke-width:3}"
    ".ab-path .line{stroke:var(--ab-control,#7d858e);fill:none;stroke-width:1.2}"
    ".ab-path .dash{stroke-dasharray:6 5}"
)


def _pattern(uid: str) -> str:
    """Stripes mark the artery, so that it does not rest on its outline's color."""
    return (f'<defs><pattern id="{uid}-stripes" width="10" height="10" '
            'patternUnits="userSpaceOnUse" patternTransform="rotate(45)">'
            '<rect width="10" height="10" fill="var(--ab-accent-panel,#f5edf3)"/>'
            '<path d="M0 0H10" stroke="var(--ab-accent,#74386b)" stroke-opacity=".45" '
            'stroke-width="3"/></pattern></defs>')


def _y(pressure: float, top: float) -> float:
    return Scale(0, top, _BOTTOM, _TOP).at(pressure)


def _x(step: int) -> float:
    return round(_LEFT + 10 + step * (_RIGHT - _LEFT - 10 - _WIDTH) / 3, 1)


def _axis(top: float) -> Iterable[str]:
    yield f'<path class="line" d="M{_LEFT} {_TOP}V{_BOTTOM}H{_RIGHT}"/>'
    yield words(_LEFT - 42, 16, f"oxygen, {school_unit()}", "q")
    for tick in (0.0, top / 2, top):
        shown = bare_pressure(tick) if tick else "0"
        yield words(_LEFT - 6, _y(tick, top) + 5, shown, "q", "end")


def _bars(path: OxygenCascade, top: float, uid: str) -> Iterable[str]:
    for step, (value, (name, more)) in enumerate(zip(path.steps, _NAMES, strict=True)):
        x, y = _x(step), _y(value, top)
        last = step == len(_NAMES) - 1
        look = (f'class="bar here" style="fill:url(#{uid}-stripes)"' if last else 'class="bar"')
        middle = round(x + _WIDTH / 2, 1)
        yield f'<rect {look} x="{x}" y="{y}" width="{_WIDTH}" height="{_BOTTOM - y:.1f}"/>'
        yield words(middle, _BOTTOM + 20, name, anchor="middle")
        yield words(middle, _BOTTOM + 39, more, "q", "middle")


def _values(path: OxygenCascade, top: float) -> Iterable[str]:
    for step, value in enumerate(path.steps):
        yield words(_x(step) + _WIDTH / 2, _y(value, top) - 7, bare_pressure(value), "b halo",
                    "middle")


def _limits(settings: LabSettings, top: float) -> Iterable[str]:
    """The lower end of the range, and the limit of failure, across the artery alone."""
    x, low = _x(3), settings.pao2.low
    yield words(438, 36, f"dashed: range from {bare_pressure(low)}, failure below "
                f"{bare_pressure(_FAILURE)}", "q", "end")
    for limit in (low, _FAILURE):
        y = _y(limit, top)
        yield f'<path class="line dash" d="M{x - 8} {y}H{_RIGHT}"/>'
        if top <= 240:  # further up the two lines lie too near for two numbers
            yield words(_RIGHT + 5, y + 5, bare_pressure(limit), "q")


def _losses(path: OxygenCascade, top: float) -> Iterable[str]:
    taken = (("water", path.dry - path.inspired), ("CO2", path.inspired - path.alveolar),
             ("lungs", path.alveolar - path.arterial))
    yield words(2, _BOTTOM + 72, "lost to", "q")
    for step, (name, lost) in enumerate(taken):
        x = round((_x(step) + _WIDTH + _x(step + 1)) / 2, 1)
        less = f"\N{MINUS SIGN}{bare_pressure(lost)}" if round(lost) else "0"
        yield words(x, _BOTTOM + 72, name, "q", "middle")
        yield words(x, _BOTTOM + 92, less, anchor="middle")
