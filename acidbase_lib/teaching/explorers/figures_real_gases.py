"""What the shortcut and the rules of response meet in real gases: counts as bars, and in words."""
from __future__ import annotations

from base64 import b64encode
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from types import MappingProxyType
from typing import Final

from acidbase_lib.caution import CAUTION
from acidbase_lib.teaching.escaping import escape
from acidbase_lib.teaching.theme import PALETTE, table

from .svg import Figure

#: Counted once over the 1,074 arterial gases of the source below, bicarbonate from pH and PaCO2
#: in whole mmol/L, the kit's own ranges and rules; a test counts them again (`shortcut_counts`).
GASES: Final = 1074
ABNORMAL_PH: Final = 438
SHORTCUT: Final[Mapping[str, int]] = MappingProxyType(
    {"names the disorder": 296, "is silent": 118, "misses a second disorder": 24,
     "names a wrong one": 0})
METABOLIC: Final[Mapping[str, int]] = MappingProxyType(
    {"PaCO2 where expected": 152, "PaCO2 elsewhere": 165})
SOURCE: Final = "MIMIC-III Clinical Database Demo v1.4, PhysioNet, ODbL 1.0"

#: Words stand at the left, also where the page would set a table's cells to the right.
_TABLE: Final = ".ab-real.ab-real :is(th,caption){text-align:start}"
_LEFT, _WIDTH, _HIGH = 8, 344, 46


@dataclass(frozen=True, slots=True)
class RealGases:
    """The counts as a picture with its sentence, and as a table below it."""

    figure: Figure

    def _repr_html_(self) -> str:
        # an image survives where a drawing inside the page is taken out of a reopened notebook
        data = b64encode(self.figure.svg.encode()).decode()
        rows = [*((f"the direction rule {name}", count, round(100 * count / ABNORMAL_PH))
                  for name, count in SHORTCUT.items()),
                *((f"metabolic by label, {name}", count,
                   round(100 * count / sum(METABOLIC.values())))
                  for name, count in METABOLIC.items())]
        return (f'<style>{_TABLE}</style><section class="ab ab-real">'
                f'<img alt="{escape(self.figure.sentence)}" '
                'style="width:100%;max-width:480px;height:auto" '
                f'src="data:image/svg+xml;base64,{data}">'
                f"{table('The same counts', ('what', 'gases', 'share, %'), rows)}"
                f"<p>{escape(SOURCE)}. {escape(CAUTION)}</p></section>")

    def __repr__(self) -> str:
        return f"{self.figure.sentence} {SOURCE}. {CAUTION}"


def show_real_gases() -> RealGases:
    """Show what the direction rule and the expected band meet in real gases."""
    return RealGases(real_gases_figure())


def real_gases_figure() -> Figure:
    """Draw the counts as two bars, each split by what was found."""
    sentence = (
        f"Of {GASES} real arterial gases, {ABNORMAL_PH} have an abnormal pH. There the direction "
        f"rule names the disorder in {_counted(SHORTCUT, 'names the disorder', ABNORMAL_PH)}, "
        f"gives no name in {_counted(SHORTCUT, 'is silent', ABNORMAL_PH)}, misses a second "
        f"disorder in {_counted(SHORTCUT, 'misses a second disorder', ABNORMAL_PH)} and names a "
        f"wrong one in none. Of {sum(METABOLIC.values())} gases labeled as one metabolic disorder, "
        f"{_counted(METABOLIC, 'PaCO2 elsewhere', sum(METABOLIC.values()))} have a PaCO2 outside "
        "the expected band.")
    body = "".join((
        *_bar(40, f"Abnormal pH, {ABNORMAL_PH} gases: the direction rule", SHORTCUT),
        *_bar(232, f"Labeled metabolic, {sum(METABOLIC.values())} gases", METABOLIC)))
    svg = (f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 360 372" role="img" '
           f'aria-labelledby="real-title real-desc"><title id="real-title">Real gases, counted'
           f'</title><desc id="real-desc">{escape(sentence)}</desc><style>text{{font:14px '
           f"system-ui,sans-serif;fill:{PALETTE['ink']}}}.b{{font-weight:650;font-size:15px}}"
           f".part{{stroke:{PALETTE['ink']};stroke-width:1.2}}</style>{_patterns()}"
           f'<rect width="360" height="372" fill="{PALETTE["paper"]}"/>{body}</svg>')
    return Figure(svg, sentence)


def share(count: int, among: int) -> str:
    """A count as a whole percentage."""
    return f"{100 * count / among:.0f} %"


def _counted(counts: Mapping[str, int], name: str, among: int) -> str:
    return f"{counts[name]} ({share(counts[name], among)})"


def _patterns() -> str:
    """Plain, striped and dotted, so that no part rests on its color."""
    ink, ground = PALETTE["quiet"], PALETTE["panel"]
    drawn = (f'<path d="M0 0H10" stroke="{ink}" stroke-width="3"/>',
             f'<circle cx="5" cy="5" r="2.2" fill="{ink}"/>')
    turns = (' patternTransform="rotate(45)"', "")
    return "<defs>" + "".join(
        f'<pattern id="p{n}" width="10" height="10" patternUnits="userSpaceOnUse"{turn}>'
        f'<rect width="10" height="10" fill="{ground}"/>{mark}</pattern>'
        for n, (mark, turn) in enumerate(zip(drawn, turns, strict=True), start=1)) + "</defs>"


def _fills() -> Sequence[str]:
    return (PALETTE["accent-panel"], "url(#p1)", "url(#p2)")


def _bar(y: int, head: str, counts: Mapping[str, int]) -> list[str]:
    among = sum(counts.values())
    parts = [f'<text class="b" x="{_LEFT}" y="{y - 12}">{head}</text>']
    x = float(_LEFT)
    shown = [(name, count) for name, count in counts.items() if count]
    for n, (name, count) in enumerate(shown):
        width = _WIDTH * count / among
        parts.append(f'<rect class="part" x="{x:.1f}" y="{y}" width="{width:.1f}" '
                     f'height="{_HIGH}" fill="{_fills()[n]}"/>')
        row = y + _HIGH + 14 + 28 * n
        parts.append(f'<rect class="part" x="{_LEFT}" y="{row}" width="18" height="18" '
                     f'fill="{_fills()[n]}"/><text x="{_LEFT + 28}" y="{row + 14}">{name}: '
                     f'{count} ({share(count, among)})</text>')
        x += width
    return parts
