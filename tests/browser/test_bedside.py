"""Units 07 and 08 in a browser: the patient over time, practice at the bedside, the result."""

from __future__ import annotations

import shutil
from pathlib import Path

import pytest
from notebooks import form, open_notebook, run_all, show_cell

ROOT = Path(__file__).parents[2]


def opened(server, page, unit: str):
    path = server.root / f"{unit}.ipynb"
    shutil.copy(ROOT / "course" / unit / f"{unit}.ipynb", path)
    open_notebook(page, server.lab(path.name))
    run_all(page)


def test_the_patient_over_time_by_keyboard_alone(server, page, violations, shot):
    """Choose, read what follows, go back, choose otherwise, and the other patient as well."""
    opened(server, page, "07_clinical_priority")
    group = show_cell(page, "07-explore").get_by_role("group", name="The patient over time")
    said = group.locator(".ab-sentence")
    said.filter(has_text="SpO2 79 %, below the target").wait_for()
    first = said.inner_text()
    assert violations(page, ".ab-explorer") == []
    shot(page, "07-explorer-1280")
    button = group.get_by_role("button", name="Start a reservoir mask at 15 L/min and leave it")
    button.focus()
    page.keyboard.press("Enter")
    said.filter(has_text="PaCO2 86 mmHg, up from 62").wait_for()
    assert page.evaluate("document.activeElement.className") == "ab-course-asks"
    group.get_by_role("button", name="Take the oxygen off, for fear of CO2").click()
    said.filter(has_text="down from 100").wait_for()
    assert violations(page, ".ab-explorer") == []
    shot(page, "07-explorer-two-steps", ".ab-explorer")
    for _ in range(2):
        back = group.get_by_role("button", name="One step back")
        back.focus()
        page.keyboard.press("Enter")
    said.filter(has_text=first).wait_for()
    group.get_by_label("Patient").select_option(label="Mr. Ashgrove, whom asthma tires")
    said.filter(has_text="PaCO2 30 mmHg").wait_for()


def test_forms_and_practice(server, page, violations, shot):
    opened(server, page, "07_clinical_priority")
    pair = form(page, "q7-4-answer")
    assert violations(page, ".ab-chart") == []
    pair.locator("input[type=radio]").first.check()
    shot(page, "07-q7-4-1280")
    form(page, "q7-8-answer")
    shot(page, "07-q7-8-1280")
    practice = show_cell(page, "07-practice").locator(".ab-practice")
    practice.locator("input[type=radio]").first.check()
    practice.get_by_role("button", name="Answer").click()
    practice.locator(".ab-practice-verdict").wait_for()
    assert violations(page, ".ab-practice") == []
    shot(page, "07-practice-1280", ".ab-practice")


def test_a_narrow_screen_holds_it_all(server, page, shot):
    """A phone's width, in the page that shows a notebook alone."""
    page.set_viewport_size({"width": 390, "height": 900})
    path = server.root / "07_narrow.ipynb"
    shutil.copy(ROOT / "course" / "07_clinical_priority" / "07_clinical_priority.ipynb", path)
    open_notebook(page, server.notebook(path.name))
    run_all(page)
    for name in ("explore", "practice"):
        shown = show_cell(page, f"07-{name}").locator(".jp-OutputArea-output .ab").first
        shown.wait_for()
        shot(page, f"07-{name}-390")
        wide = shown.evaluate("""node => [node, ...node.querySelectorAll('*')].filter(
            one => one.getBoundingClientRect().right > innerWidth).map(one => one.outerHTML)""")
        assert [one[:80] for one in wide] == [], name


@pytest.mark.parametrize("width", [1280, 390])
def test_the_result_of_a_sitting(server, page, violations, shot, width):
    """The solutions with two answers changed: all is answered, and not all is right."""
    page.set_viewport_size({"width": width, "height": 900})
    path = server.root / f"08_result_{width}.ipynb"
    text = (ROOT / "solutions/08_sitting/08_sitting.ipynb").read_text("utf-8")
    changed = text.replace("disorder: respiratory alkalosis", "disorder: metabolic alkalosis")
    changed = changed.replace("PaCO2: high", "PaCO2: normal")
    assert changed != text
    path.write_text(changed, encoding="utf-8")
    open_notebook(page, (server.lab if width > 600 else server.notebook)(path.name))
    run_all(page)
    result = show_cell(page, "08-result").locator(".jp-OutputArea-output")
    result.get_by_text("Your result:").wait_for()
    assert violations(page, ".jp-OutputArea-output section.ab") == []
    shot(page, f"08-result-{width}")


def test_the_result_waits_where_nothing_is_answered(server, page):
    opened(server, page, "08_sitting")
    shown = show_cell(page, "08-result").locator(".jp-OutputArea-output")
    shown.get_by_text("The result waits").wait_for()
    assert shown.get_by_text("Your result").count() == 0
