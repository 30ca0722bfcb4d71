"""Every figure has the one frame: named, described, escaped; a scale keeps within its ends."""
from __future__ import annotations

from pathlib import Path
from xml.etree import ElementTree

import pytest

from acidbase_lib.teaching.explorers import svg
from acidbase_lib.teaching.explorers.svg import Scale, framed, words

SVG = "{http://www.w3.org/2000/svg}"
PALE = "figures_real_gases.py"  # an image: it sees no color of the page, so it brings its own


def test_a_frame_names_and_describes_what_it_holds():
    figure = framed(words(5, 6, "pH", "q", "end"), "Acid < base", "PaCO2 < 35 & falling", uid="a",
                    look="ab-x", height=10)
    drawn = ElementTree.fromstring(figure.svg)
    named = {node.get("id"): node.text for node in drawn.iter() if node.get("id")}
    assert drawn.get("role") == "img"
    assert [named[one] for one in (drawn.get("aria-labelledby") or "").split()] == [
        "Acid < base", "PaCO2 < 35 & falling"]
    assert figure.sentence == "PaCO2 < 35 & falling"
    text = drawn.find(f"{SVG}text")
    assert text is not None
    assert text.attrib == {"class": "q", "x": "5", "y": "6", "text-anchor": "end"}


@pytest.mark.parametrize(("value", "where"), [
    (7.0, 40), (7.8, 400), (7.4, 220), (6.2, 40), (9.0, 400)])
def test_a_scale_keeps_within_its_ends(value: float, where: float):
    assert Scale(7.0, 7.8, 40, 400).at(value) == where


def test_a_scale_may_run_upward():
    assert Scale(0, 50, 372, 40).at(12.5) == 289


def test_no_figure_draws_a_frame_of_its_own():
    room = Path(svg.__file__).parent
    framing = {path.name for path in room.glob("*.py") if "<svg xmlns" in path.read_text("utf-8")}
    assert framing == {"svg.py", PALE}
