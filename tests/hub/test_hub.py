"""A class on a hub: fetch, answer, submit, collect, read, and feedback that only its owner gets."""

from __future__ import annotations

import json

import pytest
from school_hub import CHROMIUM, LEARNERS, UNIT, Hub, kernel_memory

from acidbase_lib.classroom.gradebook.read_gradebook import grades_table
from acidbase_lib.classroom.marking.own_notebook import mark_own_notebook
from acidbase_lib.classroom.notebooks.read_notebook import question_of
from acidbase_lib.teaching.questions.answer_text import write_chart

NOTEBOOK = f"{UNIT}/{UNIT}.ipynb"
HERE = {"course_id": "acidbase", "assignment_id": UNIT}


@pytest.fixture(scope="module")
def unit(hub: Hub):
    """The questions of the unit, by id."""
    return mark_own_notebook(hub.course / "course" / NOTEBOOK).exercises


@pytest.fixture(scope="module")
def handed_in(hub: Hub, unit, tmp_path_factory):
    """Both learners have fetched the unit, answered and submitted; the instructor gave feedback."""
    hub.instructor("nbgrader", "generate_assignment", UNIT, "--force", "--create")
    hub.instructor("nbgrader", "release_assignment", UNIT)
    for learner in LEARNERS:
        hub.start(learner)
        offered = hub.as_learner(learner, "GET", "/assignments?course_id=acidbase")
        assert [one["assignment_id"] for one in offered["value"]] == [UNIT]
        assert hub.as_learner(learner, "POST", "/assignments/fetch", data=HERE)["success"]
    click_right(hub, "anna", unit["q2-1"])
    type_right(hub, "ben", unit["q2-2"])
    for learner in LEARNERS:
        done = hub.as_learner(learner, "POST", "/assignments/submit", data=HERE)
        assert done["success"], done
    hub.instructor("nbgrader", "collect", UNIT)
    # The course's own settings make this the reading lane: nothing a learner wrote is run.
    hub.instructor("nbgrader", "autograde", UNIT)
    hub.instructor("nbgrader", "generate_feedback", UNIT)
    hub.instructor("nbgrader", "release_feedback", UNIT)


def click_right(hub: Hub, learner: str, exercise) -> None:
    """Answer one question right, by a click in a real browser, logged in at the hub's own page."""
    from notebooks import cell_source, form, open_notebook, run_all
    from playwright.sync_api import sync_playwright

    (asked,) = exercise.fields
    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=CHROMIUM,
                                             args=["--no-sandbox", "--disable-gpu"])
        page = browser.new_page()
        page.set_default_timeout(60_000)
        page.goto(f"{hub.url}/hub/login?next=/user/{learner}/lab")
        page.locator("#username_input").fill(learner)
        page.locator("#password_input").fill(hub.password)
        page.locator("#login_submit").click()
        page.wait_for_url(f"**/user/{learner}/lab**")
        open_notebook(page, f"{hub.url}/user/{learner}/lab/tree/{NOTEBOOK}?reset")
        run_all(page)
        shown = form(page, f"{exercise.id}-answer")
        shown.get_by_role("radio", name=exercise.key[asked.name], exact=True).check()
        shown.locator(".ab-chart-status").filter(has_text="Kept.").wait_for()
        assert cell_source(page, f"{exercise.id}-answer") == write_chart(
            exercise.id, exercise.fields, exercise.key)
        print(f"\nmemory of {learner}'s kernel: {kernel_memory(learner):.0f} MB")
        browser.close()


def type_right(hub: Hub, learner: str, exercise) -> None:
    """Answer one question right, in the text of its cell, by the server's own interface."""
    path = f"/api/contents/{NOTEBOOK}"
    model = hub.as_learner(learner, "GET", path)
    (cell,) = [one for one in model["content"]["cells"]
               if one["cell_type"] == "code" and question_of(one["source"]) == exercise.id]
    cell["source"] = write_chart(exercise.id, exercise.fields, exercise.key)
    hub.as_learner(learner, "PUT", path, data=json.dumps(
        {"type": "notebook", "format": "json", "content": model["content"]}))


def test_the_instructor_reads_what_each_one_answered(hub: Hub, handed_in, unit) -> None:
    rows = {row.learner: row for row in grades_table(hub.course, UNIT)}
    assert set(rows) == set(LEARNERS)
    assert (rows["anna"].state, rows["anna"].score) == ("marked", float(unit["q2-1"].points))
    assert (rows["ben"].state, rows["ben"].score) == ("marked", float(unit["q2-2"].points))


def test_each_learner_gets_feedback_and_only_their_own(hub: Hub, handed_in) -> None:
    found = {}
    for learner in LEARNERS:
        done = hub.as_learner(learner, "POST", "/assignments/fetch_feedback", data=HERE)
        assert done["success"], done
        pages = sorted((hub.homes / learner / UNIT / "feedback").rglob("*.html"))
        assert len(pages) == 1, pages
        found[learner] = pages[0].read_text(encoding="utf-8")
    assert found["anna"] != found["ben"]
    for learner, other in (LEARNERS, LEARNERS[::-1]):
        theirs = hub.course / "grading" / "feedback" / learner / UNIT / f"{UNIT}.html"
        assert found[learner] == theirs.read_text(encoding="utf-8")
        assert not list((hub.homes / learner).rglob(f"*{other}*"))


def test_a_learner_is_turned_away_from_another_learners_server(hub: Hub, handed_in) -> None:
    path = f"/user/ben/api/contents/{NOTEBOOK}"
    assert hub.ask("GET", path, hub.tokens["ben"]).ok
    assert hub.ask("GET", path, hub.tokens["anna"]).status_code in (403, 404)


def test_a_learner_is_shown_their_own_submission_only(hub: Hub, handed_in) -> None:
    for learner in LEARNERS:
        listed = hub.as_learner(learner, "GET", "/assignments?course_id=acidbase")["value"]
        mine = [one for one in listed if one["status"] == "submitted"]
        assert len(mine) == 1
        assert {one["student_id"] for one in mine} == {learner}
