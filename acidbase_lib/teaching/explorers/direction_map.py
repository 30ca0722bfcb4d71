"""The map of the direction rule as SVG: four named corners, a silent cross, PaCO2 lines."""
from __future__ import annotations

from collections.abc import Iterable
from html import escape
from math import log10

from acidbase_lib.physiology.henderson_hasselbalch import ALPHA, PK
from acidbase_lib.reading.lab_settings import LabSettings
from acidbase_lib.teaching.explanations.direction import MapPoint

MAP_PH = (7.0, 7.8)
MAP_PACO2 = (10, 100)
MAP_HCO3 = (0, 50)

_LEFT, _RIGHT, _TOP, _BOTTOM = 46, 402, 40, 372  # the map's frame inside a 440 x 430 picture
_LINES = (20, 40, 60, 80)  # PaCO2 lines drawn on the map [mmHg]


def draw_map(here: MapPoint, settings: LabSettings, uid: str, sentence: str) -> str:
    """Return the map as one SVG element; `uid` keeps its inner names its own."""
    rects, labels = _corners(here, settings, uid)
    body = "".join((*rects, *_paco2_lines(here.paco2), *labels, *_silent_bands(settings),
                    *_axes(settings), *_patient(here)))
    return (f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 440 430" role="img" '
            f'aria-labelledby="{uid}-title {uid}-desc" class="ab-map">'
            f'<title id="{uid}-title">Map of the direction rule: pH across, bicarbonate up</title>'
            f'<desc id="{uid}-desc">{escape(sentence)}</desc>'
            f"<style>{_STYLE}</style>{_patterns(uid)}{body}</svg>")


def _x(ph: float) -> float:
    low, high = MAP_PH
    return round(_LEFT + (ph - low) / (high - low) * (_RIGHT - _LEFT), 1)


def _y(hco3: float) -> float:
    low, high = MAP_HCO3
    return round(_BOTTOM - (hco3 - low) / (high - low) * (_BOTTOM - _TOP), 1)


_STYLE = (
    ".ab-map{display:block;width:100%;max-width:560px;height:auto;font-family:inherit}"
    ".ab-map text{fill:var(--ab-ink,#1f2328);font-size:14px}"
    ".ab-map .q{fill:var(--ab-quiet,#57606a)}.ab-map .acid{fill:var(--ab-acid,#a44300)}"
    ".ab-map .alkaline{fill:var(--ab-alkaline,#005f96)}.ab-map .b{font-weight:650;font-size:15px}"
    ".ab-map tspan.q{font-weight:400;font-size:14px}"
    ".ab-map .halo{paint-order:stroke;stroke:var(--ab-paper,#fff);stroke-width:5px;"
    "stroke-linejoin:round}"
    ".ab-map .here{stroke:var(--ab-accent,#74386b);fill:none}"
    ".ab-map .line{stroke:var(--ab-control,#7d858e);fill:none;stroke-width:1.2}"
    ".ab-map .dot{fill:var(--ab-accent,#74386b);stroke:var(--ab-paper,#fff);stroke-width:3}"
)


def _patterns(uid: str) -> str:
    """Stripes mean respiratory and dots mean metabolic, so that no corner rests on its color."""
    made = []
    for side in ("acid", "alkaline"):
        ground = f'<rect width="12" height="12" fill="var(--ab-{side}-panel,#f6f5f3)"/>'
        ink = f"var(--ab-{side}-mark,#57606a)"
        stripes = f'<path d="M0 0H12" stroke="{ink}" stroke-opacity=".45" stroke-width="2.5"/>'
        dots = f'<circle cx="6" cy="6" r="1.7" fill="{ink}" fill-opacity=".55"/>'
        for kind, drawn, turn in (("respiratory", stripes, "rotate(45)"), ("metabolic", dots, "")):
            made.append(f'<pattern id="{uid}-{kind}-{side}" width="12" height="12" '
                        f'patternUnits="userSpaceOnUse" patternTransform="{turn}">'
                        f"{ground}{drawn}</pattern>")
    return f"<defs>{''.join(made)}</defs>"


def _corners(here: MapPoint, settings: LabSettings, uid: str) -> tuple[list[str], list[str]]:
    rects, labels = [], []
    ph, hco3 = settings.ph, settings.hco3
    acid, alkaline = (MAP_PH[0], ph.low), (ph.high, MAP_PH[1])
    little, much = (MAP_HCO3[0], hco3.low), (hco3.high, MAP_HCO3[1])
    for kind, side, across, up in (
        ("respiratory", "acid", acid, much), ("metabolic", "alkaline", alkaline, much),
        ("metabolic", "acid", acid, little), ("respiratory", "alkaline", alkaline, little),
    ):
        name = "acidosis" if side == "acid" else "alkalosis"
        x, y, right, bottom = _x(across[0]), _y(up[1]), _x(across[1]), _y(up[0])
        spoken = here.disorder == f"{kind} {name}"
        edge = ' class="corner here" stroke-width="3.5"' if spoken else ' class="corner"'
        rects.append(f'<rect{edge} x="{x}" y="{y}" width="{right - x:.1f}" '
                     f'height="{bottom - y:.1f}" '
                     f'style="fill:url(#{uid}-{kind}-{side})"/>')
        text_x, anchor = (x + 10, "start") if side == "acid" else (right - 10, "end")
        text_y = y + 24 if up is much else bottom - 56
        ways = "same way" if kind == "metabolic" else "opposite ways"
        arrow = "\N{BLACK DOWN-POINTING TRIANGLE}" if side == "acid" else (
            "\N{BLACK UP-POINTING TRIANGLE}")
        labels.append(f'<text class="b halo {side}" x="{text_x:.1f}" y="{text_y:.1f}" '
                      f'text-anchor="{anchor}">{kind}<tspan x="{text_x:.1f}" dy="1.15em">{arrow} '
                      f'{name}</tspan><tspan class="q" x="{text_x:.1f}" dy="1.15em">{ways}</tspan>'
                      "</text>")
    return rects, labels


