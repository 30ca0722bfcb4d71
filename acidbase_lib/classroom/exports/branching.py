"""An hour at the bedside on paper: boxes to turn to, and their key as a page of its own."""
from __future__ import annotations

from acidbase_lib.caution import CAUTION
from acidbase_lib.teaching.hour.boxes import Box, BoxedHour
from acidbase_lib.teaching.hour.cases import HOURS
from acidbase_lib.teaching.seeded_random import SeededRandom
from acidbase_lib.teaching.theme import Html, escape, page, table
from acidbase_lib.teaching.unit import Unit

from .worksheet import PAPERS, SIZES

_STYLE = """
@page { size: %s; margin: 16mm 16mm 18mm; }
.br-box { border: 1.5px solid currentColor; border-radius: .4em; padding: .5rem .9rem;
          margin: .8rem 0; break-inside: avoid; }
.br-box h2 { font-size: 1.05em; margin: 0 0 .3rem; }
.br-box ul { margin: .3rem 0 0; padding-left: 1.2em; }
.br-box li { margin: .25rem 0; }
.br-turn { font-weight: 600; white-space: nowrap; }
@media print {
  body.ab-page { max-width: none; font-size: %s; line-height: 1.35; }
  .ab-page h1 { font-size: 1.5em; margin: 0 0 .4em; }
  .br-box p { margin: .3rem 0; max-width: none; }
  .ab-skip { display: none; }
  footer { break-before: avoid; }
}
"""


def hour_beside(unit: Unit) -> str:
    """The name of an hour that a form's own sheet does not ask, drawn by the form's number."""
    asked = {name for question in unit.plan.questions for name in question.more.get("hours", ())
             if len(question.more["hours"]) == 1}
    return SeededRandom(f"beside|{unit.form}").pick(
        [case.name for case in HOURS if case.name not in asked])


def branching_page(hour: BoxedHour, paper: str = "a4", large: bool = False) -> str:
    """Return the boxes as one page, without a word on which choice comes first.

    Parameters
    ----------
    hour : BoxedHour
        What is told.
    paper : str
        A size of ``PAPERS``.
    large : bool
        Print of 18 points in place of 12.
    """
    boxes = "".join(_box(box) for box in hour.boxes)
    keep = "".join(f"<li>{escape(line)}</li>" for line in hour.keep)
    body = (f"<p>{escape(hour.story)}</p><p>Begin at box 1. Choose what comes first, then turn to "
            "the box that your choice names. Write down the way you went: 1, ...</p>"
            f"{boxes}<h2>At the end: what to keep</h2><ul>{keep}</ul>")
    return page("An hour at the bedside: turn to the box", body, style=_style(paper, large),
                lead=f"People and hospital are invented, the minutes a teaching model. {CAUTION}")


def branching_key(hour: BoxedHour, paper: str = "a4", large: bool = False) -> str:
    """Return what comes first in every box and why, as a page of its own."""
    rows = [(f"{box.number}", f"{box.choices[box.first][0]} (to box {box.choices[box.first][1]})",
             box.reason) for box in hour.boxes if box.choices]
    return page(f"An hour at the bedside, {hour.name}: key",
                table("What comes first in each box", ("box", "comes first", "why"), rows),
                style=_style(paper, large),
                lead="For whoever leads the hour. By the rules of the kit, at the state of each "
                     f"box. Local protocol decides. {CAUTION}")


def _box(box: Box) -> Html:
    when = f", minute {box.minute}" if box.choices else ", an end"
    choices = "".join(f'<li>{escape(text)}. <span class="br-turn">Turn to box {there}.</span></li>'
                      for text, there in box.choices)
    listed = f"<p>What comes first?</p><ul>{choices}</ul>" if choices else ""
    return Html(f'<section class="br-box"><h2>Box {box.number}{when}</h2>'
                f"<p>{escape(box.told)}</p>{listed}</section>")


def _style(paper: str, large: bool) -> str:
    return _STYLE % (PAPERS[paper], SIZES[large])
