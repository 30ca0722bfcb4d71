"""Written answers: who waits is told everywhere, and a person's marks reach every page."""
from __future__ import annotations

from pathlib import Path

import pytest
import small_unit
from handing_in import RIGHT, HandIn, Notebook, answered

from acidbase_lib.classroom.gradebook.course_folder import CourseFolder
from acidbase_lib.classroom.gradebook.mark_class import mark_class
from acidbase_lib.classroom.report.class_pages import results_of, write_class_pages
from acidbase_lib.classroom.report.grade_file import grade_rows

pytestmark = pytest.mark.slow

NAMES = {"ada": "Ada Quill", "ben": "Ben Moss", "eve": "Eve Pike"}


@pytest.fixture
def waiting(course: Path, hand_in: HandIn, right: Notebook, blank: Notebook) -> Path:
    """Ada wrote a rationale, Ben left everything out, Eve handed in nothing."""
    hand_in("ada", right)
    hand_in("ben", blank)
    mark_class(course, "small")
    return course


def give(course: Path, points: float) -> None:
    """What formgrader does when the instructor marks an answer."""
    from nbgrader.api import Gradebook

    with Gradebook(CourseFolder.find(course).db_url) as book:
        grade = book.find_grade("q1-6-answer", "small", "small", "ada")
        grade.manual_score, grade.needs_manual_grade = points, False
        book.db.commit()


def comment(course: Path, cell: str, text: str) -> None:
    """What formgrader does when the instructor types a comment beside Ada's answer."""
    from nbgrader.api import Gradebook

    with Gradebook(CourseFolder.find(course).db_url) as book:
        book.find_comment(cell, "small", "small", "ada").manual_comment = text
        book.db.commit()


def pages(course: Path, out: Path) -> tuple[str, str]:
    """Ada's feedback page and the report."""
    unit = small_unit.open_small_unit()
    made = write_class_pages(out, results_of(course, "small", NAMES), unit, release_keys=True)
    return (made.feedback / "ada.html").read_text(), made.page.read_text()


def test_formgrader_is_offered_the_learners_text(waiting: Path) -> None:
    """nbgrader's own list of what to mark by hand, and the notebook that it shows."""
    from nbgrader.api import Gradebook

    with Gradebook(CourseFolder.find(waiting).db_url) as book:
        waits = {row["student"]: row["needs_manual_grade"]
                 for row in book.notebook_submission_dicts("small", "small")}
    assert waits == {"ada": True, "ben": False}
    shown = waiting / "grading/autograded/ada/small/small.ipynb"
    assert "the lungs hold carbon dioxide back" in shown.read_text()


def test_the_grade_file_the_page_and_the_report_say_who_waits(waiting: Path,
                                                             tmp_path: Path) -> None:
    results = results_of(waiting, "small", NAMES)
    assert [row[:2] + row[3:] for row in grade_rows(results)] == [
        ("ada", "10", "marked, 1 waiting"), ("ben", "0", "marked"), ("eve", "", "not handed in")]
    assert results[0].waiting == ("q1-6",)
    page, report = pages(waiting, tmp_path / "out")
    assert "waits for your instructor" in page
    assert "Ada Quill" in report.partition("Waiting for you")[2]


def test_a_mark_by_hand_reaches_the_grade_file_and_the_page(waiting: Path,
                                                            tmp_path: Path) -> None:
    give(waiting, 1.5)
    mark_class(waiting, "small")  # marking again must not take it away
    (ada, *_) = results_of(waiting, "small", NAMES)
    assert (ada.score, ada.waiting) == (11.5, ())
    assert next(mark.points for mark in ada.marks if mark.question == "q1-6") == 1.5
    assert grade_rows([ada])[0][3] == "marked"
    page, _ = pages(waiting, tmp_path / "out")
    assert "waits for your instructor" not in page
    assert "partly right" in page


def test_after_another_text_the_mark_stays_and_the_answer_waits_again(
        waiting: Path, hand_in: HandIn, blank: Notebook) -> None:
    from acidbase_lib.classroom.gradebook.read_gradebook import grades_table

    give(waiting, 1.5)
    hand_in("ada", answered(blank, RIGHT | {"q1-6": "%%chart q1-6\nbecause: something else"}))
    mark_class(waiting, "small")
    (ada, _) = grades_table(waiting, "small")
    assert (ada.score, ada.waiting) == (11.5, 1)


@pytest.mark.parametrize("now", ["%%chart q1-6\nbecause:", "%%chart q1-6\nbecause: another"],
                         ids=["emptied", "another text"])
