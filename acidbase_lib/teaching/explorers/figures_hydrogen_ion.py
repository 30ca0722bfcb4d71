"""Hydrogen ions against pH as SVG: a curve that doubles every 0.3, beside a straight guess."""
from __future__ import annotations

from collections.abc import Iterable
from html import escape

from acidbase_lib.physiology.henderson_hasselbalch import hydrogen_ion

from .figures import Figure

CURVE_PH = (6.8, 7.8)
_MOST = 160.0  # the top of the picture [nmol/L]
_LEFT, _RIGHT, _TOP, _BOTTOM = 58, 424, 24, 270
_STEPS = (7.7, 7.4, 7.1, 6.8)  # each 0.3 below the last: twice as many ions


def straight_guess(ph: float) -> float:
    """What a straight scale would give: as many hundredths more ions as the pH fell. [nmol/L]"""
    return 40 * (1 + (7.40 - ph) / 7.40)


def hydrogen_ion_figure(ph: float, *, seen: tuple[float, float] = CURVE_PH,
                        uid: str = "ions") -> Figure:
    """Draw hydrogen ions against pH, with one pH on the curve.

    Parameters
    ----------
    ph : float
        pH.
    seen : tuple of float
        From which pH to which the curve is drawn: where a reader has been, so that the picture
        does not show what is to be predicted.
    uid : str
        Keeps the picture's inner names apart from those of another picture on the page.

    Returns
    -------
    Figure
        The curve, and the sentence that reads it aloud.

    Raises
    ------
    QuantityError
        If ``ph`` is outside its credible limits.
    """
    sentence = _sentence(ph)
    svg = (f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 440 318" role="img" '
           f'aria-labelledby="{uid}-title {uid}-desc" class="ab-map ab-ions">'
           f'<title id="{uid}-title">Hydrogen ions against pH</title>'
           f'<desc id="{uid}-desc">{escape(sentence)}</desc><style>{_STYLE}</style>'
           f"{''.join(_parts(ph, seen))}</svg>")
    return Figure(svg, sentence)


_STYLE = (
    ".ab-ions{display:block;width:100%;max-width:560px;height:auto;font-family:inherit}"
    ".ab-ions text{fill:var(--ab-ink,#1f2328);font-size:14px}"
    ".ab-ions .q{fill:var(--ab-quiet,#57606a)}.ab-ions .b{font-weight:650;font-size:15px}"
    ".ab-ions .halo{paint-order:stroke;stroke:var(--ab-paper,#fff);stroke-width:5px;"
    "stroke-linejoin:round}"
    ".ab-ions .axis{stroke:var(--ab-control,#7d858e);fill:none}"
    ".ab-ions .curve{stroke:var(--ab-ink,#1f2328);fill:none;stroke-width:2.5}"
    ".ab-ions .guess{stroke:var(--ab-quiet,#57606a);fill:none;stroke-width:2;"
    "stroke-dasharray:7 5}"
    ".ab-ions .step{fill:var(--ab-paper,#fff);stroke:var(--ab-ink,#1f2328);stroke-width:2}"
    ".ab-ions .here{stroke:var(--ab-accent,#74386b);stroke-width:2;fill:none}"
    ".ab-ions .dot{fill:var(--ab-accent,#74386b);stroke:var(--ab-paper,#fff);stroke-width:3}"
)


def _x(ph: float) -> float:
    low, high = CURVE_PH
    return round(_LEFT + (ph - low) / (high - low) * (_RIGHT - _LEFT), 1)


def _y(ions: float) -> float:
    return round(_BOTTOM - ions / _MOST * (_BOTTOM - _TOP), 1)


def _parts(ph: float, seen: tuple[float, float]) -> Iterable[str]:
    yield f'<path class="axis" d="M{_LEFT} {_TOP}V{_BOTTOM}H{_RIGHT}"/>'
    for ions in (0, 40, 80, 120, 160):
        yield (f'<text class="q" x="{_LEFT - 7}" y="{_y(ions) + 5}" text-anchor="end">'
               f"{ions}</text>")
    for tick in (6.8, 7.1, 7.4, 7.7):
        yield (f'<text class="q" x="{_x(tick)}" y="{_BOTTOM + 19}" text-anchor="middle">'
               f"{tick:.1f}</text>")
    middle = (_LEFT + _RIGHT) / 2
    yield f'<text x="{middle}" y="{_BOTTOM + 42}" text-anchor="middle">pH</text>'
    yield (f'<text x="{_LEFT}" y="{_BOTTOM + 42}">\N{LEFTWARDS ARROW} acid</text>'
           f'<text x="{_RIGHT}" y="{_BOTTOM + 42}" text-anchor="end">'
           "alkaline \N{RIGHTWARDS ARROW}</text>")
    half = (_TOP + _BOTTOM) / 2
    yield (f'<text x="16" y="{half}" text-anchor="middle" transform="rotate(-90 16 {half})">'
           "hydrogen ions, nmol/L</text>")
    low, high = CURVE_PH
    phs = [low + (high - low) * i / 40 for i in range(41)]
    yield f'<path class="guess" d="M{"L".join(f"{_x(p)} {_y(straight_guess(p))}" for p in phs)}"/>'
    low, high = seen
    phs = [low + (high - low) * i / 40 for i in range(41)]
    if high > low:
        yield (f'<path class="curve" '
               f'd="M{"L".join(f"{_x(p)} {_y(hydrogen_ion(p))}" for p in phs)}"/>')
    yield (f'<text class="q halo" x="{_x(6.83)}" y="{_y(straight_guess(6.83)) + 21}">'
           "a straight scale</text>")
    for step in (step for step in _STEPS if low <= step <= high):
        yield (f'<circle class="step" cx="{_x(step)}" cy="{_y(hydrogen_ion(step))}" r="5"/>'
               f'<text class="q halo" x="{_x(step) + 9}" y="{_y(hydrogen_ion(step)) - 8}">'
               f"{hydrogen_ion(step):.0f}</text>")
    x, y = _x(ph), _y(hydrogen_ion(ph))
    yield f'<path class="here" d="M{x} {_BOTTOM}V{y}H{_LEFT}" stroke-dasharray="3 4"/>'
    yield f'<circle class="dot" cx="{x}" cy="{y}" r="8"/>'


def _sentence(ph: float) -> str:
    ions = hydrogen_ion(ph)
    times = ions / 40
    if f"{ph:.2f}" == "7.40":
        return (f"pH 7.40 stands for {ions:.0f} nmol/L of hydrogen ions. "
                "Here the curve and the straight scale meet.")
    if abs(times - 1) < 0.03:
        than = "about as many as at pH 7.40"
    elif times > 1:
        than = f"{times:.1f} times the 40 of pH 7.40"
    else:
        than = f"{100 * times:.0f} % of the 40 of pH 7.40"
    return (f"pH {ph:.2f} stands for {ions:.0f} nmol/L of hydrogen ions, {than}. "
            f"A straight scale would give {straight_guess(ph):.0f}.")
