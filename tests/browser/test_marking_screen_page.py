"""Written answers marked by keyboard alone, on a page as wide as a laptop's and a tablet's."""

from __future__ import annotations

import shutil
import tempfile
from dataclasses import replace
from functools import partial
from pathlib import Path

import pytest
import small_unit
from handing_in import REPOSITORY, RIGHT, answered, hand_in_to, make_course, released, small_source
from lone_widget import show_widgets
from notebooks import open_notebook
from playwright.sync_api import expect

from acidbase_lib.classroom.commands.main import main
from acidbase_lib.classroom.gradebook.course_folder import CourseFolder
from acidbase_lib.classroom.gradebook.mark_class import mark_class
from acidbase_lib.classroom.gradebook.read_gradebook import marks_by_hand
from acidbase_lib.classroom.notebooks.assignment import AssignmentSource
from acidbase_lib.classroom.report.by_hand.marking_screen import MarkingScreen
from acidbase_lib.classroom.report.by_hand.written_answers import written_answers

EXERCISES = {one.id: replace(one, ticks=("names the lungs", "names the cause"))
             for one in small_unit.EXERCISES}


@pytest.fixture
def folder(tmp_path: Path) -> CourseFolder:
    root = make_course(tmp_path / "school", "small", small_source())
    source = AssignmentSource.from_file(root / "solutions" / "small" / "small.ipynb", "small")
    hand_in = partial(hand_in_to, root)
    for learner in ("ada", "ben", "cy"):
        hand_in(learner, answered(released(source), RIGHT | {
            "q1-6": f"%%chart q1-6\nbecause: so says {learner[::-1]}, at some length"}))
    mark_class(root, "small")
    return CourseFolder.find(root)


@pytest.mark.parametrize("width", [1280, 820])
def test_by_keyboard_alone(folder, page, width, violations, shot):
    page.set_viewport_size({"width": width, "height": 900})
    screen = MarkingScreen(folder, "small", EXERCISES)
    show_widgets(page, screen)
    root = page.locator(".ab-mark")
    expect(root.get_by_role("heading")).to_contain_text("Question 1.6, Learner")
    assert violations(page, ".ab-mark") == []
    shot(page, f"marking-{width}")
    wide, room = root.evaluate("it => [it.scrollWidth, it.clientWidth]")
    assert wide <= room <= width
    small = root.locator(":is(button, select, textarea, summary, input[type=text])").evaluate_all(
        "all => all.filter(it => it.offsetParent && it.getBoundingClientRect().height < 44)"
        ".map(it => it.outerHTML)")
    assert small == []

    page.keyboard.press("Tab")  # the question
    page.keyboard.press("2")  # a digit ticks
    expect(page.get_by_label("2. names the cause")).to_be_checked()
    expect(page.get_by_label("Points")).to_have_value("1")
    while page.evaluate("document.activeElement.tagName") != "TEXTAREA":
        page.keyboard.press("Tab")
    page.keyboard.type("Say it in 1 line.")  # a digit in a comment is a digit
    expect(page.get_by_label("1. names the lungs")).not_to_be_checked()
    page.keyboard.press("Control+Enter")
    expect(root.get_by_role("status")).to_contain_text("Kept: Learner")
    expect(root).to_contain_text("Answer 2 of 3. 2 wait for you.")
    assert page.evaluate("document.activeElement.tagName") == "H2"  # read aloud from here

    page.keyboard.press("1")
    page.keyboard.press("2")
    expect(page.get_by_label("Points")).to_have_value("2")
    while page.evaluate("document.activeElement.textContent") != "Add it":
        page.keyboard.press("Tab")
    page.keyboard.press("Enter")  # a comment used before
    expect(page.get_by_label("Comment, as the learner reads it")).to_have_value("Say it in 1 line.")
    page.keyboard.press("Control+Enter")
    expect(root).to_contain_text("Answer 3 of 3. 1 wait for you.")
    page.keyboard.press("Control+Enter")
    expect(root.get_by_role("status")).to_contain_text("Nothing is kept yet")
    assert violations(page, ".ab-mark") == []
    assert [(one.points, one.comment.partition("\n")[0]) for one in
            written_answers(folder, "small", EXERCISES)] == [
        (1.0, "Say it in 1 line."), (2.0, "Say it in 1 line."), (None, "")]


def test_its_notebook_in_a_browser_keeps_what_is_marked_and_goes_on_after_a_reload(
        server, page):
    unit = "07_clinical_priority"
    root = Path(tempfile.mkdtemp(dir=server.root))
    for part in ("course", "solutions"):
        shutil.copytree(REPOSITORY / part / unit, root / part / unit)
    shutil.copy(REPOSITORY / "course" / "nbgrader_config.py", root / "course")
    for learner in ("n101", "n102"):
        hand_in_to(root, learner, (root / "solutions" / unit / f"{unit}.ipynb").read_bytes(), unit)
    mark_class(root, unit)
    assert main(["written", unit, "--course", str(root), "--screen", "--no-open"]) == 0

    def opened():
        open_notebook(page, server.notebook(f"{root.name}/grading/written-{unit}.ipynb"))
        page.locator(".jp-CodeCell .cm-content").first.click(timeout=60_000)
        page.keyboard.press("Shift+Enter")
        page.locator(".ab-mark h2").wait_for(timeout=60_000)

    opened()
    screen = page.locator(".ab-mark")
    expect(screen).to_contain_text("Answer 1 of 2. 2 wait for you.")
    screen.get_by_role("heading", level=2).focus()
    for key in ("1", "2", "4", "Control+Enter"):
        page.keyboard.press(key)
    expect(screen).to_contain_text("Answer 2 of 2. 1 wait for you.")
    assert sorted(given.get("q7-7-answer", 0.0) for given in
                  marks_by_hand(root, unit).values()) == [3.0]
    opened()
    expect(screen).to_contain_text("Answer 2 of 2. 1 wait for you.")
