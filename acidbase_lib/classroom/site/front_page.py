"""The front page of the course in a browser: the units, what is kept where, and handing in."""
from __future__ import annotations

import json
import re
from collections.abc import Sequence
from dataclasses import dataclass
from importlib.resources import files
from pathlib import Path
from typing import Final

from acidbase_lib.classroom.errors import CommandError
from acidbase_lib.teaching.theme import Html, escape, page

#: What a unit loads until its first form. [MB] Measured: python -m tests.benchmarks.light_page
FIRST_FORM: Final = 33
HOME: Final = "home.ipynb"  # beside it a unit remembers what is practiced

_STYLE = """
.site-units{list-style:none;margin:1.5rem 0;padding:0}
.site-units li{border-top:1px solid var(--ab-rule);padding:.9rem 0}
.site-units h3{margin:0 0 .2rem}
.site-units p{margin:0 0 .5rem}
.site-row{display:flex;flex-wrap:wrap;gap:.6rem}
.site-button{font:inherit;color:var(--ab-ink);background:var(--ab-paper);cursor:pointer;
border:1px solid var(--ab-control);border-radius:var(--ab-round);padding:.4rem .9rem;
min-height:44px}
.site-start{display:inline-flex;align-items:center;gap:.3em;border-color:var(--ab-accent)}
[hidden]{display:none!important}
"""

_BEFORE = """
<p>Read blood gases, unit by unit. Each unit asks you first and explains after. It runs in this
browser: no account, nothing to install, and nothing to pay.</p>
<p><a class="site-button site-start" href="practice/"><strong>Practice now</strong></a></p>
<p>Practice is there in a few seconds, also on a phone and a slow line. A new patient at every
press, and the reasons at once. Opened once, it works without a network.</p>
<h2>The units</h2>
<p>A unit loads about {size} MB the first time, so use Wi-Fi. It takes about 20 seconds to get ready
on a computer, and a minute or two on a phone. Click your answers, or type them.</p>
<p><a class="site-button site-start" href="notebooks/index.html?path={home}">Practice what I need,
and my progress</a></p>
<p>What you practice there and in the units is kept in this browser, and comes back when it is due.
The quick practice above keeps a record of its own.</p>
"""

_AFTER = """
<p id="site-said" role="status"></p>
<h2>Words</h2>
<p>Every short form and every word of the course in plain sentences: <a href="words.html">words of
the course</a>.</p>
<h2>Hand in your work</h2>
<ol>
<li>Answer. Each answer is kept at once.</li>
<li>Come back to this page and choose <strong>Download my copy</strong> beside the unit.
In the unit itself, <strong>File</strong>, <strong>Download</strong> does the same.</li>
<li>Upload that one .ipynb file where your course asks for it. Your answers are in it.</li>
</ol>
<h2>What is kept, and where</h2>
<p>Your answers are kept <strong>in this browser only, on this computer</strong>. Nobody else gets
them: not your school, not whoever runs this page. So:</p>
<ul>
<li>Another computer or another browser does not have them.</li>
<li>A private window forgets them when you close it.</li>
<li>Clearing the browser's site data deletes them, and nobody can bring them back.</li>
<li>Whoever uses this computer with your account can read them.</li>
</ul>
<div class="ab-note"><p><strong>Download your copy first</strong> before you clear the browser, lend
the computer, or end the day on a shared one.</p></div>
<p>When this page gets a newer version of a unit, your own copy stays as it is. To get the newer
one, download your copy, then choose <strong>Start this unit again</strong>.</p>
<h2>For teachers</h2>
<p>Every formula of this course, with its units and its source, stands in the
<a href="reference/acidbase_lib.html">reference of the library</a>.</p>
<h2>Clear everything</h2>
<p>This deletes every answer that this page has kept in this browser. You are asked once more
first.</p>
<p><button type="button" class="site-button" id="site-clear">Clear everything kept
here…</button></p>
"""


@dataclass(frozen=True, slots=True)
class UnitLink:
    """A unit as the front page lists it."""

    id: str
    title: str
    about: str


def unit_in(course: Path, unit_id: str) -> UnitLink:
    """Read a unit's title and its first sentence out of its notebook.

    Raises
    ------
    CommandError
        If its notebook is missing or does not begin with a title.
    """
    path = course / unit_id / f"{unit_id}.ipynb"
    try:
        cells = json.loads(path.read_text(encoding="utf-8"))["cells"]
        first = "".join(cells[0]["source"])
    except (OSError, ValueError, LookupError, TypeError):
        raise CommandError(f"{path} is missing, or is not a notebook") from None
    title = re.search(r"^# +(.+)$", first, re.M)
    if not title:
        raise CommandError(f"{path} does not begin with a title: write one as '# Unit 2. ...'")
    paragraphs = first[title.end():].strip().split("\n\n")
    about = re.split(r"(?<=[.?!]) When ", " ".join(paragraphs[0].split()))[0]
    return UnitLink(unit_id, title[1].strip(), about)


def front_page(units: Sequence[UnitLink], store: str) -> str:
    """Return the front page as HTML.

    Parameters
    ----------
    units : sequence of UnitLink
        What to list, in order.
    store : str
        The name of the browser's store that the notebooks are kept in.
    """
    static = files("acidbase_lib.classroom.site").joinpath("static")
    script = static.joinpath("front_page.js").read_text(encoding="utf-8")
    listed = "".join(map(_listed, units))
    # The notebooks' own pages look for this element in every page above them.
    settings = ('<script id="jupyter-config-data" type="application/json" '
                'data-jupyter-lite-root=".">{}</script>')
    before = _BEFORE.format(size=FIRST_FORM, home=HOME)
    body = (f'{settings}{before}<ol class="site-units">{listed}</ol>{_AFTER}'
            f'<script>const STORE = {json.dumps(store)};\n{script}</script>')
    return page("Acid–base course", body, style=_STYLE)


def _listed(unit: UnitLink) -> Html:
    path = f"{unit.id}/{unit.id}.ipynb"
    return Html(
        f'<li data-path="{escape(path)}"><h3><a href="notebooks/index.html?path={escape(path)}">'
        f"{escape(unit.title)}</a></h3><p>{escape(unit.about)}</p>"
        '<p class="ab-quiet site-state">Not started in this browser.</p>'
        '<div class="site-row" hidden>'
        f'<button type="button" class="site-button site-download" aria-label="Download my copy of '
        f'{escape(unit.title)}">Download my copy</button>'
        f'<button type="button" class="site-button site-again" aria-label="Start this unit again: '
        f'{escape(unit.title)}">Start this unit again…</button></div></li>')
