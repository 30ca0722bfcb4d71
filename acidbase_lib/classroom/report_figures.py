"""The class report's pictures: plain SVG, each with a sentence that says what it shows."""
from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import ceil
from statistics import median

from acidbase_lib.teaching.theme import Html, escape

WIDTH, MARGIN, LINE = 360.0, 14.0, 20.0
MOST_DOTS = 12  # a column of more dots than this is drawn as a bar


@dataclass(frozen=True, slots=True)
class Picture:
    """An SVG, the sentence that says the same, and the numbers as rows of a table."""

    svg: Html
    sentence: str
    rows: tuple[tuple[str, int], ...]


def score_picture(scores: Sequence[float], maximum: float) -> Picture:
    """How the points are spread: a dot for each learner, in columns, with the median.

    Parameters
    ----------
    scores : sequence of float
        Points of the learners who could be marked.
    maximum : float
        The most that could be earned.
    """
    edges = _edges(maximum)
    counts = [sum(_in_bin(s, low, high, maximum) for s in scores)
              for low, high in zip(edges, edges[1:], strict=False)]
    rows = tuple((f"{low:g} to {'under ' if high < maximum else ''}{min(high, maximum):g}", count)
                 for low, high, count in zip(edges, edges[1:], counts, strict=False))
    sentence = _sentence(scores, maximum)
    return Picture(_draw(edges, counts, scores, maximum, sentence), sentence, rows)


def share_bar(share: float) -> Html:
    """A bar for a share between 0 and 1; the number stands beside it in the table."""
    filled = round(max(0.0, min(1.0, share)) * 100)
    return Html('<svg class="cr-bar" viewBox="0 0 100 10" preserveAspectRatio="none" '
                'aria-hidden="true" focusable="false">'
                '<rect width="100" height="10" style="fill:var(--ab-rule)"/>'
                f'<rect width="{filled}" height="10" style="fill:var(--ab-accent)"/></svg>')


def _edges(maximum: float) -> list[float]:
    """Column edges: whole points, at most 12 columns."""
    step = max(1, ceil(maximum / 12))
    edges = [float(n) for n in range(0, ceil(maximum) + step, step)]
    while len(edges) > 2 and edges[-2] >= maximum:
        edges.pop()
    return edges


def _in_bin(score: float, low: float, high: float, maximum: float) -> bool:
    return low <= score < high or (score >= maximum and low < maximum <= high)


def _sentence(scores: Sequence[float], maximum: float) -> str:
    if not scores:
        return "No submission could be marked."
    if len(scores) == 1:
        return f"One learner was marked: {scores[0]:g} of {maximum:g} points."
    half = sum(score < maximum / 2 for score in scores)
    few = "None has" if not half else "One has" if half == 1 else f"{half} have"
    return (f"{len(scores)} learners were marked. Half of them have {median(scores):g} of "
            f"{maximum:g} points or more; the scores run from {min(scores):g} to {max(scores):g}. "
            f"{few} less than half of the points.")


def _draw(edges: Sequence[float], counts: Sequence[int], scores: Sequence[float], maximum: float,
          sentence: str) -> Html:
    width = (WIDTH - 2 * MARGIN) / (len(edges) - 1)
    dots = max(counts, default=0) <= MOST_DOTS
    radius = min(width / 2 - 1.5, 8.0)
    tallest = max(counts, default=0) * (2 * radius + 2) if dots else 140.0
    base = LINE * 1.6 + max(tallest, 2 * radius)
    shapes = []
    for i, count in enumerate(counts):
        x = MARGIN + width * (i + 0.5)
        if dots:
            shapes += [f'<circle cx="{x:.1f}" cy="{base - radius - 2 - n * (2 * radius + 2):.1f}" '
                       f'r="{radius:.1f}" style="fill:var(--ab-accent)"/>' for n in range(count)]
        elif count:
            height = 140.0 * count / max(counts)
            shapes += [f'<rect x="{x - width / 2 + 1.5:.1f}" y="{base - height:.1f}" '
                       f'width="{width - 3:.1f}" height="{height:.1f}" '
                       'style="fill:var(--ab-accent)"/>',
                       _text(x, base - height - 5, str(count))]
    shapes.append(f'<path d="M{MARGIN} {base}H{WIDTH - MARGIN}" '
                  'style="stroke:var(--ab-control);stroke-width:1.5"/>')
    every = 1 if len(edges) <= 7 else 2
    for i, edge in enumerate(edges):
        x = MARGIN + width * i
        shapes.append(f'<path d="M{x:.1f} {base}v5" style="stroke:var(--ab-control)"/>')
        if i % every == 0:
            shapes.append(_text(x, base + LINE, f"{edge:g}"))
    shapes.append(_text(WIDTH / 2, base + 2 * LINE, f"points of {maximum:g}"))
    if scores:
        x = MARGIN + (WIDTH - 2 * MARGIN) * min(median(scores) / edges[-1], 1.0)
        anchor = "end" if x > WIDTH * 0.75 else "start" if x < WIDTH * 0.25 else "middle"
        shapes.append(f'<path d="M{x:.1f} {LINE * 1.1}V{base}" style="stroke:var(--ab-ink);'
                      'stroke-width:1.5;stroke-dasharray:4 3"/>')
        shapes.append(_text(x, LINE * 0.8, f"median {median(scores):g}", anchor))
    height = base + 2.5 * LINE
    return Html(f'<svg class="cr-scores" viewBox="0 0 {WIDTH:g} {height:.0f}" role="img" '
                f'aria-label="{escape(sentence)}"><title>Points of the class</title>'
                + "".join(shapes) + "</svg>")


def _text(x: float, y: float, words: str, anchor: str = "middle") -> str:
    return (f'<text x="{x:.1f}" y="{y:.1f}" text-anchor="{anchor}" font-size="16" '
            f'style="fill:var(--ab-ink)">{escape(words)}</text>')
