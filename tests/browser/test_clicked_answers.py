"""A chart cell in a real JupyterLab and Notebook 7: clicked and typed answers stay in the file."""

from __future__ import annotations

import json

import pytest
from form_page import doubled_ids
from notebooks import (
    APP,
    PANEL,
    cell_source,
    command,
    far_disk,
    form,
    marks_of,
    open_notebook,
    run_all,
    save,
    saved_source,
    show_cell,
    small_notebook,
    stop_kernel,
    type_source,
)
from playwright.sync_api import expect

READ_RIGHT = (("pH", "low"), ("bicarbonate", "high"), ("disorder", "respiratory acidosis"))
PLACES = pytest.mark.parametrize("place", ["lab", "notebook"])


def status(found):
    return found.locator(".ab-chart-status")


def kept(found, what="Kept."):
    """Wait until the form says that the answer is kept."""
    status(found).filter(has_text=what).wait_for()


def wear(page, theme):
    """Change the front end's theme; the server remembers it for the tests that follow."""
    command(page, "apputils:change-theme", theme=theme)
    light = "true" if theme.endswith("Light") else "false"
    page.wait_for_selector(f'body[data-jp-theme-light="{light}"]', state="attached")


def choose(found, field, word):
    option(found, field, word).check()


def option(found, field, word):
    group = found.get_by_role("group", name=f": {field}")
    return group.get_by_role("radio", name=word, exact=True)


@pytest.fixture
def lab(server, page, request):
    """A notebook on the small unit, open in JupyterLab, every cell run."""
    path = small_notebook(server.root, f"{request.node.name.split('[')[0]}.ipynb")
    open_notebook(page, server.lab(path.name))
    run_all(page)
    return path


@PLACES
def test_a_clicked_and_a_typed_answer_are_there_on_reopening(server, chromium, page, place, shot):
    path = small_notebook(server.root, f"main-{place}.ipynb")
    address = getattr(server, place)(path.name)
    open_notebook(page, address)
    run_all(page)
    found = form(page, "q1-1-answer")
    for field, word in READ_RIGHT:
        choose(found, field, word)
        kept(found, f"Kept. {field}: {word}")
    shot(page, f"{place}-clicked")
    type_source(page, "q1-2-answer", "%%chart q1-2\nanswer: a")
    save(page)
    stop_kernel(page)

    again = chromium.new_context().new_page()
    open_notebook(again, address)
    clicked = "%%chart q1-1\npH: low\nbicarbonate: high\ndisorder: respiratory acidosis"
    assert cell_source(again, "q1-1-answer") == clicked
    assert cell_source(again, "q1-2-answer") == "%%chart q1-2\nanswer: a"
    shown = show_cell(again, "q1-1-answer").locator(".jp-OutputArea")
    shown.get_by_text("Run this cell to show the question.").wait_for()
    shot(again, f"{place}-reopened")
    again.context.close()

    marks = marks_of(path)
    assert (marks["q1-1"], marks["q1-2"]) == (3.0, 1.0)
    assert sum(marks.values()) == 4.0


def test_every_kind_of_question_can_be_clicked_to_full_marks(lab, page):
    found = form(page, "q1-1-answer")
    for field, word in READ_RIGHT:
        choose(found, field, word)
    kept(found, "Kept. disorder")
    found = form(page, "q1-2-answer")
    found.get_by_label("A. pH 7.28").check()
    kept(found)
    found = form(page, "q1-3-answer")
    found.get_by_label("drowsiness").check()
    found.get_by_label("flushed skin").check()
    kept(found, "Kept. signs: drowsiness, flushed skin")
    found = form(page, "q1-4-answer")
    for step in ("up: look at the pH", "down: name the disorder", "down: look at the bicarbonate"):
        found.get_by_role("button", name=f"Move {step}").click()
    found.get_by_text("First at the top.", exact=True).wait_for()
    found = form(page, "q1-5-answer")
    found.get_by_label("Question 1.5: expected PaCO2", exact=True).fill("4")
    found.get_by_label("unit of expected PaCO2").select_option("kPa")
    kept(found, "Kept. expected PaCO2: 4 kPa")
    found = form(page, "q1-6-answer")
    found.get_by_label("because").fill("The pH is low.\npH: low, so an acidosis.\n# It fits.")
    found.get_by_text("12 words").wait_for()
    kept(found, "Kept. because: The pH")
    assert saved_source(lab, "q1-6-answer") == (
        "%%chart q1-6\nbecause: The pH is low.\npH: low, so an acidosis. # It fits.")
    assert marks_of(lab) == {"q1-1": 3, "q1-2": 1, "q1-3": 2, "q1-4": 3, "q1-5": 1, "q1-6": 0}


