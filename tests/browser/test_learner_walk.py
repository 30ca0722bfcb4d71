"""Every unit as a learner walks it: answers, pictures, practice, and the next day on a phone."""

from __future__ import annotations

import shutil

import pytest
from browser_unit import EXERCISES
from keyboard import answer_by_keys, back_to_cell, go_to, move_by_keys, tab_to
from notebooks import (
    PANEL,
    marks_of,
    open_notebook,
    run_all,
    save,
    saved_source,
    show_cell,
    small_notebook,
    stop_kernel,
)
from walking import (
    answer_all,
    cells_that,
    clicked,
    copied,
    draw_every_cell,
    move_every_control,
    notebook_of,
    opened,
    outputs_said,
    practice_once,
    right_answers,
    running_off_the_side,
    seen_through_a_window,
    smallest_type_in_pictures,
    sources,
    typed,
    unit_of,
)

from acidbase_lib.classroom.marking.own_notebook import mark_own_notebook
from acidbase_lib.classroom.marking.reading_lane import mark_notebook
from acidbase_lib.teaching.questions.answer_text import parse_chart
from acidbase_lib.teaching.questions.question_file import unit_ids

TROUBLE = '[data-mime-type*="stderr"], [data-mime-type*="error"]'


def test_every_kind_is_clicked_and_typed_somewhere():
    """The walks below answer each kind of question both ways."""
    kinds = {by: {exercise.kind for unit_id in unit_ids() for exercise in unit_of(unit_id)
                  if (exercise.id in clicked(unit_id)) == by} for by in (True, False)}
    assert kinds[True] == kinds[False] > {"choose one", "grid", "put in order", "rationale"}


@pytest.mark.parametrize("unit_id", unit_ids())
def test_a_learner_walks_a_unit(unit_id, bare_server, page, phone, violations, shot, tmp_path):
    """Run all by hand, answer, move, practice, save; the next day it is all there."""
    path = opened(page, bare_server, unit_id)
    unit, blank = unit_of(unit_id), notebook_of(unit_id)
    for grade_id in cells_that(blank, "unit.result("):
        outputs_said(page, grade_id, "The result waits")
        shown = show_cell(page, grade_id).locator(".jp-OutputArea-output")
        assert shown.get_by_text("Your result").count() == 0
    answer_all(page, unit_id)
    run_all(page)
    for grade_id in cells_that(blank, "unit.check("):
        outputs_said(page, grade_id, "Complete, and kept in the cell above.")
    for grade_id in cells_that(blank, "unit.review("):
        outputs_said(page, grade_id, *(f"Question {one.id[1:].replace('-', '.')}" for one in unit))
    for grade_id in cells_that(blank, "unit.result("):
        outputs_said(page, grade_id, "Your result:", "Points by unit")
    for grade_id in cells_that(blank, "explore_"):
        group = show_cell(page, grade_id).locator(".ab-explorer")
        assert move_every_control(page, group) >= 3
    for grade_id in cells_that(blank, "unit.practice("):
        practice_once(page, show_cell(page, grade_id).locator(".ab-practice"))
    shot(page, f"{unit_id}-1280")
    draw_every_cell(page)
    assert page.locator(".jp-OutputArea-output .ab").count() > len(unit.exercises)
    assert violations(page, ".jp-OutputArea-output") == []
    assert page.locator(TROUBLE).count() == 0
    save(page)
    stop_kernel(page)

    the_next_day_on_a_phone(phone, bare_server, path, unit_id, shot)
    alone = tmp_path / "alone" / path.name
    alone.parent.mkdir()
    shutil.copy(path, alone)
    earns_full_marks(alone, unit_id)


def the_next_day_on_a_phone(page, server, path, unit_id, shot):
    """The file says what was answered; run again, nothing of it runs off the narrow screen."""
    unit, before = unit_of(unit_id), sources(path)
    open_notebook(page, server.notebook(path.name))
    draw_every_cell(page)
    reopened = page.locator(".jp-OutputArea-output").filter(has_text="Run this cell to show")
    asked = reopened.filter(has_text="to show the question. Your answer is kept in the cell's text")
    pictures, practices = ([*cells_that(notebook_of(unit_id), call)]
                           for call in ("explore_", "unit.practice("))
    for place in range(len(unit.exercises)):
        asked.nth(place).wait_for()
    for place in range(len(unit.exercises) + len(pictures)):
        reopened.nth(place).wait_for()
    for grade_id in practices:
        outputs_said(page, grade_id, "Run this cell to practice:")
    assert page.get_by_text("model not found").count() == 0
    for exercise in unit:
        held = page.evaluate(f"""id => {PANEL}.context.model.sharedModel.cells.find(cell =>
            cell.getMetadata('nbgrader')?.grade_id === id).getSource()""", f"{exercise.id}-answer")
        assert held == before[f"{exercise.id}-answer"]
        values = right_answers(unit_id)[exercise.id]
        if all(asked.kind in ("one", "many", "order") for asked in exercise.fields):
            assert held == typed(exercise, values)
        assert dict(parse_chart(held, exercise.fields).values) == dict(values)
    run_all(page)
    page.locator(".ab-chart:not(.ab-practice) .ab-chart-foot").nth(
        len(unit.exercises) - 1).wait_for()
    for place in range(len(pictures)):
        page.locator(".ab-explorer svg").nth(place).wait_for()
    for place in range(len(practices)):
        page.locator(".ab-practice form").nth(place).wait_for()
    assert running_off_the_side(page) == []
    assert seen_through_a_window(page) == 0
    assert not pictures or smallest_type_in_pictures(page) >= 12
    shot(page, f"{unit_id}-390")


