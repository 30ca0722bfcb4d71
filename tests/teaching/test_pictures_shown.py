"""Pictures of the course: each told in words, in the one look, its numbers those of the library."""
from __future__ import annotations

import re
import xml.etree.ElementTree as ET

import pytest

from acidbase_lib import show_picture
from acidbase_lib.caution import CAUTION
from acidbase_lib.physiology.henderson_hasselbalch import ph_of
from acidbase_lib.teaching.pictures.bedside import COLUMNS, DEVICES, oxygen_devices
from acidbase_lib.teaching.pictures.pushes import two_pushes
from acidbase_lib.teaching.pictures.show import PICTURES, PictureError

SVG = "{http://www.w3.org/2000/svg}"
every = pytest.mark.parametrize("name", PICTURES)


def drawn(name: str) -> ET.Element:
    return ET.fromstring(PICTURES[name]("one").svg)


@every
def test_a_picture_is_an_image_with_a_title_and_the_sentence_below_it(name: str) -> None:
    root = drawn(name)
    assert root.get("role") == "img"
    names = (root.get("aria-labelledby") or "").split()
    told = {one.get("id"): one.text for one in root if one.tag in {SVG + "title", SVG + "desc"}}
    assert list(told) == names
    html = show_picture(name)._repr_html_()
    sentence = PICTURES[name]("one").sentence
    assert told["one-desc"] == sentence
    assert html.count(sentence.replace("'", "&#x27;")) == 2
    assert CAUTION in html
    assert repr(show_picture(name)) == f"{sentence} {CAUTION}"


@every
def test_its_colors_are_the_themes_so_that_dark_and_forced_ones_read(name: str) -> None:
    svg = PICTURES[name]("one").svg
    assert not re.search(r'(?:fill|stroke)="(?!none)', svg)
    style = re.search(r"<style>(.*?)</style>", svg, re.DOTALL)
    assert style
    for color in re.findall(r"(?:fill|stroke):([^;}]+)", style[1]):
        assert color == "none" or color.startswith("var(--ab-"), color


@every
def test_no_word_runs_out_of_the_picture(name: str) -> None:
    """0.62 of the letter's height is wider than the mean letter of any usual font."""
    for one in drawn(name).iter(SVG + "text"):
        size = 17 if "b" in (one.get("class") or "").split() else 16
        x, wide = float(one.get("x") or 0), 0.62 * size * len(one.text or "")
        anchor = one.get("text-anchor", "start")
        left = x - {"start": 0, "middle": wide / 2, "end": wide}[anchor]
        assert left >= -2, one.text
        assert left + wide <= 442, one.text


@every
def test_two_on_a_page_share_no_name(name: str) -> None:
    ids = re.findall(r'id="([^"]+)"', show_picture(name)._repr_html_() * 1
                     + show_picture(name)._repr_html_())
    assert ids
    assert len(ids) == len(set(ids))


def test_the_ph_of_two_pushes_is_henderson_hasselbalchs() -> None:
    said = two_pushes("one").sentence
    assert f"the pH is {ph_of(60, 16):.2f}, far out" in said
    assert f"the pH is {ph_of(60, 36):.2f}. It looks normal" in said


def test_the_columns_are_as_high_as_sodium() -> None:
    """Anion gap = sodium - chloride - bicarbonate; here 8 to 16 mmol/L is usual."""
    gaps = {name: sodium - chloride - hco3 for name, sodium, chloride, hco3 in COLUMNS}
    assert gaps == {"in range": 12, "diarrhea": 10, "no insulin": 28}


def test_the_devices_are_those_of_unit_five() -> None:
    """Common practice, printed in the unit's own table."""
    from lessons import LESSONS

    (unit,) = (one for one in LESSONS if one.path.stem == "05_oxygenation")
    for _, flow, low, high in DEVICES[1:]:
        assert f"{low}–{high} %" in unit.prose
        assert flow.removesuffix(" L/min") in unit.prose
        assert f"{low}–{high} %" in oxygen_devices("one").sentence


def test_an_unknown_name_is_told_with_those_there_are() -> None:
    with pytest.raises(PictureError, match=r"no picture 'cat'\. There are from_artery"):
        show_picture("cat")
