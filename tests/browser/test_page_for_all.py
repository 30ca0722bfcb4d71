"""A unit as a screen reader has it, in a notebook that nobody has trusted."""
from __future__ import annotations

from typing import Any

import pytest
from notebooks import command, open_notebook, show_cell
from walking import copied, draw_every_cell, opened

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


@pytest.mark.parametrize("width", [1280, 390])
@pytest.mark.parametrize("unit_id", [
    "00_start_here", "02_primary_disorder", "07_clinical_priority"])
def test_a_whole_unit_as_it_opens_is_for_all(server: Any, page: Any, violations: Any, unit_id: str,
                                             width: int) -> None:
    """Text, bar, forms, pictures and practice of the notebook view, in light and in dark."""
    page.set_viewport_size({"width": width, "height": 844})
    path = copied(server, unit_id, f"axe-{width}-{unit_id}")
    open_notebook(page, server.notebook(path.name))
    draw_every_cell(page)
    for theme in ("Light", "Dark"):
        command(page, "apputils:change-theme", theme=f"JupyterLab {theme}")
        page.wait_for_selector(f'body[data-jp-theme-name="JupyterLab {theme}"]',
                               state="attached")
        page.wait_for_timeout(500)  # colors fade over
        assert violations(page, ".jp-NotebookPanel") == [], theme
