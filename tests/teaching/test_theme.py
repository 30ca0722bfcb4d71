"""The look: text can be read in light and dark, pages and tables speak to a screen reader."""

from __future__ import annotations

import re
from html.parser import HTMLParser

import pytest

from acidbase_lib.caution import CAUTION
from acidbase_lib.teaching.theme import (
    CSS,
    DARK_PALETTE,
    MARK_PAIRS,
    MARKS,
    PALETTE,
    TEXT_PAIRS,
    Html,
    escape,
    mark,
    page,
    side,
    table,
)

PALETTES = pytest.mark.parametrize("palette", [PALETTE, DARK_PALETTE], ids=["light", "dark"])


def luminance(color: str) -> float:
    """W3C, Web Content Accessibility Guidelines 2.2, definition of relative luminance."""
    channels = (int(color[i : i + 2], 16) / 255 for i in (1, 3, 5))
    linear = (c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4 for c in channels)
    return sum(w * c for w, c in zip((0.2126, 0.7152, 0.0722), linear, strict=True))


def contrast(one: str, other: str) -> float:
    """W3C, Web Content Accessibility Guidelines 2.2, definition of contrast ratio."""
    dark, light = sorted((luminance(one), luminance(other)))
    return (light + 0.05) / (dark + 0.05)


def test_contrast_of_known_pairs():
    """Black on white is 21:1 by definition; #767676 is the known gray that just passes 4.5:1."""
    assert contrast("#000000", "#ffffff") == pytest.approx(21)
    assert contrast("#767676", "#ffffff") == pytest.approx(4.54, abs=0.01)


@PALETTES
@pytest.mark.parametrize(("text", "ground"), TEXT_PAIRS, ids="-on-".join)
def test_text_is_readable(palette, text, ground):
    """WCAG 2.2, success criterion 1.4.3: at least 4.5 to 1."""
    assert contrast(palette[text], palette[ground]) >= 4.5


@PALETTES
@pytest.mark.parametrize(("drawn", "ground"), MARK_PAIRS, ids="-on-".join)
def test_edges_and_marks_can_be_seen(palette, drawn, ground):
    """WCAG 2.2, success criterion 1.4.11: at least 3 to 1."""
    assert contrast(palette[drawn], palette[ground]) >= 3


def test_light_and_dark_name_the_same_colors():
    assert PALETTE.keys() == DARK_PALETTE.keys()


def test_every_color_used_is_defined():
    used = set(re.findall(r"var\(--ab-([\w-]+)\)", CSS))
    assert used <= {*PALETTE, "font", "mono", "size", "measure", "round"}


def test_the_look_follows_theme_motion_and_paper():
    for asked in ('[data-jp-theme-light="false"]', "prefers-color-scheme:dark", "@media print",
                  "prefers-reduced-motion:reduce", "max(16px,1rem)", "70ch", "tabular-nums"):
        assert asked in CSS
    assert "url(" not in CSS
    assert "@import" not in CSS


def test_direction_is_told_by_word_and_mark():
    assert mark("low") == "▼ low"
    assert mark("high") == "▲ high"
    assert mark("normal") == "normal"
    assert "metabolic alkalosis" in side("metabolic alkalosis")
    assert MARKS["high"] in side("metabolic alkalosis")
    assert MARKS["low"] in side("respiratory acidosis")
    assert side("normal") == "normal"


def test_everything_is_escaped_unless_it_says_it_is_html():
    assert escape('<b a="1">&') == "&lt;b a=&quot;1&quot;&gt;&amp;"
    assert escape(Html("<b>bold</b>")) == "<b>bold</b>"
    made = table("<i>", ["<u>"], [["<script>"]])
    assert "<script>" not in made
    assert "&lt;script&gt;" in made
    assert "<title>&lt;x&gt;</title>" in page("<x>", "")


def test_a_table_has_caption_scopes_and_aligned_numbers():
    made = table("Gases", ["Name", "PaCO2 [mmHg]"], [["Ada", 66], ["Ben", 40.5]])
    assert "<caption>Gases</caption>" in made
    assert '<th scope="col">Name</th>' in made
    assert '<th scope="col" class="ab-number">PaCO2 [mmHg]</th>' in made
    assert '<th scope="row">Ada</th><td class="ab-number">66</td>' in made


def test_a_row_that_does_not_fit_is_refused():
    with pytest.raises(ValueError, match="row 2 of the table 'Gases' has 1 cells for 2 columns"):
        table("Gases", ["Name", "PaCO2"], [["Ada", 66], ["Ben"]])


class Outline(HTMLParser):
    """Counts tags and keeps attributes."""

    def __init__(self, text: str) -> None:
        super().__init__()
        self.seen: list[tuple[str, dict[str, str | None]]] = []
        self.feed(text)

    def handle_starttag(self, tag, attrs):
        self.seen.append((tag, dict(attrs)))


def test_a_page_is_whole_and_defers_to_practice():
    text = page("Feedback", "<p>Well read.</p>", lead="One line.")
    tags = Outline(text).seen
    assert text.startswith("<!DOCTYPE html>")
    assert ("html", {"lang": "en"}) in tags
    assert sum(tag == "h1" for tag, _ in tags) == 1
    assert sum(tag == "main" for tag, _ in tags) == 1
    assert any(a.get("href") == "#main" for tag, a in tags if tag == "a")
    assert any(a.get("name") == "viewport" for tag, a in tags if tag == "meta")
    assert CAUTION in text
    assert not any("src" in a or a.get("href", "#").startswith("http") for _, a in tags)
