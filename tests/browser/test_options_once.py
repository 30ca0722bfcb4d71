"""Options stand once on a page: in the form, and in the notebook for whoever has no form."""
from __future__ import annotations

import json
from typing import Any

import pytest
from notebooks import PANEL, cell_source, command, form, open_notebook, show_cell
from walking import copied, draw_every_cell

LEFT_OUT = "ul.ab-in-form"

# Of every list: what it says, whether it is seen or left out, and how often each item stands where
# a reader sees it in the form of the cell below.
_LISTS = """() => {
    const clean = (text) => text.replace(/\\s+/g, ' ').trim();
    const isSeen = (node) => node.checkVisibility({visibilityProperty: true});
    const lists = document.querySelectorAll('.jp-MarkdownCell .jp-RenderedMarkdown > ul');
    return [...lists].map((list) => {
        const form = list.closest('.jp-Cell').nextElementSibling?.querySelector('.ab-chart');
        const shown = [...(form?.querySelectorAll('.ab-chart-text, .ab-chart-step') ?? [])]
            .filter(isSeen).map((one) => clean(one.textContent));
        const items = [...list.children].map((one) => clean(one.textContent));
        return {items, seen: isSeen(list), left: list.classList.contains('ab-in-form'),
            times: items.map((item) => shown.filter((one) => one.includes(item)).length)};
    }); }"""


def lists(page: Any) -> list[dict[str, Any]]:
    return page.evaluate(_LISTS)  # type: ignore[no-any-return]


@pytest.mark.parametrize("width", [1280, 390])
@pytest.mark.parametrize("unit_id", ["01_ranges", "02_primary_disorder", "07_clinical_priority",
                                     "08_sitting"])
def test_nothing_is_left_out_that_the_form_does_not_show(server: Any, page: Any, unit_id: str,
                                                         width: int) -> None:
    page.set_viewport_size({"width": width, "height": 844})
    path = copied(server, unit_id, f"once-{width}-{unit_id}")
    open_notebook(page, server.notebook(path.name))
    draw_every_cell(page)
    page.wait_for_timeout(500)
    found = lists(page)
    assert sum(row["left"] for row in found) >= 3
    for row in found:
        assert row["left"] != row["seen"], row
        assert row["left"] == all(row["times"]), row


def test_a_screen_reader_hears_an_option_once_and_the_file_keeps_both(server: Any, page: Any,
                                                                      violations: Any) -> None:
    path = copied(server, "07_clinical_priority", "heard-once")
    open_notebook(page, server.notebook(path.name))
    before = cell_source(page, "q7-1-prompt")
    prompt, shown = show_cell(page, "q7-1-prompt"), form(page, "q7-1-answer")
    option = next(line.removeprefix("- ") for line in before.splitlines()
                  if line.startswith("- A. "))
    shown.get_by_text(option).wait_for()
    prompt.locator(LEFT_OUT).wait_for(state="hidden")
    assert option not in prompt.aria_snapshot()
    assert shown.aria_snapshot().count(f'radio "{option}') == 1
    assert prompt.get_by_role("heading", level=3).count() == 1
    assert violations(page, ".jp-Notebook") == []
    assert cell_source(page, "q7-1-prompt") == before
    kept = json.loads(path.read_text("utf-8"))["cells"]
    assert any(f"- {option}" in "".join(cell["source"]) for cell in kept)


def test_on_paper_the_list_stands_and_without_its_form_it_comes_back(server: Any,
                                                                     page: Any) -> None:
    path = copied(server, "07_clinical_priority", "comes-back")
    open_notebook(page, server.notebook(path.name))
    prompt = show_cell(page, "q7-1-prompt")
    listed = prompt.locator(".jp-RenderedMarkdown > ul")
    prompt.locator(LEFT_OUT).wait_for(state="hidden")
    page.emulate_media(media="print")
    assert listed.is_visible()
    page.emulate_media(media="screen")
    assert not listed.is_visible()
    command(page, "notebook:clear-all-cell-outputs")
    listed.wait_for(state="visible")
    page.evaluate(f"() => {PANEL}.sessionContext.session.kernel")
    command(page, "notebook:run-all-cells")
    prompt = show_cell(page, "q7-1-prompt")
    prompt.locator(LEFT_OUT).wait_for(state="hidden")


def test_a_form_that_is_folded_away_gives_the_list_back(server: Any, page: Any) -> None:
    path = copied(server, "07_clinical_priority", "folded")
    open_notebook(page, server.lab(path.name))
    prompt = show_cell(page, "q7-1-prompt")
    prompt.locator(LEFT_OUT).wait_for(state="hidden")
    for folded in (True, False):
        page.evaluate(f"""folded => {{ const mine = cell =>
            cell.model.getMetadata('nbgrader')?.grade_id === 'q7-1-answer';
            {PANEL}.content.widgets.find(mine).outputHidden = folded; }}""", folded)
        prompt.locator(".jp-RenderedMarkdown > ul").wait_for(
            state="visible" if folded else "hidden")


def test_a_list_that_says_more_than_the_form_stays(server: Any, page: Any) -> None:
    """A school adds a line to a question by hand: the form does not know it."""
    path = copied(server, "07_clinical_priority", "one-more")
    notebook = json.loads(path.read_text("utf-8"))
    cell = next(c for c in notebook["cells"]
                if c["metadata"].get("nbgrader", {}).get("grade_id") == "q7-1-prompt")
    cell["source"] = "".join(cell["source"]).rstrip() + "\n- E. None of these"
    path.write_text(json.dumps(notebook), encoding="utf-8")
    open_notebook(page, server.notebook(path.name))
    form(page, "q7-1-answer")
    page.wait_for_timeout(800)
    listed = show_cell(page, "q7-1-prompt").locator(".jp-RenderedMarkdown > ul")
    assert listed.is_visible()
    assert "E. None of these" in listed.inner_text()


def test_without_the_extension_the_list_stands_until_the_form_does(bare_server: Any,
                                                                   page: Any) -> None:
    path = copied(bare_server, "07_clinical_priority", "by-hand")
    page.goto(bare_server.notebook(path.name))
    page.get_by_role("heading", name="What first?").first.or_(
        page.locator(".jp-MarkdownCell").first).wait_for()
    page.wait_for_function(f"() => {PANEL}?.sessionContext?.session?.kernel?.status === 'idle'",
                           timeout=60_000)
    assert show_cell(page, "q7-1-prompt").locator(".jp-RenderedMarkdown > ul").is_visible()
    command(page, "notebook:run-all-cells")
    form(page, "q7-1-answer")
    show_cell(page, "q7-1-prompt").locator(LEFT_OUT).wait_for(state="hidden")
