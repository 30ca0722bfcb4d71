"""Paper: printed by a real browser, no question is cut by the end of a page."""
from __future__ import annotations

import io
from typing import Any
from unicodedata import normalize

import pytest

from acidbase_lib.classroom.exports.worksheet import key_page, method_card, worksheet_page
from acidbase_lib.teaching.questions.question_file import unit_ids
from acidbase_lib.teaching.unit import open_unit

pytestmark = pytest.mark.browser


def printed(page: Any, html: str) -> list[str]:
    """The text of each page that the browser prints."""
    from pypdf import PdfReader  # here, so that the quick tests collect without it

    page.set_content(html)
    reader = PdfReader(io.BytesIO(page.pdf(prefer_css_page_size=True)))
    return [normalize("NFKC", sheet.extract_text()) for sheet in reader.pages]  # no "fi" ligature


@pytest.mark.parametrize("paper", ["a4", "letter"])
@pytest.mark.parametrize("unit_id", unit_ids())
def test_a_question_and_its_answer_line_stand_on_one_page(page: Any, unit_id: str,
                                                          paper: str) -> None:
    unit = open_unit(unit_id, form=7)
    sheets = printed(page, worksheet_page(unit, paper))
    for exercise in unit:
        heading = f"Question {exercise.id[1:].replace('-', '.')} "
        (home,) = [text for text in sheets if heading in text]
        after = home[home.index(heading):]
        assert f"{exercise.fields[-1].name}:" in after, (exercise.id, "is cut")
    assert len(sheets) <= len(unit.exercises)


def test_the_card_is_one_page_and_the_key_is_not_empty(page: Any) -> None:
    assert len(printed(page, method_card())) == 1
    assert "Question 2.1" in printed(page, key_page(open_unit("02_primary_disorder")))[0]


def test_large_print_cuts_no_line_and_no_table(page: Any) -> None:
    """18 points on paper as narrow as Letter: nothing runs off its right edge."""
    page.set_viewport_size({"width": 680, "height": 900})
    page.emulate_media(media="print")
    for unit_id in unit_ids():
        page.set_content(worksheet_page(open_unit(unit_id), "letter", large=True))
        over = page.evaluate("document.documentElement.scrollWidth - window.innerWidth")
        assert over <= 0, unit_id
        assert page.evaluate("getComputedStyle(document.querySelector('h3')).fontSize") >= "24px"


def test_the_sheet_reads_well_at_400_percent(page: Any, violations: Any) -> None:
    page.set_viewport_size({"width": 320, "height": 640})
    for unit_id in unit_ids():
        page.set_content(worksheet_page(open_unit(unit_id)))
        assert page.evaluate("document.documentElement.scrollWidth") <= 320, unit_id
    assert violations(page, "body") == []
