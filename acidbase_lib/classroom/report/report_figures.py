"""The class report's pictures: plain SVG, each with a sentence that says what it shows."""
from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import ceil
from statistics import median

from acidbase_lib.classroom.phrases import number_of
from acidbase_lib.teaching.theme import Html, escape

from .results import LearnerResult

WIDTH, MARGIN, LINE = 360.0, 14.0, 20.0
MOST_COLUMNS = 13
TALLEST = 150.0
MOST_DOTS = 12  # a column of more dots than this is drawn as a bar


@dataclass(frozen=True, slots=True)
class Picture:
    """An SVG, the sentence that says the same, and the numbers as rows of a table."""

    svg: Html
    sentence: str
    rows: tuple[tuple[str, int], ...]

    @property
    def dots(self) -> bool:
        """Whether each learner is a dot."""
        return bool(self.rows) and max(count for _, count in self.rows) <= MOST_DOTS


def points_to_draw(marked: Sequence[LearnerResult]) -> tuple[list[float], float, str]:
    """Return the points that can be drawn together, the most of them, and what they are without.

    An answer that waits is no zero. Where few learners have one, they are left out; where most
    have, the questions that wait are left out of everybody's points.
    """
    there = [one for one in marked if one.score is not None]
    most = max((one.maximum for one in there), default=0.0)
    waits = [one for one in there if one.waiting]
    if 2 * len(waits) <= len(there):
        left = (f" Left out: {len(waits)} with answers that wait for you." if waits else "")
        return [one.score for one in there if one.score is not None and not one.waiting], most, left
    names = list(dict.fromkeys(name for one in waits for name in one.waiting))
    given = {one.learner: [m for m in one.marks if m.question in set(names) - one.void]
             for one in there}
    scores = [max(0.0, (one.score or 0.0) - sum(
        m.points for m in given[one.learner] if m.question not in one.waiting)) for one in there]
    rest = max(one.maximum - sum(m.maximum for m in given[one.learner]) for one in there)
    return scores, rest, (f" All points here are without question{'' if len(names) == 1 else 's'} "
                          f"{', '.join(map(number_of, names))}, where answers wait for you.")


def score_picture(scores: Sequence[float], maximum: float) -> Picture:
    """How the points are spread: a dot for each learner, in columns, with the median.

    Parameters
    ----------
    scores : sequence of float
        Points of the learners who could be marked.
    maximum : float
        The most that could be earned.
    """
    if not scores:
        return Picture(Html(""), _sentence(scores, maximum), ())
    step = max(1, ceil((maximum + 1) / MOST_COLUMNS))
    counts = [0] * (int(maximum // step) + 1)
    for score in scores:
        counts[min(int(score // step), len(counts) - 1)] += 1
    rows = tuple((_column(n, step, maximum), count) for n, count in enumerate(counts))
    sentence = _sentence(scores, maximum)
    return Picture(_draw(rows, step, scores, maximum, sentence), sentence, rows)


def share_bar(share: float) -> Html:
    """A bar for a share between 0 and 1; the number stands beside it in the table."""
    filled = round(max(0.0, min(1.0, share)) * 100)
    return Html('<svg class="cr-bar" viewBox="0 0 100 10" preserveAspectRatio="none" '
                'aria-hidden="true" focusable="false">'
                '<rect width="100" height="10" style="fill:var(--ab-rule)"/>'
                f'<rect width="{filled}" height="10" style="fill:var(--ab-accent)"/></svg>')


def _column(number: int, step: int, maximum: float) -> str:
    """What a column is called: "7", or "14–15" where a column holds several points."""
    low = number * step
    high = min(low + step - 1, int(maximum))
    return f"{low}" if low == high else f"{low}–{high}"


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


def _draw(columns: Sequence[tuple[str, int]], step: int, scores: Sequence[float], maximum: float,
          sentence: str) -> Html:
    width = (WIDTH - 2 * MARGIN) / len(columns)
    most = max(count for _, count in columns)
    dots = most <= MOST_DOTS
    radius = min(width / 2 - 1.5, 8.0)
    base = LINE * 1.6 + (most * (2 * radius + 2) if dots else TALLEST)
    shapes = [f'<path d="M{MARGIN} {base}H{WIDTH - MARGIN}" '
              'style="stroke:var(--ab-control);stroke-width:1.5"/>']
    every = ceil(len(columns) / (9 if step == 1 else 5))
    for n, (name, count) in enumerate(columns):
        x = MARGIN + width * (n + 0.5)
        if dots:
            shapes += [f'<circle cx="{x:.1f}" cy="{base - radius - 3 - k * (2 * radius + 2):.1f}" '
                       f'r="{radius:.1f}" style="fill:var(--ab-accent)"/>' for k in range(count)]
        elif count:
            height = (TALLEST - LINE) * count / most
            shapes += [f'<rect x="{x - width / 2 + 1.5:.1f}" y="{base - height:.1f}" '
                       f'width="{width - 3:.1f}" height="{height:.1f}" '
                       'style="fill:var(--ab-accent)"/>',
                       _text(x, base - height - 5, str(count))]
        if n % every == 0:
            shapes += [f'<path d="M{x:.1f} {base}v5" style="stroke:var(--ab-control)"/>',
                       _text(x, base + LINE, name)]
    shapes.append(_text(WIDTH / 2, base + 2.2 * LINE, f"points of {maximum:g}"))
    middle = median(scores)
    x = MARGIN + width * (middle + 0.5) / step
    anchor = "end" if x > WIDTH * 0.75 else "start" if x < WIDTH * 0.25 else "middle"
    shapes += [f'<path d="M{x:.1f} {LINE * 1.1}V{base}" style="stroke:var(--ab-ink);'
               'stroke-width:1.5;stroke-dasharray:4 3"/>',
               _text(x, LINE * 0.8, f"median {middle:g}", anchor)]
    return Html(f'<svg class="cr-scores" viewBox="0 0 {WIDTH:g} {base + 2.7 * LINE:.0f}" '
                f'role="img" aria-label="{escape(sentence)}"><title>Points of the class</title>'
                + "".join(shapes) + "</svg>")


def _text(x: float, y: float, words: str, anchor: str = "middle") -> str:
    return (f'<text x="{x:.1f}" y="{y:.1f}" text-anchor="{anchor}" font-size="16" '
            f'style="fill:var(--ab-ink)">{escape(words)}</text>')
