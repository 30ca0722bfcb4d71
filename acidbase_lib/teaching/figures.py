"""Pictures as SVG text, each with a sentence that says what it shows."""
from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from html import escape
from math import log10

from ..physiology.henderson_hasselbalch import ALPHA, PK, hco3_of
from ..reading.direction import direction_rule
from ..reading.ranges import DEFAULT_SETTINGS, LabSettings

MAP_PH = (7.0, 7.8)
MAP_PACO2 = (10, 100)
MAP_HCO3 = (0, 50)

_LEFT, _RIGHT, _TOP, _BOTTOM = 46, 402, 40, 372  # the map's frame inside a 440 x 430 picture
_LINES = (20, 40, 60, 80)  # PaCO2 lines drawn on the map [mmHg]


@dataclass(frozen=True, slots=True)
class Figure:
    """A picture and its text equivalent.

    Parameters
    ----------
    svg : str
        One ``<svg role="img">`` element with a title and a description.
    sentence : str
        What the picture shows, to be read or read aloud in its place.
    """

    svg: str
    sentence: str


@dataclass(frozen=True, slots=True)
class Place:
    """One patient on the map: three numbers, where each lies, and what the rule names."""

    ph: float
    paco2: float
    hco3: float
    ph_state: str
    paco2_state: str
    hco3_state: str
    disorder: str | None


def place(ph: float, paco2: float, settings: LabSettings = DEFAULT_SETTINGS) -> Place:
    """Put a gas on the map; bicarbonate follows from pH and PaCO2, as in the analyzer.

    Parameters
    ----------
    ph : float
        Arterial pH.
    paco2 : float
        Arterial carbon dioxide tension. [mmHg]
    settings : LabSettings
        The ranges in use.

    Returns
    -------
    Place
        Bicarbonate is rounded to 0.1 mmol/L, so that it is judged as it is shown.

    Raises
    ------
    QuantityError
        If ``ph`` or ``paco2`` is outside its credible limits.
    """
    hco3 = round(hco3_of(ph, paco2), 1)
    on_map = MAP_HCO3[0] < hco3 <= 80  # beyond it no rule is asked: no patient has it
    disorder = direction_rule(ph=ph, hco3=hco3, settings=settings).disorder if on_map else None
    return Place(ph, paco2, hco3, settings.ph.state(ph), settings.paco2.state(paco2),
                 settings.hco3.state(hco3), disorder)


