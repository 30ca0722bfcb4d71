"""Unit 02 as a learner meets it: run, click, type, save, come back, and be marked from the file."""

from __future__ import annotations

import json
import shutil
from pathlib import Path

import pytest
from notebooks import (
    cell_source,
    form,
    open_notebook,
    run_all,
    save,
    show_cell,
    stop_kernel,
    type_source,
)

from acidbase_lib.classroom.forms import opening_of
from acidbase_lib.classroom.home import mark_own_notebook
from acidbase_lib.teaching.chart import write_chart
from acidbase_lib.teaching.unit import open_unit

UNIT = "02_primary_disorder"
RELEASE = Path(__file__).parents[2] / "course" / UNIT / f"{UNIT}.ipynb"


@pytest.fixture
def opened(server, page):
    """A copy of the released unit, open in JupyterLab, every cell run."""
    path = server.root / f"{UNIT}.ipynb"
    shutil.copy(RELEASE, path)
    open_notebook(page, server.lab(path.name))
    run_all(page)
    return path


def test_both_answers_travel_in_the_file(opened, server, page, chromium, tmp_path, shot):
    """The main line: both answers are there on reopening, and the one file earns their marks."""
    unit = open_unit(*opening_of(RELEASE.read_text(encoding="utf-8").replace('\\"', '"')))
    clicked, typed = unit.exercises["q2-1"], unit.exercises["q2-2"]
    (asked,) = clicked.fields
    found = form(page, "q2-1-answer")
    found.get_by_role("radio", name=clicked.key[asked.name], exact=True).check()
    found.locator(".ab-chart-status").filter(has_text="Kept.").wait_for()
    shot(page, "unit-02-clicked")
    text = write_chart(typed.id, typed.fields, typed.key)
    type_source(page, "q2-2-answer", text)
    save(page)
    stop_kernel(page)

    again = chromium.new_context().new_page()
    open_notebook(again, server.lab(opened.name))
    assert cell_source(again, "q2-1-answer") == write_chart(clicked.id, clicked.fields, clicked.key)
    assert cell_source(again, "q2-2-answer") == text
    show_cell(again, "q2-1-answer").get_by_text("Run this cell to show the question.").wait_for()
    show_cell(again, "02-explore").get_by_text("Run this cell to show:").wait_for()
    show_cell(again, "02-practice").get_by_text("Run this cell to practice:").wait_for()
    assert again.get_by_text("model not found").count() == 0
    again.context.close()

    alone = tmp_path / "alone" / f"{UNIT}.ipynb"
    alone.parent.mkdir()
    shutil.copy(opened, alone)
    marks = {mark.question: mark.points for mark in mark_own_notebook(alone).marked.marks}
    expected = dict.fromkeys(unit.exercises, 0.0)
    expected["q2-1"], expected["q2-2"] = float(clicked.points), float(typed.points)
    assert marks == expected


def test_outputs_pass_the_accessibility_checker_and_show_no_error(opened, page, violations):
    """Every output of the unit, on the screen one after another."""
    checked = 0
    for cell in json.loads(RELEASE.read_text(encoding="utf-8"))["cells"]:
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
    assert checked > len(open_unit(UNIT).exercises)
