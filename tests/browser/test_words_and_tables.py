"""Words with their meanings and tables in the text, as the notebook draws them, wide and narrow."""

from __future__ import annotations

import json
from itertools import pairwise
from typing import Any

import pytest
from notebooks import open_notebook, show_cell
from walking import copied, notebook_of

WIDTHS = pytest.mark.parametrize("width", [1280, 390])
#: Words that stand on two lines: a word has one box on each line it is on.
BROKEN = """node => {
    const found = [], texts = document.createTreeWalker(node, NodeFilter.SHOW_TEXT);
    while (texts.nextNode()) for (const word of texts.currentNode.data.matchAll(/\\S+/g)) {
        const range = document.createRange();
        range.setStart(texts.currentNode, word.index);
        range.setEnd(texts.currentNode, word.index + word[0].length);
        const tops = [...range.getClientRects()].map(box => Math.round(box.top));
        if (new Set(tops).size > 1) found.push(word[0]);
    }
    return found; }"""
BOXES = """node => [...node.querySelectorAll('dt, dd')].map(it => {
    const {left, right, top, bottom} = it.getBoundingClientRect();
    return [it.tagName, left, right, top, bottom]; })"""


def notebook_at(page: Any, server: Any, unit: str, width: int) -> None:
    page.set_viewport_size({"width": width, "height": 900})
    path = copied(server, unit, f"{unit}-{width}-layout")
    open_notebook(page, server.notebook(path.name))


@WIDTHS
def test_each_meaning_stands_right_below_its_word(server, page, width, shot):
    notebook_at(page, server, "02_primary_disorder", width)
    words = show_cell(page, "02-glossary").locator(".ab-words")
    words.get_by_text("The pH of the blood is below its range.").wait_for()
    words.locator("summary").click()  # the words of all other units as well
    shot(page, f"words-{width}")
    boxes = words.evaluate(BOXES)
    assert len(boxes) > 60
    assert [kind for kind, *_ in boxes] == ["DT", "DD"] * (len(boxes) // 2)
    assert {round(left) for _, left, *_ in boxes} == {round(boxes[0][1])}, "one column"
    assert max(right for _, _, right, *_ in boxes) <= width
    for (_, _, _, _, above), (_, _, _, below, _) in pairwise(boxes):
        assert below >= above - 1, "each begins where the one before it ends, or lower"
    assert words.evaluate(BROKEN) == []


@WIDTHS
@pytest.mark.parametrize("unit", ["02_primary_disorder", "07_clinical_priority"])
def test_a_table_begins_where_its_text_begins_and_breaks_no_number(server, page, unit, width, shot):
    notebook_at(page, server, unit, width)
    seen = 0
    for grade_id in with_tables(unit):
        cell = show_cell(page, grade_id)
        cell.locator("table").first.wait_for()
        shot(page, f"{grade_id}-{width}")
        for table in cell.locator("table").all():
            seen += 1
            left, right = table.evaluate(
                "it => { const {left, right} = it.getBoundingClientRect(); return [left, right] }")
            start, end = cell.locator(".jp-MarkdownOutput").evaluate(
                "it => { const {left, right} = it.getBoundingClientRect(); return [left, right] }")
            heads = table.locator("caption, th:not([align])").evaluate_all(
                "all => all.map(it => getComputedStyle(it).textAlign)")
            assert (round(left), set(heads)) == (round(start), {"start"}), grade_id
            assert right <= end + 1, grade_id
            assert table.evaluate(BROKEN) == [], grade_id
    assert seen >= 6


def with_tables(unit: str) -> list[str]:
    """The cells of a unit's text that hold a table in the open."""
    cells = json.loads(notebook_of(unit).read_text(encoding="utf-8"))["cells"]
    return [cell["metadata"]["nbgrader"]["grade_id"] for cell in cells
            if cell["cell_type"] == "markdown" and "<table>" in "".join(cell["source"])]