def test_a_click_leaves_what_the_learner_typed(server, page):
    """Comments, other fields, other names of a field, unknown words and blank lines stay."""
    typed = ("%%chart q1-1\n# my notes: watch the CO2\n\nHCO3 :  high \nnot sure about this\n"
             "disorder: metabolic acidossis\n\n")
    path = small_notebook(server.root, "typed.ipynb", {"q1-1": typed})
    open_notebook(page, server.lab(path.name))
    run_all(page)
    found = form(page, "q1-1-answer")
    found.get_by_text("Did you mean 'metabolic acidosis'?").wait_for()
    found.get_by_text("has no colon").wait_for()
    choose(found, "pH", "low")
    kept(found, "Kept. pH: low")
    choose(found, "bicarbonate", "low")
    kept(found, "Kept. bicarbonate: low")
    assert saved_source(path, "q1-1-answer") == (
        "%%chart q1-1\n# my notes: watch the CO2\n\nHCO3 : low\nnot sure about this\n"
        "disorder: metabolic acidossis\npH: low\n\n")


def test_typing_after_the_form_was_drawn_wins(lab, page):
    found = form(page, "q1-1-answer")
    choose(found, "pH", "high")
    kept(found)
    type_source(page, "q1-1-answer", "%%chart q1-1\npH: low # sure\nbicarb: up\ndisorder:")
    found.get_by_text("Recorded: bicarbonate: high.").wait_for()
    type_source(page, "q1-1-answer", "%%chart q1-1\npH: low\nbicarb: up\ndisorder:")
    found.get_by_text("Recorded: pH: low; bicarbonate: high.").wait_for()
    assert option(found, "pH", "low").is_checked()
    choose(found, "disorder", "metabolic alkalosis")
    kept(found, "Kept. disorder")
    assert cell_source(page, "q1-1-answer") == (
        "%%chart q1-1\npH: low\nbicarb: up\ndisorder: metabolic alkalosis")


def test_a_click_made_right_after_typing_merges(lab, page):
    """The click comes before the form has followed the typing: nothing typed is overwritten."""
    form(page, "q1-1-answer")
    page.evaluate(f"""() => {{
        const cell = {PANEL}.context.model.sharedModel.cells.find(
            one => one.getMetadata('nbgrader')?.grade_id === 'q1-1-answer');
        cell.setSource('%%chart q1-1\\npH: low\\nbicarbonate:\\ndisorder:');
        document.querySelector('.ab-chart input[value="respiratory acidosis"]').click();
    }}""")
    kept(form(page, "q1-1-answer"))
    assert cell_source(page, "q1-1-answer") == (
        "%%chart q1-1\npH: low\nbicarbonate:\ndisorder: respiratory acidosis")


def test_saves_that_meet_on_a_slow_disk_ask_nothing(server, page):
    """Two forms, and the platform's own save: none is taken for a change made elsewhere."""
    path = small_notebook(server.root, "slow-disk.ipynb")
    far_disk(page.context, 400)
    open_notebook(page, server.lab(path.name))
    run_all(page)
    first, second = form(page, "q1-1-answer"), form(page, "q1-2-answer")
    option(first, "pH", "low").check()
    second.get_by_role("radio").first.check()
    page.wait_for_timeout(500)
    save(page)
    kept(first)
    kept(second)
    expect(page.locator(".jp-Dialog")).to_have_count(0)
    assert "pH: low" in saved_source(path, "q1-1-answer")


def test_an_answer_can_be_cleared_and_put_back(lab, page):
    found = form(page, "q1-1-answer")
    choose(found, "pH", "low")
    kept(found)
    found.get_by_role("button", name="Clear this answer").click()
    kept(found, "Cleared.")
    assert saved_source(lab, "q1-1-answer") == "%%chart q1-1\npH:\nbicarbonate:\ndisorder:"
    expect(found.locator("input:checked")).to_have_count(0)
    found.get_by_role("button", name="Put the answer back").click()
    kept(found, "Your answer is back.")
    assert saved_source(lab, "q1-1-answer") == "%%chart q1-1\npH: low\nbicarbonate:\ndisorder:"


def test_the_kernel_knows_a_clicked_answer_without_a_rerun(lab, page):
    found = form(page, "q1-1-answer")
    choose(found, "pH", "low")
    found.get_by_text("Recorded: pH: low.").wait_for()
    found.get_by_text("Still to answer: bicarbonate, disorder.").wait_for()


