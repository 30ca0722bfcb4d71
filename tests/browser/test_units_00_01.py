"""Units 00 and 01 as a learner meets them: every answer clicked, both explorers moved, marked."""

from __future__ import annotations

import json
import shutil
from pathlib import Path

import pytest
from notebooks import form, open_notebook, run_all, save, show_cell

from acidbase_lib.classroom.home import mark_own_notebook
from acidbase_lib.teaching.unit import open_unit

COURSE = Path(__file__).parents[2] / "course"
UNITS = ("00_start_here", "01_ranges")


@pytest.fixture(params=UNITS)
def opened(request, server, page):
    """A copy of the released unit, open in JupyterLab, every cell run."""
    path = server.root / f"{request.param}.ipynb"
    shutil.copy(COURSE / request.param / path.name, path)
    open_notebook(page, server.lab(path.name))
    run_all(page)
    return path


def click(page, exercise):
    """Give a question's key by the form alone."""
    found = form(page, f"{exercise.id}-answer")
    kept = found.locator(".ab-chart-status").filter(has_text="Kept.")
    for asked in exercise.fields:
        value = exercise.key[asked.name]
        if asked.kind == "number":
            found.get_by_role("textbox", name=asked.name).fill(f"{value:g}")
            found.get_by_role("textbox", name=asked.name).press("Tab")
        elif asked.kind == "order":
            _put_in_order(found, asked, value)
        else:
            role = "radio" if asked.kind == "one" else "checkbox"
            group = found.get_by_role("group", name=asked.name, exact=True)
            for word in (value if isinstance(value, tuple) else (value,)):
                shown = next(c.shown for c in asked.choices if c.word == word)
                group.get_by_role(role, name=shown, exact=True).check()
        kept.wait_for()


def _put_in_order(found, asked, wanted):
    """Bring each step up to its place with the form's own buttons."""
    texts = {choice.word: choice.shown for choice in asked.choices}
    now = list(asked.words)
    if list(wanted) == now:
        found.get_by_role("button", name="Keep this order").click()
    for place, word in enumerate(wanted):
        while now.index(word) > place:
            at = now.index(word)
            found.get_by_role("button", name=f"Move up: {texts[word]}").click()
            now[at - 1], now[at] = now[at], now[at - 1]


def test_a_learner_clicks_every_answer_and_earns_full_marks(opened, page, shot):
    unit = open_unit(opened.stem)
    for exercise in unit:
        click(page, exercise)
    shot(page, f"unit-{opened.stem}-clicked")
    save(page)
    marks = {mark.question: mark.points for mark in mark_own_notebook(opened).marked.marks}
    assert marks == {exercise.id: float(exercise.points) for exercise in unit}


def test_outputs_pass_the_accessibility_checker_and_show_no_error(opened, page, violations):
    """Every output of the unit, on the screen one after another."""
    checked = 0
    for cell in json.loads((COURSE / opened.stem / opened.name).read_text("utf-8"))["cells"]:
        grade_id = cell["metadata"].get("nbgrader", {}).get("grade_id")
        if cell["cell_type"] != "code" or grade_id is None:
            continue
        shown = show_cell(page, grade_id)
        shown.evaluate("node => node.setAttribute('data-checked-now', '')")
        if shown.locator(".jp-OutputArea-output").count():
            checked += 1
            assert violations(page, "[data-checked-now] .jp-OutputArea-output") == [], grade_id
        assert shown.locator('[data-mime-type*="stderr"], [data-mime-type*="error"]').count() == 0
        shown.evaluate("node => node.removeAttribute('data-checked-now')")
    assert checked > len(open_unit(opened.stem).exercises)


def test_one_pressure_moves_in_both_units(server, page):
    """By keyboard alone: an arrow on the kPa slider moves the mmHg slider and the sentence."""
    path = server.root / "lines.ipynb"
    shutil.copy(COURSE / "01_ranges" / "01_ranges.ipynb", path)
    open_notebook(page, server.lab(path.name))
    run_all(page)
    explorer = show_cell(page, "01-explore-lines").locator(".ab-explorer")
    explorer.wait_for()
    kpa = explorer.get_by_role("slider", name="PaCO2 in kPa")
    kpa.focus()
    for _ in range(8):
        page.keyboard.press("ArrowRight")
    said = explorer.locator(".ab-sentence").filter(has_text="PaCO2 46 mmHg, the same as 6.1 kPa")
    said.wait_for()
    mmhg = explorer.get_by_role("slider", name="PaCO2 in mmHg")
    assert mmhg.input_value() == "46"
    mmhg.focus()
    page.keyboard.press("ArrowLeft")
    explorer.locator(".ab-sentence").filter(has_text="PaCO2 45 mmHg").wait_for()
    assert kpa.input_value() == "6"
