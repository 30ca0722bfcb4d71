"""The map of the direction rule as SVG: four named corners, a silent cross, PaCO2 lines."""
from __future__ import annotations

from collections.abc import Iterable
from math import log10

from acidbase_lib.physiology.henderson_hasselbalch import ALPHA, PK
from acidbase_lib.physiology.units import MMHG_PER_KPA
from acidbase_lib.reading.kilopascal import bare_pressure, kpa_first, school_unit
from acidbase_lib.reading.lab_settings import LabSettings
from acidbase_lib.reading.settings_in_force import in_force
from acidbase_lib.teaching.explanations.direction import MapPoint, direction_sentence, map_point

from .svg import Figure, Scale, acid_to_alkaline, framed, upright, words

MAP_PH = (7.0, 7.8)
MAP_PACO2 = (10, 100)
MAP_HCO3 = (0, 50)

_LEFT, _RIGHT, _TOP, _BOTTOM = 46, 402, 40, 372  # the map's frame inside a 440 x 430 picture
_PH = Scale(*MAP_PH, _LEFT, _RIGHT)
_HCO3 = Scale(*MAP_HCO3, _BOTTOM, _TOP)
_LINES = (20, 40, 60, 80)  # PaCO2 lines drawn on the map [mmHg]
_LINES_KPA = (3, 5, 8, 11)  # and where kPa is told [kPa]


def direction_figure(ph: float, paco2: float, settings: LabSettings | None = None, *,
                     uid: str = "direction") -> Figure:
    """Draw the direction rule as a map, with one patient on it.

    The map's axes are pH and bicarbonate. Its four corners are where the two-number rule
    names a disorder; the cross between them is where it is silent. Curves of equal PaCO2
    show what the third number adds.

    Parameters
    ----------
    ph : float
        Arterial pH.
    paco2 : float
        Arterial carbon dioxide tension. [mmHg]
    settings : LabSettings
        The ranges in use.
    uid : str
        Keeps the picture's inner names apart from those of another picture on the page.

    Returns
    -------
    Figure
        The map, and the sentence that reads the patient on it.

    Raises
    ------
    QuantityError
        If ``ph`` or ``paco2`` is outside its credible limits.
    """
    settings = settings or in_force()
    here = map_point(ph, paco2, settings)
    rects, labels = _corners(here, settings, uid)
    body = "".join((_patterns(uid), *rects, *_paco2_lines(here.paco2), *labels,
                    *_silent_bands(settings), *_axes(settings), *_patient(here)))
    return framed(body, "Map of the direction rule: pH across, bicarbonate up",
                  direction_sentence(here), uid=uid, look="ab-direction", style=_STYLE, height=430)


_STYLE = (
    ".ab-direction .acid{fill:var(--ab-acid,#a44300)}"
    ".ab-direction .alkaline{fill:var(--ab-alkaline,#005f96)}"
    ".ab-direction .here{stroke:var(--ab-accent,#74386b);fill:none}"
    ".ab-direction .line{stroke:var(--ab-control,#7d858e);fill:none;stroke-width:1.2}"
    ".ab-direction .dot{fill:var(--ab-accent,#74386b);stroke:var(--ab-paper,#fff);stroke-width:3}"
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
        x, y, right, bottom = _PH.at(across[0]), _HCO3.at(up[1]), _PH.at(across[1]), _HCO3.at(up[0])
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
    across = (_PH.at(settings.ph.low) + _PH.at(settings.ph.high)) / 2
    up = (_HCO3.at(settings.hco3.low) + _HCO3.at(settings.hco3.high)) / 2
    for x, anchor in ((_LEFT + 10, "start"), (_RIGHT - 10, "end")):
        yield words(x, up + 5, "no name", "q halo", anchor)
    for hco3 in (43, 5):  # between two PaCO2 lines
        yield words(across, _HCO3.at(hco3) + 5, "no name", "q halo", "middle")


def _curve(paco2: float) -> tuple[str, float, float]:
    """A line of equal PaCO2 as a path, and the point where it leaves the map."""
    low, high = MAP_PH
    leaves = min(high, PK + log10(MAP_HCO3[1] / (ALPHA * paco2)))
    phs = [low + (leaves - low) * i / 32 for i in range(33)]
    points = [(_PH.at(ph), _HCO3.at(ALPHA * paco2 * 10 ** (ph - PK))) for ph in phs]
    return "M" + "L".join(f"{x} {y}" for x, y in points), points[-1][0], points[-1][1]


def _paco2_lines(paco2: float) -> Iterable[str]:
    _, here_x, here_y = _curve(paco2)
    lines = ({f"{line}": line * MMHG_PER_KPA for line in _LINES_KPA} if kpa_first() else
             {f"{line}": float(line) for line in _LINES})
    for named, line in lines.items():
        path, x, y = _curve(line)
        yield f'<path class="line" d="{path}"/>'
        if abs(x - here_x) + abs(y - here_y) > 34:  # room for the patient's own label
            yield _line_label(named, x, y, "q")
    path, x, y = _curve(paco2)
    yield f'<path class="here" d="{path}" stroke-width="2.5" stroke-dasharray="8 5"/>'
    yield _line_label(bare_pressure(paco2, as_is=True), x, y, "b")
    yield words(_LEFT, 16, f"PaCO2, {school_unit()}", "q")


def _line_label(text: str, x: float, y: float, kind: str) -> str:
    if y > _TOP + 1:  # leaves on the right
        return words(_RIGHT + 6, y + 5, text, kind)
    return words(x, _TOP - 8, text, kind, "middle")


def _axes(settings: LabSettings) -> Iterable[str]:
    yield (f'<rect x="{_LEFT}" y="{_TOP}" width="{_RIGHT - _LEFT}" height="{_BOTTOM - _TOP}" '
           'class="line"/>')
    for x, text in (*((_PH.at(ph), f"{ph:.1f}") for ph in (7.0, 7.2, 7.6, 7.8)),
                    (_PH.at(settings.ph.low) - 8, f"{settings.ph.low:.2f}"),
                    (_PH.at(settings.ph.high) + 8, f"{settings.ph.high:.2f}")):
        yield words(x, _BOTTOM + 19, text, "q", "middle")
    for hco3 in (0, 10, settings.hco3.low, settings.hco3.high, 40, 50):
        yield words(_LEFT - 7, _HCO3.at(hco3) + 5, f"{hco3:g}", "q", "end")
    yield words((_LEFT + _RIGHT) / 2, _BOTTOM + 44, "pH", anchor="middle")
    yield acid_to_alkaline(_LEFT, _RIGHT, _BOTTOM + 44)
    yield upright(14, (_TOP + _BOTTOM) / 2, "bicarbonate, mmol/L")


def _patient(here: MapPoint) -> Iterable[str]:
    x, y = _PH.at(here.ph), _HCO3.at(here.hco3)
    yield f'<circle class="dot" cx="{x}" cy="{y}" r="9"/>'
    if here.hco3 > MAP_HCO3[1]:
        # below the corner's name, and inside the frame where the patient is at its side
        text_x, anchor = (x, "middle") if x < 310 else (_RIGHT - 10, "end")
        yield words(text_x, y + 92, f"above the map: {here.hco3:.0f}", "b halo", anchor)
