"""Every unit as a learner walks it: answers, pictures, practice, and the next day on a phone."""

from __future__ import annotations

import shutil

import pytest
from browser_unit import EXERCISES
from keyboard import answer_by_keys, back_to_cell, go_to, move_by_keys, tab_to
from notebooks import (
    PANEL,
    form,
    marks_of,
    open_notebook,
    save,
    saved_source,
    show_cell,
    small_notebook,
    stop_kernel,
)
from walking import (
    answer_all,
    by_thumb,
    cells_that,
    check_my_answer,
    click,
    clicked,
    copied,
    draw_every_cell,
    look_back,
    move_every_control,
    notebook_of,
    outputs_said,
    practice_by_thumb,
    practice_once,
    right_answers,
    running_off_the_side,
    seen_through_a_window,
    smallest_type_in_pictures,
    sources,
    told_right,
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
def test_a_learner_walks_a_unit(unit_id, server, page, phone, violations, shot, tmp_path):
    """Nothing run: answer, check, move, practice, save; the next day it is all there."""
    path = copied(server, unit_id)
    open_notebook(page, server.lab(path.name))
    unit, blank = unit_of(unit_id), notebook_of(unit_id)
    for grade_id in cells_that(blank, "unit.result("):
        look_back(page, grade_id)
        outputs_said(page, grade_id, "The result waits")
        shown = show_cell(page, grade_id).locator(".jp-OutputArea-output")
        assert shown.get_by_text("Your result").count() == 0
    answer_all(page, unit_id)
    for grade_id in cells_that(blank, "unit.review("):
        look_back(page, grade_id)
        outputs_said(page, grade_id, *(f"Question {one.id[1:].replace('-', '.')}" for one in unit))
    for grade_id in cells_that(blank, "unit.twins("):
        look_back(page, grade_id)
        outputs_said(page, grade_id, "was right at the first try")
    for grade_id in cells_that(blank, "unit.result("):
        look_back(page, grade_id)
        outputs_said(page, grade_id, "Your result:", "Points by unit")
    for grade_id in cells_that(blank, "explore_"):
        if "explore_steps" not in sources(blank)[grade_id]:  # read a line at a press
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

    the_next_day_on_a_phone(phone, server, path, unit_id, shot)
    alone = tmp_path / "alone" / path.name
    alone.parent.mkdir()
    shutil.copy(path, alone)
    earns_full_marks(alone, unit_id)


def the_next_day_on_a_phone(page, server, path, unit_id, shot):
    """What was answered and told is there again; nothing of it runs off the narrow screen."""
    unit, before, blank = unit_of(unit_id), sources(path), notebook_of(unit_id)
    open_notebook(page, server.notebook(path.name))
    for exercise in unit:
        held = page.evaluate(f"""id => {PANEL}.context.model.sharedModel.cells.find(cell =>
            cell.getMetadata('nbgrader')?.grade_id === id).getSource()""", f"{exercise.id}-answer")
        assert held == before[f"{exercise.id}-answer"]
        values = right_answers(unit_id)[exercise.id]
        assert ("# first try" in held) != (unit.sitting or exercise.kind == "rationale")
        if all(asked.kind in ("one", "many", "order") for asked in exercise.fields):
            assert held.split("\nhow sure")[0] == typed(exercise, values)
        assert dict(parse_chart(held, exercise.fields).values) == dict(values)
    draw_every_cell(page)
    for exercise in () if unit.sitting else unit:
        told_right(form(page, f"{exercise.id}-answer"), exercise)
    explorers = [grade_id for grade_id in cells_that(blank, "explore_")
                 if "explore_steps" not in sources(blank)[grade_id]]
    for grade_id in explorers:
        show_cell(page, grade_id).locator(".ab-explorer svg").first.wait_for()
    for grade_id in cells_that(blank, "unit.practice("):
        show_cell(page, grade_id).locator(".ab-practice form").wait_for()
    assert page.get_by_text("model not found").count() == 0
    assert running_off_the_side(page) == []
    assert seen_through_a_window(page) == 0
    assert not explorers or smallest_type_in_pictures(page) >= 12
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
        if grade_id.removesuffix("-answer") in unit.exercises:
            exercise = unit.exercises[grade_id.removesuffix("-answer")]
            answer_by_keys(page, cell.locator(".ab-chart"), exercise,
                           right_answers(unit_id)[exercise.id])
            if not unit.sitting:
                tab_to(page, "it.textContent === 'Check my answer'", 200)
                page.keyboard.press("Enter")
                told_right(cell.locator(".ab-chart"), exercise)
                back_to_cell(page)
        elif "explore_" in text and "explore_steps" not in text:
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


@pytest.mark.parametrize("unit_id", [by_keys(unit_id) for unit_id in unit_ids()])
def test_a_whole_unit_by_touch_alone(unit_id, server, hand_held, tmp_path):
    """On a phone, nothing run: every answer given and checked, a patient practiced, by thumb."""
    page, unit, blank = hand_held, unit_of(unit_id), notebook_of(unit_id)
    path = copied(server, unit_id, f"thumb-{unit_id}")
    open_notebook(page, server.notebook(path.name))
    for exercise in unit:
        click(page, exercise, right_answers(unit_id)[exercise.id], by_thumb)
        check_my_answer(page, exercise, unit.sitting, by_thumb)
    for grade_id in cells_that(blank, "unit.opening("):
        place = show_cell(page, grade_id).locator(".ab-practice")
        place.get_by_role("button", name="Ask me").tap()
        place.get_by_role("heading", name="From earlier units, 1 of 3").wait_for()
    for grade_id in cells_that(blank, "unit.practice("):
        practice_by_thumb(show_cell(page, grade_id).locator(".ab-practice"))
    for grade_id in cells_that(blank, "unit.result(", "unit.review("):
        look_back(page, grade_id, by_thumb)
        outputs_said(page, grade_id, "Your result:" if unit.sitting else "Question ")
    save(page)
    page.wait_for_function(f"() => !{PANEL}.context.model.dirty")
    alone = tmp_path / blank.name
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
