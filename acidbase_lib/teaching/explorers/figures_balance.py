"""The balance of lungs and kidneys as a picture: a beam with two loads over a pH line."""
from __future__ import annotations

from collections.abc import Iterable

from acidbase_lib.reading.kilopascal import pressure
from acidbase_lib.reading.lab_settings import LabSettings
from acidbase_lib.reading.settings_in_force import in_force
from acidbase_lib.teaching.explanations.balance import Balance, balance, balance_sentence

from .svg import Figure, Scale, acid_to_alkaline, framed, words

BALANCE_PACO2 = (15, 90)
BALANCE_HCO3 = (6, 46)

_LEFT, _RIGHT, _LINE = 40, 400, 318  # the pH line inside a picture 440 wide
_PH = Scale(6.8, 7.8, _LEFT, _RIGHT)
_PIVOT_X, _PIVOT_Y, _ARM = 220, 172, 120
_MARK = {"low": "\N{BLACK DOWN-POINTING TRIANGLE} low", "normal": "in range",
         "high": "\N{BLACK UP-POINTING TRIANGLE} high"}
_STYLE = (
    ".ab-balance .line{stroke:var(--ab-control,#7d858e);fill:none;stroke-width:1.2}"
    ".ab-balance .beam{stroke:var(--ab-ink,#1f2328);stroke-width:4;stroke-linecap:round}"
    ".ab-balance .acid{fill:var(--ab-acid-panel,#fbeee4);stroke:var(--ab-acid-mark,#d55e00);"
    "stroke-width:2}"
    ".ab-balance .base{fill:var(--ab-alkaline-panel,#e7f2fa);"
    "stroke:var(--ab-alkaline-mark,#0072b2);stroke-width:2;stroke-dasharray:7 3}"
    ".ab-balance .range{fill:var(--ab-accent-panel,#f5edf3);stroke:var(--ab-accent,#74386b)}"
    ".ab-balance .dot{fill:var(--ab-accent,#74386b);stroke:var(--ab-paper,#fff);stroke-width:2}"
)


def balance_figure(paco2: float, hco3: float, settings: LabSettings | None = None, *,
                   uid: str = "balance") -> Figure:
    """Draw PaCO2 and bicarbonate on a beam, and the pH they make on its line.

    Parameters
    ----------
    paco2 : float
        Arterial carbon dioxide tension. [mmHg]
    hco3 : float
        Bicarbonate. [mmol/L]
    settings : LabSettings
        The ranges in use.
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
    here = balance(paco2, hco3, settings)
    sentence = balance_sentence(here)
    body = "".join((*_beam(here), *_names(here), *_ph_line(here, settings)))
    return framed(body, "Balance of carbon dioxide and bicarbonate, over a pH line", sentence,
                  uid=uid, look="ab-balance", style=_STYLE, height=388, top=36)


def _beam(here: Balance) -> Iterable[str]:
    """The loads are equally high at 40 mmHg and 24 mmol/L, and there the beam is level."""
    tilt = min(max(here.off_level * 40, -14), 14) if here.lean else 0.0
    yield (f'<path class="line" d="M{_PIVOT_X - 16} {_PIVOT_Y + 34}L{_PIVOT_X} {_PIVOT_Y}'
           f'L{_PIVOT_X + 16} {_PIVOT_Y + 34}Z"/>')
    yield f'<g transform="rotate({tilt:.1f} {_PIVOT_X} {_PIVOT_Y})">'
    for kind, end, height in (("acid", -_ARM, here.paco2), ("base", _ARM, here.hco3 * 40 / 24)):
        yield (f'<rect class="{kind}" x="{_PIVOT_X + end - 32}" y="{_PIVOT_Y - 2 - height:.1f}" '
               f'width="64" height="{height:.1f}"/>')
    yield (f'<path class="beam" d="M{_PIVOT_X - _ARM - 40} {_PIVOT_Y}H{_PIVOT_X + _ARM + 40}"/>'
           "</g>")


def _names(here: Balance) -> Iterable[str]:
    paco2 = pressure(here.paco2, as_is=True)
    for x, head, value, state in (
        (_PIVOT_X - _ARM, "lungs: acid", f"PaCO2 {paco2}", here.paco2_state),
        (_PIVOT_X + _ARM, "kidneys: base", f"bicarbonate {here.hco3:g} mmol/L", here.hco3_state),
    ):
        yield (f'<text class="b" x="{x}" y="228" text-anchor="middle">{head}'
               f'<tspan x="{x}" dy="1.25em" font-weight="400">{value}</tspan>'
               f'<tspan class="q" x="{x}" dy="1.2em" font-weight="400">{_MARK[state]}</tspan>'
               "</text>")


def _ph_line(here: Balance, settings: LabSettings) -> Iterable[str]:
    low, high = _PH.at(settings.ph.low), _PH.at(settings.ph.high)
    yield (f'<rect class="range" x="{low}" y="{_LINE - 9}" width="{high - low:.1f}" '
           f'height="18"/><path class="line" d="M{_LEFT} {_LINE}H{_RIGHT}"/>')
    for tenth in range(68, 79, 2):
        ph = tenth / 10
        x = _PH.at(ph)
        ions = f'{ph:.1f}<tspan x="{x:g}" dy="1.35em">{10 ** (9 - ph):.0f}</tspan>'
        yield f'<path class="line" d="M{x} {_LINE - 5}V{_LINE + 5}"/>'
        yield words(x, _LINE + 26, ions, "q", "middle")
    yield acid_to_alkaline(_LEFT, _RIGHT, _LINE + 70)
    yield words(_PIVOT_X, _LINE + 96, "pH, and hydrogen ion in nmol/L", "q", "middle")
    x = _PH.at(here.ph)
    beyond = "" if here.lived_with else " off the line"
    anchor = "start" if x < 90 else "end" if x > 350 else "middle"
    yield f'<path class="dot" d="M{x - 9} {_LINE - 24}H{x + 9}L{x} {_LINE - 6}Z"/>'
    yield words(x, _LINE - 30, f"pH {here.ph:.2f}{beyond}", "b", anchor)