def _silent_bands(settings: LabSettings) -> Iterable[str]:
    across = (_x(settings.ph.low) + _x(settings.ph.high)) / 2
    up = (_y(settings.hco3.low) + _y(settings.hco3.high)) / 2
    for x, anchor in ((_LEFT + 10, "start"), (_RIGHT - 10, "end")):
        yield (f'<text class="q halo" x="{x}" y="{up + 5:.1f}" text-anchor="{anchor}">'
               "silent</text>")
    for hco3 in (43, 5):  # between two PaCO2 lines
        yield (f'<text class="q halo" x="{across:.1f}" y="{_y(hco3) + 5:.1f}" '
               'text-anchor="middle">silent</text>')


def _curve(paco2: float) -> tuple[str, float, float]:
    """A line of equal PaCO2 as a path, and the point where it leaves the map."""
    low, high = MAP_PH
    leaves = min(high, PK + log10(MAP_HCO3[1] / (ALPHA * paco2)))
    phs = [low + (leaves - low) * i / 32 for i in range(33)]
    points = [(_x(ph), _y(ALPHA * paco2 * 10 ** (ph - PK))) for ph in phs]
    return "M" + "L".join(f"{x} {y}" for x, y in points), points[-1][0], points[-1][1]


def _paco2_lines(paco2: float) -> Iterable[str]:
    _, here_x, here_y = _curve(paco2)
    for line in _LINES:
        path, x, y = _curve(line)
        yield f'<path class="line" d="{path}"/>'
        if abs(x - here_x) + abs(y - here_y) > 34:  # room for the patient's own label
            yield _line_label(f"{line}", x, y, "q")
    path, x, y = _curve(paco2)
    yield f'<path class="here" d="{path}" stroke-width="2.5" stroke-dasharray="8 5"/>'
    yield _line_label(f"{paco2:g}", x, y, "b")
    yield f'<text class="q" x="{_LEFT}" y="16">PaCO2, mmHg</text>'


def _line_label(text: str, x: float, y: float, kind: str) -> str:
    if y > _TOP + 1:  # leaves on the right
        return f'<text class="{kind}" x="{_RIGHT + 6}" y="{y + 5:.1f}">{text}</text>'
    return f'<text class="{kind}" x="{x}" y="{_TOP - 8}" text-anchor="middle">{text}</text>'


def _axes(settings: LabSettings) -> Iterable[str]:
    yield (f'<rect x="{_LEFT}" y="{_TOP}" width="{_RIGHT - _LEFT}" height="{_BOTTOM - _TOP}" '
           'class="line"/>')
    for x, text in (*((_x(ph), f"{ph:.1f}") for ph in (7.0, 7.2, 7.6, 7.8)),
                    (_x(settings.ph.low) - 8, f"{settings.ph.low:.2f}"),
                    (_x(settings.ph.high) + 8, f"{settings.ph.high:.2f}")):
        yield f'<text class="q" x="{x:.1f}" y="{_BOTTOM + 19}" text-anchor="middle">{text}</text>'
    for hco3 in (0, 10, settings.hco3.low, settings.hco3.high, 40, 50):
        yield (f'<text class="q" x="{_LEFT - 7}" y="{_y(hco3) + 5:.1f}" text-anchor="end">'
               f"{hco3:g}</text>")
    middle = (_LEFT + _RIGHT) / 2
    yield f'<text x="{middle}" y="{_BOTTOM + 44}" text-anchor="middle">pH</text>'
    yield (f'<text x="{_LEFT}" y="{_BOTTOM + 44}">\N{LEFTWARDS ARROW} acid</text>'
           f'<text x="{_RIGHT}" y="{_BOTTOM + 44}" text-anchor="end">'
           "alkaline \N{RIGHTWARDS ARROW}</text>")
    half = (_TOP + _BOTTOM) / 2
    yield (f'<text x="14" y="{half}" text-anchor="middle" transform="rotate(-90 14 {half})">'
           "bicarbonate, mmol/L</text>")


def _patient(here: MapPoint) -> Iterable[str]:
    x = min(max(_x(here.ph), _LEFT), _RIGHT)
    y = min(max(_y(here.hco3), _TOP), _BOTTOM)
    yield f'<circle class="dot" cx="{x}" cy="{y}" r="9"/>'
    if here.hco3 > MAP_HCO3[1]:
        # below the corner's name, and inside the frame where the patient is at its side
        text_x, anchor = (x, "middle") if x < 310 else (_RIGHT - 10, "end")
        yield (f'<text class="b halo" x="{text_x}" y="{y + 92}" text-anchor="{anchor}">'
               f"above the map: {here.hco3:.0f}</text>")
