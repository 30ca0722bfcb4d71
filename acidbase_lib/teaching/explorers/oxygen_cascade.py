"""The way of oxygen from the air to the artery, as a picture: four steps down, each named."""
from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from html import escape

from acidbase_lib.physiology.oxygen_carriage import sao2_severinghaus1979
from acidbase_lib.physiology.oxygenation import barometric_pressure_of, inspired_po2
from acidbase_lib.reading.lab_settings import DEFAULT_SETTINGS, LabSettings

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


def cascade_sentence(path: OxygenCascade, settings: LabSettings = DEFAULT_SETTINGS) -> str:
    """Say what the picture shows."""
    where = "At sea level" if path.altitude < 50 else f"At {path.altitude:.0f} m"
    told = (f"{where}, breathing {path.inspired_percent:.0f} % oxygen, the pressure of oxygen is "
            f"{path.dry:.0f} mmHg in dry air and {path.inspired:.0f} once it is warm and moist. "
            f"Carbon dioxide leaves {path.alveolar:.0f} in the alveoli. The lungs pass on "
            f"{path.arterial:.0f} to the artery")
    if path.saturation is None:
        return f"{told}. No one could live with so little: move a slider back."
    state = settings.pao2.state(round(path.arterial))
    verdict = {"low": "low", "normal": "in its range", "high": "above its range"}[state]
    more = ", below 60" if round(path.arterial) < _FAILURE else ""
    return f"{told}: PaO2 is {verdict}{more}, a saturation of about {path.saturation:.0f} %."


def draw_cascade(path: OxygenCascade, uid: str, sentence: str,
                 settings: LabSettings = DEFAULT_SETTINGS) -> str:
    """Return the picture as one SVG element; `uid` keeps its inner names its own."""
    top = next((t for t in (120.0, 180.0, 240.0, 400.0) if t >= path.dry + 4), 800.0)
    body = "".join((*_axis(top), *_bars(path, top, uid), *_limits(settings, top),
                    *_values(path, top), *_losses(path, top)))
    return (f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 440 378" role="img" '
            f'aria-labelledby="{uid}-title {uid}-desc" class="ab-map ab-path">'
            f'<title id="{uid}-title">The way of oxygen from the air to the artery</title>'
            f'<desc id="{uid}-desc">{escape(sentence)}</desc>'
            f"<style>{_STYLE}</style>{_pattern(uid)}{body}</svg>")


_STYLE = (
    ".ab-path{display:block;width:100%;max-width:560px;height:auto;font-family:inherit}"
    ".ab-path text{fill:var(--ab-ink,#1f2328);font-size:14px}"
    ".ab-path .q{fill:var(--ab-quiet,#57606a)}.ab-path .b{font-weight:650;font-size:16px}"
    ".ab-path .halo{paint-order:stroke;stroke:var(--ab-paper,#fff);stroke-width:5px;"
    "stroke-linejoin:round}"
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
    return round(_BOTTOM - min(pressure, top) / top * (_BOTTOM - _TOP), 1)


def _x(place: int) -> float:
    step = (_RIGHT - _LEFT - 10 - _WIDTH) / 3
    return round(_LEFT + 10 + place * step, 1)


def _axis(top: float) -> Iterable[str]:
    yield f'<path class="line" d="M{_LEFT} {_TOP}V{_BOTTOM}H{_RIGHT}"/>'
    yield f'<text class="q" x="{_LEFT - 42}" y="16">oxygen, mmHg</text>'
    for tick in (0.0, top / 2, top):
        yield (f'<text class="q" x="{_LEFT - 6}" y="{_y(tick, top) + 5}" text-anchor="end">'
               f"{tick:.0f}</text>")


def _bars(path: OxygenCascade, top: float, uid: str) -> Iterable[str]:
    for place, (pressure, (name, more)) in enumerate(zip(path.steps, _NAMES, strict=True)):
        x, y = _x(place), _y(pressure, top)
        last = place == len(_NAMES) - 1
        look = (f'class="bar here" style="fill:url(#{uid}-stripes)"' if last else 'class="bar"')
        middle = round(x + _WIDTH / 2, 1)
        yield f'<rect {look} x="{x}" y="{y}" width="{_WIDTH}" height="{_BOTTOM - y:.1f}"/>'
        yield f'<text x="{middle}" y="{_BOTTOM + 20}" text-anchor="middle">{name}</text>'
        yield (f'<text class="q" x="{middle}" y="{_BOTTOM + 39}" text-anchor="middle">'
               f"{more}</text>")


def _values(path: OxygenCascade, top: float) -> Iterable[str]:
    for place, pressure in enumerate(path.steps):
        yield (f'<text class="b halo" x="{_x(place) + _WIDTH / 2:.1f}" '
               f'y="{_y(pressure, top) - 7:.1f}" text-anchor="middle">{pressure:.0f}</text>')


def _limits(settings: LabSettings, top: float) -> Iterable[str]:
    """The lower end of the range, and the limit of failure, across the artery alone."""
    x, low = _x(3), settings.pao2.low
    yield (f'<text class="q" x="438" y="36" text-anchor="end">dashed: range from {low:.0f}, '
           f"failure below {_FAILURE:.0f}</text>")
    for limit in (low, _FAILURE):
        y = _y(limit, top)
        yield f'<path class="line dash" d="M{x - 8} {y}H{_RIGHT}"/>'
        if top <= 240:  # further up the two lines lie too near for two numbers
            yield f'<text class="q" x="{_RIGHT + 5}" y="{y + 5}">{limit:.0f}</text>'


def _losses(path: OxygenCascade, top: float) -> Iterable[str]:
    taken = (("water", path.dry - path.inspired), ("CO2", path.inspired - path.alveolar),
             ("lungs", path.alveolar - path.arterial))
    yield f'<text class="q" x="2" y="{_BOTTOM + 72}">lost to</text>'
    for place, (name, lost) in enumerate(taken):
        x = round((_x(place) + _WIDTH + _x(place + 1)) / 2, 1)
        less = f"\N{MINUS SIGN}{lost:.0f}" if round(lost) else "0"
        yield (f'<text class="q" x="{x}" y="{_BOTTOM + 72}" text-anchor="middle">{name}</text>'
               f'<text x="{x}" y="{_BOTTOM + 92}" text-anchor="middle">{less}</text>')
