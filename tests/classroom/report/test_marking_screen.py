"""The marking screen keeps each answer as it is left, by the path of marks by hand."""
from __future__ import annotations

import json
from dataclasses import replace
from pathlib import Path

import nbformat
import pytest
import small_unit
from handing_in import RIGHT, HandIn, Notebook, answered

from acidbase_lib.classroom.gradebook.by_hand.give_marks import HandMark, give_marks
from acidbase_lib.classroom.gradebook.course_folder import CourseFolder
from acidbase_lib.classroom.gradebook.mark_class import mark_class
from acidbase_lib.classroom.report.by_hand.marking_screen import MarkingScreen, screen_notebook
from acidbase_lib.classroom.report.by_hand.written_answers import (
    WrittenAnswersError,
    written_answers,
)

pytestmark = pytest.mark.slow

EXERCISES = {one.id: replace(one, ticks=("names the **lungs**", "names the cause"))
             for one in small_unit.EXERCISES}
LEARNERS = ("ada", "ben", "cy")


@pytest.fixture
def marked(course: Path, hand_in: HandIn, blank: Notebook) -> CourseFolder:
    for learner in LEARNERS:
        hand_in(learner, answered(blank, RIGHT | {
            "q1-6": f"%%chart q1-6\nbecause: this is what number {LEARNERS.index(learner)} says"}))
    mark_class(course, "small")
    return CourseFolder.find(course)


@pytest.fixture
def screen(marked: CourseFolder) -> MarkingScreen:
    return MarkingScreen(marked, "small", EXERCISES)


def press(screen: MarkingScreen, kind: str, **more: object) -> dict[str, object]:
    """What the page sends when something is pressed, and what it is shown then."""
    press.count = getattr(press, "count", 0) + 1  # type: ignore[attr-defined]
    screen.wish = {"kind": kind, "n": press.count, **more}  # type: ignore[attr-defined]
    return dict(screen.shown)


def keep(screen: MarkingScreen, **given: str) -> dict[str, object]:
    told = screen.shown
    return press(screen, "keep", row=told["row"], **{
        "ticks": "", "points": told["points"], "comment": told["comment"],
        "points so far": told["points so far"], "comment so far": told["comment so far"]} | given)


def given(marked: CourseFolder) -> list[tuple[float | None, str]]:
    return [(one.points, one.comment) for one in written_answers(marked, "small", EXERCISES)]


def test_no_name_and_no_id_is_on_the_screen(screen: MarkingScreen) -> None:
    told = json.dumps(dict(screen.shown))
    assert not any(f'"{learner}"' in told for learner in LEARNERS)
    assert screen.shown["ticks"] == ["names the lungs", "names the cause"]
    assert screen.shown["place"] == "Answer 1 of 3. 3 wait for you."


def test_each_answer_is_kept_as_it_is_left_and_the_next_that_waits_is_shown(
        marked: CourseFolder, screen: MarkingScreen) -> None:
    first = screen.shown["row"]
    told = keep(screen, ticks="1", comment="Nearly.")
    assert str(told["said"]).startswith("Kept: Learner 0")
    assert told["row"] != first
    assert told["place"] == "Answer 2 of 3. 2 wait for you."
    assert given(marked)[0] == (1.0, "Nearly.\nFound in your answer: names the lungs.\nNot found: "
                                     "names the cause.")
    assert told["used"] == ["Nearly."]  # to be used again
    again = MarkingScreen(marked, "small", EXERCISES)  # after a stop
    assert again.shown["row"] == told["row"]


def test_going_back_shows_what_was_given_and_keeping_it_changes_nothing(
        marked: CourseFolder, screen: MarkingScreen) -> None:
    keep(screen, ticks="1", comment="Nearly.")
    before = given(marked)
    told = press(screen, "go", by=-1)
    assert (told["ticked"], told["points"], told["comment"]) == ([1], "1", "Nearly.")
    assert str(keep(screen)["said"]).startswith("Nothing new to keep")
    assert given(marked) == before
    press(screen, "go", by=-5)
    keep(screen, points="1.5")  # what was ticked stays told
    assert given(marked)[0] == (1.5, before[0][1])
    press(screen, "go", by=-5)
    keep(screen, comment="")
    assert given(marked)[0][1].startswith("Found in your answer")


def test_nothing_ticked_and_nothing_written_gives_no_zero(marked: CourseFolder,
                                                          screen: MarkingScreen) -> None:
    here = screen.shown["row"]
    told = keep(screen)
    assert told["said"] == \
        "Nothing is kept yet: tick what you find, or write the points, 0 for none."
    assert told["row"] == here
    assert given(marked)[0] == (None, "")
    keep(screen, points="0")
    assert given(marked)[0] == (0.0, "")


def test_what_cannot_be_kept_is_said_and_the_answer_stays(marked: CourseFolder,
                                                          screen: MarkingScreen) -> None:
    here = screen.shown["row"]
    assert "3 points are more than the 2" in str(keep(screen, points="3")["said"])
    one = written_answers(marked, "small", EXERCISES)[0]
    give_marks(marked, "small", [HandMark(one.learner, one.cell, 0.5)], "another")
    told = keep(screen, points="1")
    assert "somebody has given 0.5 points for it meanwhile" in str(told["said"])
    assert told["row"] == here
    assert given(marked)[0][0] == 0.5


def test_an_answer_handed_in_anew_while_it_is_shown_is_not_marked(
        marked: CourseFolder, screen: MarkingScreen, hand_in: HandIn, blank: Notebook) -> None:
    (one, *_) = written_answers(marked, "small", EXERCISES)
    hand_in(one.learner, answered(blank, RIGHT | {"q1-6": "%%chart q1-6\nbecause: another"}))
    mark_class(marked, "small")
    assert "handed in anew meanwhile" in str(keep(screen, points="1")["said"])
    assert all(points is None for points, _ in given(marked))


def test_a_unit_without_written_answers_says_so(course: Path) -> None:
    with pytest.raises(WrittenAnswersError, match="holds no written answers to mark"):
        MarkingScreen(CourseFolder.find(course), "small", EXERCISES)


def test_its_notebook_is_one_and_does_not_start_by_itself() -> None:
    made = nbformat.from_dict(screen_notebook("07_clinical_priority"))
    nbformat.validate(made)
    assert 'open_marking("07_clinical_priority", "..")' in made.cells[1].source