def direction_figure(ph: float, paco2: float, settings: LabSettings = DEFAULT_SETTINGS, *,
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
    here = place(ph, paco2, settings)
    sentence = direction_sentence(here)
    title = "Map of the direction rule: pH across, bicarbonate up"
    body = "".join((*_corners(here, settings, uid), *_silent_bands(settings), *_paco2_lines(paco2),
                    *_axes(settings), *_patient(here)))
    svg = (f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 440 430" role="img" '
           f'aria-labelledby="{uid}-title {uid}-desc" class="ab-map">'
           f'<title id="{uid}-title">{escape(title)}</title>'
           f'<desc id="{uid}-desc">{escape(sentence)}</desc>'
           f"<style>{_STYLE}</style>{_patterns(uid)}{body}</svg>")
    return Figure(svg, sentence)


def direction_sentence(here: Place) -> str:
    """Read one place on the map aloud: what pH says, what bicarbonate says, what PaCO2 adds."""
    ph = f"pH {here.ph:.2f} is {_word(here.ph_state)}."
    hco3 = f"bicarbonate {here.hco3:g} mmol/L is {_word(here.hco3_state)}"
    paco2 = f"PaCO2 {here.paco2:g} mmHg is {_word(here.paco2_state)}"
    if here.hco3 > 80:
        return (f"{ph} With a PaCO2 of {here.paco2:g} mmHg it would take a bicarbonate of "
                f"{here.hco3:.0f} mmol/L. No patient has that: check the two numbers.")
    if here.ph_state == "normal":
        return f"{ph} There is no direction to compare, so the rule is silent. {_behind(here)}"
    if here.hco3_state == "normal":
        return (f"{ph} {hco3[0].upper()}{hco3[1:]}: there is no direction to compare, so the "
                f"two-number rule is silent. {_paco2_alone(here, paco2)}")
    ways = "the same way" if here.disorder and "metabolic" in here.disorder else "opposite ways"
    return (f"{ph} {hco3[0].upper()}{hco3[1:]}. They moved {ways}, so the rule names "
            f"{here.disorder}. {_confirmed(here, paco2)}")


def _word(state: str) -> str:
    return "in range" if state == "normal" else state


def _opposite(here: Place) -> bool:
    return {here.ph_state, here.paco2_state} == {"low", "high"}


def _behind(here: Place) -> str:
    if here.paco2_state == here.hco3_state == "normal":
        return "PaCO2 and bicarbonate are in range as well."
    return (f"But PaCO2 {here.paco2:g} mmHg is {_word(here.paco2_state)} and bicarbonate "
            f"{here.hco3:g} mmol/L is {_word(here.hco3_state)}: a pH in range does not prove "
            "that all is well.")


def _paco2_alone(here: Place, paco2: str) -> str:
    if _opposite(here):
        side = "acidosis" if here.ph_state == "low" else "alkalosis"
        return f"{paco2}, opposite to pH: PaCO2 still speaks, and it says respiratory {side}."
    return f"{paco2}, so PaCO2 gives no name either: the values lie close to their ranges' edges."


def _confirmed(here: Place, paco2: str) -> str:
    if here.disorder and "respiratory" in here.disorder:
        return f"{paco2}, opposite to pH: it confirms the name."
    if here.paco2_state == "normal":
        return f"{paco2}: the lungs are not the cause, which fits the name."
    if _opposite(here):
        return (f"But {paco2}, opposite to pH: the lungs push the pH this way too. That is a "
                "second disorder, and the two-number rule hides it.")
    return f"{paco2}, the same way as pH: the lungs are not the cause, which fits the name."


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


def _corners(here: Place, settings: LabSettings, uid: str) -> Iterable[str]:
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
        yield (f'<rect{edge} x="{x}" y="{y}" width="{right - x:.1f}" height="{bottom - y:.1f}" '
               f'style="fill:url(#{uid}-{kind}-{side})"/>')
        text_x, anchor = (x + 10, "start") if side == "acid" else (right - 10, "end")
        text_y = y + 24 if up is much else bottom - 30
        arrow = "\N{BLACK DOWN-POINTING TRIANGLE}" if side == "acid" else (
            "\N{BLACK UP-POINTING TRIANGLE}")
        yield (f'<text class="b halo {side}" x="{text_x:.1f}" y="{text_y:.1f}" '
               f'text-anchor="{anchor}">{kind}<tspan x="{text_x:.1f}" dy="18">{arrow} {name}'
               "</tspan></text>")


def _silent_bands(settings: LabSettings) -> Iterable[str]:
    across = (_x(settings.ph.low) + _x(settings.ph.high)) / 2
    up = (_y(settings.hco3.low) + _y(settings.hco3.high)) / 2
    yield (f'<text class="q halo" x="{_LEFT + 10}" y="{up + 5:.1f}">silent</text>'
           f'<text class="q halo" x="{_RIGHT - 10}" y="{up + 5:.1f}" text-anchor="end">silent</text>')
    for y in (_TOP + 22, _BOTTOM - 14):
        yield f'<text class="q halo" x="{across:.1f}" y="{y}" text-anchor="middle">silent</text>'


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
    yield f'<text class="q" x="{_LEFT}" y="14">PaCO2 lines, mmHg</text>'


def _line_label(text: str, x: float, y: float, kind: str) -> str:
    if y > _TOP + 1:  # leaves on the right
        return f'<text class="{kind}" x="{_RIGHT + 6}" y="{y + 5:.1f}">{text}</text>'
    return f'<text class="{kind}" x="{x}" y="{_TOP - 8}" text-anchor="middle">{text}</text>'


def _axes(settings: LabSettings) -> Iterable[str]:
    yield (f'<rect x="{_LEFT}" y="{_TOP}" width="{_RIGHT - _LEFT}" height="{_BOTTOM - _TOP}" '
           'class="line"/>')
    for ph in (7.0, 7.2, settings.ph.low, settings.ph.high, 7.6, 7.8):
        shift = {settings.ph.low: -8, settings.ph.high: 8}.get(ph, 0)
        yield (f'<text class="q" x="{_x(ph) + shift:.1f}" y="{_BOTTOM + 19}" '
               f'text-anchor="middle">{ph:.1f}</text>' if shift == 0 else
               f'<text x="{_x(ph) + shift:.1f}" y="{_BOTTOM + 19}" '
               f'text-anchor="middle">{ph:.2f}</text>')
    for hco3 in (0, 10, settings.hco3.low, settings.hco3.high, 40, 50):
        yield f'<text class="q" x="{_LEFT - 7}" y="{_y(hco3) + 5:.1f}" text-anchor="end">{hco3:g}</text>'
    middle = (_LEFT + _RIGHT) / 2
    yield f'<text x="{middle}" y="{_BOTTOM + 44}" text-anchor="middle">pH</text>'
    yield (f'<text x="{_LEFT}" y="{_BOTTOM + 44}">\N{LEFTWARDS ARROW} more acid</text>'
           f'<text x="{_RIGHT}" y="{_BOTTOM + 44}" text-anchor="end">'
           "more alkaline \N{RIGHTWARDS ARROW}</text>")
    half = (_TOP + _BOTTOM) / 2
    yield (f'<text x="13" y="{half}" text-anchor="middle" transform="rotate(-90 13 {half})">'
           "bicarbonate, mmol/L</text>")


def _patient(here: Place) -> Iterable[str]:
    x = min(max(_x(here.ph), _LEFT), _RIGHT)
    y = min(max(_y(here.hco3), _TOP), _BOTTOM)
    yield f'<circle class="dot" cx="{x}" cy="{y}" r="9"/>'
    if here.hco3 > MAP_HCO3[1]:
        yield (f'<text class="b halo" x="{x}" y="{y + 30}" text-anchor="middle">'
               f"above the map: {here.hco3:.0f}</text>")
