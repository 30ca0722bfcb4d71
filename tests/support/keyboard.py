"""A learner without a mouse: down the cells in command mode, into a form and back to its cell."""

from __future__ import annotations

import json
from collections.abc import Mapping, Sequence
from typing import Any

from notebooks import PANEL
from playwright.sync_api import expect
from walking import in_boxes, kept

from acidbase_lib.teaching.questions.exercise import Exercise


def active_cell(page: Any) -> int:
    """The place of the cell that the keyboard is on."""
    return int(page.evaluate(f"() => {PANEL}.content.activeCellIndex"))


def go_to(page: Any, grade_id: str) -> Any:
    """Walk down in command mode to a cell, run it where it stands, and return it.

    A cell whose code is hidden is alive already; the arrow keys pass over it, and Tab leads into
    it from the text above.
    """
    place, above = page.evaluate(f"""id => {{ const cells = {PANEL}.content.widgets;
        const place = cells.findIndex(
            cell => cell.model.getMetadata('nbgrader')?.grade_id === id);
        let above = place;
        while (above > 0 && cells[above].inputHidden) above -= 1;
        return [place, above]; }}""", grade_id)
    while active_cell(page) < above:
        page.keyboard.press("ArrowDown")
    assert above <= active_cell(page) <= place, f"the keyboard is past {grade_id}"
    if above == place:
        page.keyboard.press("Control+Enter")
    return page.locator(f'.jp-Notebook .jp-Cell[data-windowed-list-index="{place}"]')


def tab_to(page: Any, wanted: str, among: int = 60) -> None:
    """Press Tab until the element in focus is the one that is wanted, by a JavaScript test."""
    for _ in range(among):
        page.keyboard.press("Tab")
        if page.evaluate(f"() => {{ const it = document.activeElement; return {wanted}; }}"):
            return
    raise AssertionError(f"Tab does not lead to {wanted}")


def back_to_cell(page: Any) -> None:
    """Leave a form or a picture for its cell, in command mode."""
    page.keyboard.press("Escape")
    page.locator(".jp-Notebook .jp-Cell:focus").wait_for()


def answer_by_keys(page: Any, found: Any, exercise: Exercise, values: Mapping[str, Any]) -> None:
    """Give an answer in a form, from its cell and back to it, without a mouse."""
    found.wait_for()
    for asked in exercise.fields:
        value, words = values[asked.name], [choice.word for choice in asked.choices]
        if asked.kind == "one":
            if asked is not exercise.fields[0] and found.locator(".ab-chart-rows").count():
                tab_to(page, "it.textContent.startsWith('Next')")  # leads to the row's own choices
                page.keyboard.press("Enter")
            else:
                tab_to(page, "it.type === 'radio' && it.closest('fieldset').querySelector("
                             f"'legend').textContent.endsWith({json.dumps(f': {asked.name}')})")
            page.keyboard.press("Space")
            for _ in range(words.index(value)):
                page.keyboard.press("ArrowDown")
        elif asked.kind == "many":
            for word in sorted(value, key=words.index):
                tab_to(page, f"it.type === 'checkbox' && it.value === {json.dumps(word)}")
                page.keyboard.press("Space")
        elif asked.kind == "order":
            order_by_keys(page, asked, value)
        else:
            for words in in_boxes(asked, value) if asked.kind == "text" else [f"{value:g}"]:
                tab_to(page, "it.matches('.ab-chart input[type=text], .ab-chart textarea')")
                page.keyboard.type(words)
    kept(found, f"{exercise.fields[-1].name}:")
    back_to_cell(page)


def order_by_keys(page: Any, asked: Any, wanted: Sequence[str]) -> None:
    """Bring each step up to its place, each time from the cell."""
    texts = {choice.word: choice.shown for choice in asked.choices}
    now = list(asked.words)
    if list(wanted) == now:
        tab_to(page, "it.textContent === 'Keep this order'")
        page.keyboard.press("Enter")
    for place, word in enumerate(wanted):
        if now.index(word) > place:
            tab_to(page, f"it.ariaLabel === {json.dumps(f'Move up: {texts[word]}')}")
        while now.index(word) > place:
            at = now.index(word)
            page.keyboard.press("Enter")
            now[at - 1], now[at] = now[at], now[at - 1]
            if now.index(word) == place:
                back_to_cell(page)


def move_by_keys(page: Any, group: Any) -> None:
    """Move the first thing of an explorer, from its cell and back to it, without a mouse."""
    said = group.locator(".ab-sentence").filter(has_text=".")
    said.wait_for()
    before = said.text_content()
    if group.locator("input[type=range]").count():
        tab_to(page, "it.matches('.ab-explorer input[type=range]')")
        page.keyboard.press("ArrowRight")
    else:
        tab_to(page, "it.matches('.ab-course-choices button')")
        page.keyboard.press("Enter")
    expect(group.locator(".ab-sentence")).not_to_have_text(before)
    back_to_cell(page)