def earns_full_marks(path, unit_id):
    """At home: all that needs no instructor. In class: all but what a person reads."""
    unit = unit_of(unit_id)
    by_hand = {one.id for one in unit if one.kind == "rationale"}
    waits = by_hand | {one.id for one in unit if one.key is None}
    home = mark_own_notebook(path).marked
    assert {one.question: one.points for one in home.marks if one.question not in waits} == {
        one.id: float(one.points) for one in unit if one.id not in waits}
    school = mark_notebook(path, notebook_of(unit_id, "solutions"))
    assert {one.question: one.points for one in school.marks if one.question not in by_hand} == {
        one.id: float(one.points) for one in unit if one.id not in by_hand}
    assert all(saved_source(path, f"{question}-answer").count("\n") for question in by_hand)


# ---- the keyboard alone, from the notebook's command mode ----


def on_the_first_cell(page):
    """The keyboard on the first cell, in command mode, as a notebook opens."""
    page.evaluate(f"""() => {{ const notebook = {PANEL}.content;
        notebook.activate(); notebook.mode = 'command'; notebook.activeCellIndex = 0; }}""")


def by_keys(unit_id):
    """One unit's walk belongs to every check; those of the others are long."""
    return pytest.param(unit_id, marks=[] if unit_id == "01_ranges" else pytest.mark.long)


@pytest.mark.parametrize("unit_id", [by_keys(unit_id) for unit_id in unit_ids()])
def test_a_whole_unit_by_keyboard_alone(unit_id, server, page, tmp_path):
    """Nothing run, every answer given, every picture moved, a patient practiced: no mouse."""
    path = copied(server, unit_id, f"keys-{unit_id}")
    open_notebook(page, server.lab(path.name))
    on_the_first_cell(page)
    unit = unit_of(unit_id)
    for grade_id, text in sources(notebook_of(unit_id)).items():
        cell = go_to(page, grade_id)
        if grade_id.endswith("-answer"):
            exercise = unit.exercises[grade_id.removesuffix("-answer")]
            answer_by_keys(page, cell.locator(".ab-chart"), exercise,
                           right_answers(unit_id)[exercise.id])
        elif "explore_" in text:
            move_by_keys(page, cell.locator(".ab-explorer"))
        elif "unit.practice(" in text:
            cell.locator(".ab-practice form").wait_for()
            tab_to(page, "it.matches('.ab-practice input[type=radio]')")
            practice_once(page, cell.locator(".ab-practice"))
            back_to_cell(page)
        elif "unit.result(" in text:
            tab_to(page, "it.textContent === 'Show my result'")
            page.keyboard.press("Enter")
            cell.get_by_text("Your result:").wait_for()
    page.keyboard.press("Control+s")
    page.wait_for_function(f"() => !{PANEL}.context.model.dirty")
    alone = tmp_path / notebook_of(unit_id).name
    shutil.copy(path, alone)
    earns_full_marks(alone, unit_id)


def test_each_kind_of_question_by_keyboard_alone(server, page):
    """A small unit that holds them all, words of one's own included."""
    path = small_notebook(server.root, "kinds-by-keys.ipynb")
    open_notebook(page, server.lab(path.name))
    on_the_first_cell(page)
    go_to(page, "setup")
    for exercise in EXERCISES:
        cell = go_to(page, f"{exercise.id}-answer")
        values = exercise.key or {"because": "The pH is low."}
        answer_by_keys(page, cell.locator(".ab-chart"), exercise, values)
    save(page)
    assert marks_of(path) == {one.id: one.points if one.key else 0 for one in EXERCISES}
    assert saved_source(path, "q1-6-answer") == "%%chart q1-6\nbecause: The pH is low."