def test_a_click_is_kept_even_when_the_kernel_has_gone(lab, page):
    found = form(page, "q1-1-answer")
    stop_kernel(page)
    choose(found, "pH", "low")
    kept(found, "Kept. pH: low")
    assert "pH: low" in saved_source(lab, "q1-1-answer")


def test_a_form_in_a_locked_cell_with_hidden_text_can_be_clicked(lab, page):
    page.evaluate(f"""() => {{
        const cell = {PANEL}.context.model.sharedModel.cells.find(
            one => one.getMetadata('nbgrader')?.grade_id === 'q1-1-answer');
        cell.setMetadata('editable', false);
        cell.setMetadata('jupyter', {{source_hidden: true}});
    }}""")
    found = form(page, "q1-1-answer")
    choose(found, "pH", "high")
    kept(found, "Kept. pH: high")
    assert "pH: high" in saved_source(lab, "q1-1-answer")


def test_by_keyboard_alone(lab, page):
    """Arrows choose, space ticks, and no key pressed in the form reaches the notebook."""
    def cells():
        return page.evaluate(f"() => {PANEL}.content.widgets.length")

    before = cells()
    found = form(page, "q1-1-answer")
    option(found, "pH", "low").focus()
    page.keyboard.press("Space")
    kept(found, "Kept. pH: low")
    page.keyboard.press("ArrowRight")
    kept(found, "Kept. pH: normal")
    page.keyboard.press("Tab")
    page.keyboard.press("Space")
    kept(found, "Kept. bicarbonate: low")
    for key in ("d", "d", "a", "x", "Enter", "m"):
        page.keyboard.press(key)
    page.keyboard.press("Tab")
    page.keyboard.press("ArrowDown")
    kept(found, "Kept. disorder: respiratory alkalosis")
    assert cells() == before
    assert cell_source(page, "q1-1-answer") == (
        "%%chart q1-1\npH: normal\nbicarbonate: low\ndisorder: respiratory alkalosis")

    found = form(page, "q1-4-answer")
    up = found.get_by_role("button", name="Move up: look at the PaCO2")
    up.focus()
    page.keyboard.press("Enter")
    page.keyboard.press("Enter")
    kept(found, "Kept. steps: look at the PaCO2: now 2 of 4")
    assert page.evaluate("() => document.activeElement.getAttribute('aria-label')") == (
        "Move up: look at the PaCO2")
    page.keyboard.press("Control+s")
    kept(found, "Saved.")


@pytest.mark.parametrize("theme", ["JupyterLab Light", "JupyterLab Dark"])
def test_nothing_for_the_accessibility_checker_to_find(lab, page, theme, violations, shot):
    wear(page, theme)
    for number in range(1, 7):
        found = form(page, f"q1-{number}-answer")
        found.evaluate("node => node.setAttribute('data-checked-now', '')")
        if number == 1:
            choose(found, "pH", "low")
            kept(found)
        shot(page, f"form-{number}-{theme.split()[-1].lower()}", "[data-checked-now]")
        assert violations(page, "[data-checked-now]") == []
        found.evaluate("node => node.removeAttribute('data-checked-now')")
    assert doubled_ids(page) == []


def test_on_a_phone_nothing_runs_off_the_side(lab, page, shot):
    wear(page, "JupyterLab Light")
    page.set_viewport_size({"width": 390, "height": 844})
    command(page, "application:set-mode", mode="single-document")
    page.evaluate(f"() => ({APP}).shell.collapseLeft()")
    for number in range(1, 7):
        found = form(page, f"q1-{number}-answer")
        wide, room = found.evaluate("node => [node.scrollWidth, node.clientWidth]")
        assert wide <= room <= 390
        found.scroll_into_view_if_needed()
        shot(page, f"phone-{number}")


def test_only_the_one_file_is_needed(lab, page, tmp_path):
    """The saved .ipynb, copied alone, holds the answer and no widget state."""
    found = form(page, "q1-1-answer")
    choose(found, "pH", "low")
    kept(found)
    alone = tmp_path / "alone.ipynb"
    alone.write_bytes(lab.read_bytes())
    assert marks_of(alone)["q1-1"] == 1.0
    notebook = json.loads(alone.read_text(encoding="utf-8"))
    shown = notebook["cells"][2]["outputs"][0]["data"]
    assert "".join(shown["text/plain"]).startswith("Run this cell to show the question.")
