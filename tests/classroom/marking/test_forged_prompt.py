"""A prompt rewritten with a fingerprint that fits gains nothing: told as a person's decision."""
from __future__ import annotations

import sqlite3
from contextlib import closing
from pathlib import Path

import pytest
import small_unit
from handing_in import RIGHT, HandIn, Notebook, answered, find

from acidbase_lib.classroom.gradebook.mark_class import mark_class
from acidbase_lib.classroom.notebooks.assignment import AssignmentSource, SourceCell, checksum
from acidbase_lib.classroom.notebooks.read_notebook import UnreadableNotebookError
from acidbase_lib.classroom.notebooks.repair import rebuild
from acidbase_lib.classroom.notebooks.waiting import none_waits
from acidbase_lib.classroom.report.class_pages import results_of, write_class_pages
from acidbase_lib.classroom.report.grade_file import grade_rows

pytestmark = pytest.mark.slow


def forge(notebook: Notebook, questions: list[str]) -> Notebook:
    """Other words in some prompts, each with the MD5 that nbgrader would give it."""
    for question in questions:
        cell, text = find(notebook, f"{question}-prompt"), "Another patient: pH 7.01."
        cell["source"] = text
        cell["metadata"]["nbgrader"]["checksum"] = checksum(
            SourceCell("markdown", "locked", text, text, f"{question}-prompt"), text)
    return notebook


@pytest.mark.parametrize("questions", [["q1-1", "q1-2", "q1-3"], list(RIGHT)],
                         ids=["half", "all"])
def test_it_is_no_mark_and_no_excuse(questions: list[str], course: Path, hand_in: HandIn,
                                     blank: Notebook, tmp_path: Path) -> None:
    hand_in("ada", forge(answered(blank, {"q1-2": "%%chart q1-2\nanswer: A"}), questions))
    mark_class(course, "small")
    (result,) = results_of(course, "small", {"ada": "Ada Quill"})
    assert (result.state, result.score) == ("not marked", None)
    assert result.why.startswith("A person must decide: ")
    assert f"{len(RIGHT) - len(questions)} of {len(RIGHT)} questions are as you" in result.why
    assert "as if nothing had been handed in" in result.why
    assert grade_rows([result])[0][1::2] == ("", "not marked, a person must decide")
    pages = write_class_pages(tmp_path / "out", [result], small_unit.open_small_unit(),
                              release_keys=False)
    page = (pages.feedback / "ada.html").read_text("utf-8")
    for text in (page, pages.page.read_text("utf-8")):
        assert "othing counts against" not in text
    assert "Your instructor decides" in page
    assert "your key" not in page
    assert pages.report.words[0].why == "Handed in other questions than those you released."


def test_one_changed_question_alone_waits_and_the_others_are_marked(
        course: Path, hand_in: HandIn, blank: Notebook, tmp_path: Path) -> None:
    hand_in("ada", forge(answered(blank, RIGHT), ["q1-2"]))
    (row,) = mark_class(course, "small").learners
    marks = {mark.question: mark for mark in row.marks}
    assert (row.state, row.score) == ("marked after repair", 9.0)  # of 10 that a rule can give
    assert set(row.waiting) == {"q1-2-check", "q1-6-answer"}
    assert marks["q1-2"].state == "waits for the instructor"
    assert all(part.key is None and not part.suggests for part in marks["q1-2"].parts)
    assert [one.sentence for one in row.repairs if one.cell == "q1-2-answer"] == [
        "Question 1.2 is not the one that was released: an older version, another form, or a "
        "rewritten prompt. The key does not fit its answer, so this question waits for a person."]
    (result,) = results_of(course, "small", {"ada": "Ada Quill"})
    assert (result.state, result.score) == ("marked after repair", 9.0)
    assert set(result.waiting) == {"q1-2", "q1-6"}
    pages = write_class_pages(tmp_path / "out", [result], small_unit.open_small_unit(),
                              release_keys=True)
    page = (pages.feedback / "ada.html").read_text("utf-8")
    assert "Question 1.2: waits for your instructor" in " ".join(page.split())
    assert "q1-2" not in [question.question for question in pages.report.questions]


def test_a_person_gives_the_points_of_a_question_that_waits_and_they_stay(
        course: Path, hand_in: HandIn, blank: Notebook) -> None:
    hand_in("ada", forge(answered(blank, RIGHT), ["q1-2"]))
    mark_class(course, "small")
    with closing(sqlite3.connect(course / "grading" / "gradebook.db")) as book, book:
        book.execute("UPDATE grade SET manual_score = 1, needs_manual_grade = 0 WHERE cell_id = "
                     "(SELECT id FROM base_cell WHERE name = 'q1-2-check' AND type = 'GradeCell')")
    mark_class(course, "small")
    (result,) = results_of(course, "small", {"ada": "Ada Quill"})
    assert result.score == 10.0
    assert result.waiting == ("q1-6",)


def test_the_other_lane_gives_no_points_where_a_question_waits(
        course: Path, blank: Notebook, source: AssignmentSource) -> None:
    rebuilt = rebuild(forge(answered(blank, RIGHT), ["q1-2"]), source)
    with pytest.raises(UnreadableNotebookError, match="q1-2 asks something else"):
        none_waits(rebuilt, source)
    whole = rebuild(answered(blank, RIGHT), source)
    assert none_waits(whole, source) is whole


def test_a_forged_prompt_of_a_question_left_blank_changes_nothing(course: Path, hand_in: HandIn,
                                                                  blank: Notebook) -> None:
    hand_in("ada", forge(blank, ["q1-2"]))
    assert [row.score for row in mark_class(course, "small").learners] == [0.0]
