"""A unit as a screen reader has it, in a notebook that nobody has trusted."""
from __future__ import annotations

from typing import Any

import pytest
from notebooks import show_cell
from walking import copied, opened

UNIT = "05_oxygenation"


def test_a_title_leads_to_each_question_and_a_table_names_its_rows(server: Any, page: Any,
                                                                  violations: Any) -> None:
    """What Jupyter's own cleaning leaves of our Markdown: headings, captions, heads of rows."""
    copied(server, UNIT, "outline")
    page.goto(server.notebook("outline.ipynb"))
    page.get_by_role("heading", name="A patient first", level=2).wait_for()
    prompt = show_cell(page, "q5-1-prompt")
    prompt.get_by_role("heading", name="Question 5.1 (1 point)", level=3).wait_for()
    table = prompt.get_by_role("table", name="The blood gas")
    assert table.get_by_role("rowheader").all_inner_texts()[:2] == ["pH", "PaCO2"]
    assert table.get_by_role("columnheader").all_inner_texts()[0] == "number"
    assert violations(page, ".jp-Cell:has(h3)") == []


def test_the_picture_and_the_words_are_there(server: Any, page: Any, violations: Any,
                                             shot: Any) -> None:
    opened(page, server, UNIT, "looks")
    cell = show_cell(page, "05-picture")
    cell.get_by_role("img", name="What each oxygen device gives, roughly").wait_for()
    assert violations(page, ".ab-shown") == []
    shot(page, "05-picture", ".ab-shown")
    words = show_cell(page, "05-glossary")
    words.get_by_text("All other words of the course").click()
    words.get_by_role("term").filter(has_text="NEWS2").first.wait_for()
    assert violations(page, ".ab-words") == []


@pytest.mark.parametrize("width", [320])
def test_at_400_percent_the_text_of_a_unit_wraps(server: Any, page: Any, width: int) -> None:
    page.set_viewport_size({"width": width, "height": 640})
    copied(server, UNIT, "narrow")
    page.goto(server.notebook("narrow.ipynb"))
    page.get_by_role("heading", name="A patient first", level=2).wait_for()
    cell = show_cell(page, "q5-1-prompt")
    cell.get_by_role("table").wait_for()
    box = cell.get_by_role("heading", level=3).bounding_box()
    assert box["x"] >= 0
    assert box["x"] + box["width"] <= width
