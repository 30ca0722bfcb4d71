"""What the pictures are drawn with: cards, arrows, lines of words, lungs, kidneys, a drop."""
from __future__ import annotations

from collections.abc import Sequence
from math import atan2, cos, sin
from typing import Final

from acidbase_lib.teaching.explorers.svg import Figure, framed, words

LOOK: Final = "ab-pic"
#: Words are larger than in a figure that moves: these are looked at on a phone, too.
STYLE: Final = (
    ".ab-pic text{font-size:16px}.ab-pic .b{font-size:17px}.ab-pic .q{font-size:15px}"
    ".ab-pic tspan.q{font-size:15px}"
    ".ab-pic .card{fill:var(--ab-panel,#f6f5f3);stroke:var(--ab-control,#7d858e);stroke-width:1.5}"
    ".ab-pic .soft{fill:var(--ab-accent-panel,#f5edf3);stroke:var(--ab-accent,#74386b);"
    "stroke-width:1.5}"
    ".ab-pic .acid{fill:var(--ab-acid-panel,#fbeee4);stroke:var(--ab-acid-mark,#d55e00);"
    "stroke-width:2}"
    ".ab-pic .base{fill:var(--ab-alkaline-panel,#e7f2fa);"
    "stroke:var(--ab-alkaline-mark,#0072b2);stroke-width:2;stroke-dasharray:7 3}"
    ".ab-pic .organ{fill:var(--ab-accent-panel,#f5edf3);stroke:var(--ab-accent,#74386b);"
    "stroke-width:2;stroke-linejoin:round}"
    ".ab-pic .way{stroke:var(--ab-ink,#1f2328);stroke-width:2.5;fill:none;stroke-linecap:round;"
    "stroke-linejoin:round}"
    ".ab-pic .thin{stroke:var(--ab-control,#7d858e);stroke-width:1.5;fill:none}"
    ".ab-pic .tip{fill:var(--ab-ink,#1f2328)}"
    ".ab-pic .dot{fill:var(--ab-accent,#74386b);stroke:var(--ab-paper,#fff);stroke-width:2.5}"
)


def picture(body: Sequence[str], title: str, sentence: str, uid: str, height: int,
            top: int = 0) -> Figure:
    """Return what is drawn as a figure in the one look; see ``explorers.svg.framed``."""
    return framed("".join(body), title, sentence, uid=uid, look=LOOK, style=STYLE, height=height,
                  top=top)


def card(x: float, y: float, width: float, height: float, kind: str = "card",
         corner: float = 10) -> str:
    """A box with round corners; its kind is a class of the style."""
    return (f'<rect class="{kind}" x="{x:g}" y="{y:g}" width="{width:g}" height="{height:g}" '
            f'rx="{corner:g}"/>')


def lines(x: float, y: float, texts: Sequence[str], kind: str = "", anchor: str = "",
          step: float = 20) -> str:
    """Lines of words, one below the other."""
    return "".join(words(x, y + step * place, text, kind, anchor)
                   for place, text in enumerate(texts))


def arrow(x: float, y: float, to_x: float, to_y: float, size: float = 9) -> str:
    """An arrow from one point to another."""
    turn = atan2(to_y - y, to_x - x)
    back_x, back_y = to_x - size * cos(turn), to_y - size * sin(turn)
    side_x, side_y = size * 0.6 * sin(turn), size * 0.6 * cos(turn)
    return (f'<path class="way" d="M{x:.1f} {y:.1f}L{back_x:.1f} {back_y:.1f}"/>'
            f'<path class="tip" d="M{to_x:.1f} {to_y:.1f}L{back_x - side_x:.1f} '
            f'{back_y + side_y:.1f}L{back_x + side_x:.1f} {back_y - side_y:.1f}Z"/>')


def lungs(x: float, y: float, scale: float = 1) -> str:
    """Two lungs and the windpipe, with their middle at a point."""
    lobe = "M5 -14C14 -32 30 -14 34 10C36 24 34 32 26 30C16 27 7 28 6 18Z"
    return (f'<g transform="translate({x:g} {y:g}) scale({scale:g})"><path class="way" '
            f'd="M0 -38V-20M0 -20L-7 -10M0 -20L7 -10"/><path class="organ" d="{lobe}"/>'
            f'<path class="organ" transform="scale(-1 1)" d="{lobe}"/></g>')


def kidneys(x: float, y: float, scale: float = 1) -> str:
    """Two kidneys, with their middle at a point."""
    bean = "M12 -22C30 -30 40 -6 34 12C30 26 16 28 13 17C11 10 18 6 17 -1C16 -8 6 -12 12 -22Z"
    return (f'<g transform="translate({x:g} {y:g}) scale({scale:g})"><path class="way" '
            f'd="M12 4C4 8 4 20 4 30M-12 4C-4 8 -4 20 -4 30"/><path class="organ" d="{bean}"/>'
            f'<path class="organ" transform="scale(-1 1)" d="{bean}"/></g>')


def drop(x: float, y: float, scale: float = 1) -> str:
    """A drop of blood, with its middle at a point."""
    return (f'<path class="acid" transform="translate({x:g} {y:g}) scale({scale:g})" '
            'd="M0 -26C10 -10 18 0 18 11A18 18 0 0 1 -18 11C-18 0 -10 -10 0 -26Z"/>')


def marker(x: float, y: float, size: float = 10) -> str:
    """A triangle that points down at a place on a line."""
    left, top = x - size, y - 1.6 * size
    return f'<path class="dot" d="M{left:.1f} {top:.1f}h{2 * size:g}L{x:.1f} {y:g}Z"/>'
