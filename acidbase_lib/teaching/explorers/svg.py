"""What every figure shares: one frame, one scale, the ends of a pH axis, words on the picture."""
from __future__ import annotations

from dataclasses import dataclass
from typing import Final

from acidbase_lib.teaching.escaping import escape

WIDTH: Final = 440  # of every figure; a page shrinks or widens the whole


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
class Scale:
    """Where a value lies between two ends of a picture; beyond the ends it stands at the end.

    Parameters
    ----------
    low, high : float
        The values at the two ends.
    start, end : float
        Where the two ends are. [user units of the picture]
    """

    low: float
    high: float
    start: float
    end: float

    def at(self, value: float) -> float:
        """Where a value lies. [user units of the picture]"""
        share = (min(max(value, self.low), self.high) - self.low) / (self.high - self.low)
        return round(self.start + share * (self.end - self.start), 1)


def framed(body: str, title: str, sentence: str, *, uid: str, look: str, style: str = "",
           height: int, top: int = 0) -> Figure:
    """Return a figure: its frame, title, description and style around what is drawn.

    Parameters
    ----------
    body : str
        What is drawn, as SVG; titles and sentences are escaped here, the body is not.
    title : str
        Names the picture for a screen reader.
    sentence : str
        What the picture shows.
    uid : str
        Keeps the picture's inner names apart from those of another picture on the page.
    look : str
        The class of the picture, which its own rules of style begin with.
    style : str
        Its own rules of style, after those that all figures share.
    height : int
        Of the picture. [user units]
    top : int
        Where it begins. [user units]
    """
    svg = (f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 {top} {WIDTH} {height}" '
           f'role="img" aria-labelledby="{uid}-title {uid}-desc" class="ab-map {look}">'
           f'<title id="{uid}-title">{escape(title)}</title>'
           f'<desc id="{uid}-desc">{escape(sentence)}</desc>'
           f"<style>{_shared_style(look)}{style}</style>{body}</svg>")
    return Figure(svg, sentence)


def _shared_style(look: str) -> str:
    """`q` is quiet, `b` is bold; a `halo` keeps words readable upon lines."""
    return (
        f".{look}{{display:block;width:100%;max-width:560px;height:auto;font-family:inherit}}"
        f".{look} text{{fill:var(--ab-ink,#1f2328);font-size:14px}}"
        f".{look} .q{{fill:var(--ab-quiet,#57606a)}}.{look} .b{{font-weight:650;font-size:15px}}"
        f".{look} tspan.q{{font-weight:400;font-size:14px}}"
        f".{look} .halo{{paint-order:stroke;stroke:var(--ab-paper,#fff);stroke-width:5px;"
        "stroke-linejoin:round}")


def words(x: float, y: float, text: str, kind: str = "", anchor: str = "") -> str:
    """Words at a point: their kind is classes of the style, their anchor start, middle or end."""
    look = f' class="{kind}"' if kind else ""
    side = f' text-anchor="{anchor}"' if anchor else ""
    return f'<text{look} x="{round(x, 1):g}" y="{round(y, 1):g}"{side}>{text}</text>'


def upright(x: float, y: float, text: str) -> str:
    """The name of an axis that runs upward, read from below, with its middle at a point."""
    return (f'<text x="{round(x, 1):g}" y="{round(y, 1):g}" text-anchor="middle" '
            f'transform="rotate(-90 {x:g} {y:g})">{text}</text>')


def acid_to_alkaline(left: float, right: float, y: float) -> str:
    """The two ends of a pH axis, named; nothing rests on knowing which way pH runs."""
    return (words(left, y, "\N{LEFTWARDS ARROW} acid")
            + words(right, y, "alkaline \N{RIGHTWARDS ARROW}", anchor="end"))