def test_an_answer_marked_before_and_handed_in_anew_is_shown_as_waiting_everywhere(
        now: str, waiting: Path, hand_in: HandIn, blank: Notebook, tmp_path: Path) -> None:
    give(waiting, 2.0)
    hand_in("ada", answered(blank, RIGHT | {"q1-6": now}))
    mark_class(waiting, "small")
    (ada, *_) = results_of(waiting, "small", NAMES)
    assert ada.waiting == ("q1-6",)
    assert grade_rows([ada])[0][3] == "marked, 1 waiting"
    page, report = pages(waiting, tmp_path / "out")
    assert "waits for your instructor" in page
    assert "Ada Quill" in report.partition("Waiting for you")[2]


def test_a_check_that_a_person_overruled_waits_too_when_its_answer_changes(
        waiting: Path, hand_in: HandIn, blank: Notebook) -> None:
    from nbgrader.api import Gradebook

    with Gradebook(CourseFolder.find(waiting).db_url) as book:
        grade = book.find_grade("q1-5-check", "small", "small", "ada")
        grade.manual_score, grade.needs_manual_grade = 1.0, False
        book.db.commit()
    hand_in("ada", answered(blank, RIGHT | {"q1-5": "%%chart q1-5\nexpected PaCO2: 90"}))
    mark_class(waiting, "small")
    (ada, *_) = results_of(waiting, "small", NAMES)
    assert "q1-5" in ada.waiting


def test_a_comment_typed_while_marking_reaches_the_page_and_the_grade_file(
        waiting: Path, tmp_path: Path) -> None:
    comment(waiting, "q1-6-answer", "Good: the cause.\nName the <ventilation> too.")
    comment(waiting, "q1-1-answer", "  Neat work.  ")
    give(waiting, 1.5)
    mark_class(waiting, "small")  # marking again must not take them away
    page, _ = pages(waiting, tmp_path / "out")
    assert "<p><strong>Your instructor writes:</strong></p>\n<p>Good: the cause.</p>\n" \
        "<p>Name the &lt;ventilation&gt; too.</p>" in page
    assert "<p>Neat work.</p>" in page
    (heading, ada, ben, _) = (tmp_path / "out" / "grades.csv").read_text().splitlines()
    assert heading == "id,score,maximum,state,comments"
    assert ada == "ada,11.5,12,marked,1.1: Neat work.; 1.6: Good: the cause. Name the " \
        "<ventilation> too."
    assert ben == "ben,0,12,marked,"


def test_a_comment_is_no_formula_in_a_spreadsheet(waiting: Path, tmp_path: Path) -> None:
    comment(waiting, "q1-6-answer", "=1+1")
    comment(waiting, "q1-1-answer", "fine;=2+2")
    _, _ = pages(waiting, tmp_path / "out")
    assert "1.1: fine;'=2+2; 1.6: =1+1" in (tmp_path / "out" / "grades.csv").read_text()


def test_some_of_the_points_by_hand_read_as_partly_right_and_never_as_not_right(
        waiting: Path, tmp_path: Path) -> None:
    give(waiting, 1.5)
    page, _ = pages(waiting, tmp_path / "out")
    asked = page.partition('id="q1-6"')[2].partition("</section>")[0]
    assert "partly right <span>1.5 of 2 points</span>" in asked
    assert "not right" not in asked.casefold()
    assert "Your instructor gave these points." in asked
    assert "Your instructor gave these points." not in page.replace(asked, "")


def test_a_comment_on_another_text_says_that_it_is_of_an_earlier_answer(
        waiting: Path, hand_in: HandIn, blank: Notebook, tmp_path: Path) -> None:
    comment(waiting, "q1-6-answer", "Say why.")
    give(waiting, 1.0)
    hand_in("ada", answered(blank, RIGHT | {"q1-6": "%%chart q1-6\nbecause: another"}))
    mark_class(waiting, "small")
    page, _ = pages(waiting, tmp_path / "out")
    assert "waits for your instructor" in page
    assert "Your instructor wrote, of an earlier answer:" in page
    assert "<p>Say why.</p>" in page


def test_the_text_of_the_feedback_has_the_comment_too(waiting: Path) -> None:
    from acidbase_lib.classroom.report.feedback import feedback_of
    from acidbase_lib.classroom.report.feedback_text import feedback_text

    comment(waiting, "q1-6-answer", "Say why.")
    give(waiting, 1.0)
    (ada, *_) = results_of(waiting, "small", NAMES)
    told = feedback_text(feedback_of(ada, small_unit.open_small_unit().exercises, {}, title="S"))
    assert "Your instructor writes: Say why." in told
    assert "because: you answered the lungs hold carbon dioxide back\n" in told
