"""Hydrogen ions against pH as SVG: a curve that doubles every 0.3, beside a straight guess."""
from __future__ import annotations

from collections.abc import Callable, Iterable

from acidbase_lib.physiology.henderson_hasselbalch import hydrogen_ion

from .svg import Figure, Scale, acid_to_alkaline, framed, upright, words

CURVE_PH = (6.8, 7.8)
_MOST = 160.0  # the top of the picture [nmol/L]
_LEFT, _RIGHT, _TOP, _BOTTOM = 58, 424, 24, 270
_PH = Scale(*CURVE_PH, _LEFT, _RIGHT)
_IONS = Scale(0, _MOST, _BOTTOM, _TOP)
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
    return framed("".join(_parts(ph, seen)), "Hydrogen ions against pH", sentence, uid=uid,
                  look="ab-ions", style=_STYLE, height=318)


_STYLE = (
    ".ab-ions .axis{stroke:var(--ab-control,#7d858e);fill:none}"
    ".ab-ions .curve{stroke:var(--ab-ink,#1f2328);fill:none;stroke-width:2.5}"
    ".ab-ions .guess{stroke:var(--ab-quiet,#57606a);fill:none;stroke-width:2;"
    "stroke-dasharray:7 5}"
    ".ab-ions .step{fill:var(--ab-paper,#fff);stroke:var(--ab-ink,#1f2328);stroke-width:2}"
    ".ab-ions .here{stroke:var(--ab-accent,#74386b);stroke-width:2;fill:none}"
    ".ab-ions .dot{fill:var(--ab-accent,#74386b);stroke:var(--ab-paper,#fff);stroke-width:3}"
)


def _through(ions_at: Callable[[float], float], seen: tuple[float, float] = CURVE_PH) -> str:
    """The path of a number of ions over the pH of the picture, or a part of it."""
    low, high = seen
    phs = [low + (high - low) * i / 40 for i in range(41)]
    return "M" + "L".join(f"{_PH.at(ph)} {_IONS.at(ions_at(ph))}" for ph in phs)


def _parts(ph: float, seen: tuple[float, float]) -> Iterable[str]:
    yield f'<path class="axis" d="M{_LEFT} {_TOP}V{_BOTTOM}H{_RIGHT}"/>'
    for ions in (0, 40, 80, 120, 160):
        yield words(_LEFT - 7, _IONS.at(ions) + 5, f"{ions}", "q", "end")
    for tick in (6.8, 7.1, 7.4, 7.7):
        yield words(_PH.at(tick), _BOTTOM + 19, f"{tick:.1f}", "q", "middle")
    yield words((_LEFT + _RIGHT) / 2, _BOTTOM + 42, "pH", anchor="middle")
    yield acid_to_alkaline(_LEFT, _RIGHT, _BOTTOM + 42)
    yield upright(16, (_TOP + _BOTTOM) / 2, "hydrogen ions, nmol/L")
    yield f'<path class="guess" d="{_through(straight_guess)}"/>'
    if seen[1] > seen[0]:
        yield f'<path class="curve" d="{_through(hydrogen_ion, seen)}"/>'
    yield words(_PH.at(6.83), _IONS.at(straight_guess(6.83)) + 21, "a straight scale", "q halo")
    for step in (step for step in _STEPS if seen[0] <= step <= seen[1]):
        x, y = _PH.at(step), _IONS.at(hydrogen_ion(step))
        yield f'<circle class="step" cx="{x}" cy="{y}" r="5"/>'
        yield words(x + 9, y - 8, f"{hydrogen_ion(step):.0f}", "q halo")
    x, y = _PH.at(ph), _IONS.at(hydrogen_ion(ph))
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
