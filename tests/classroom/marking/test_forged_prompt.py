"""A prompt rewritten with a fingerprint that fits gains nothing: told as a person's decision."""
from __future__ import annotations

from pathlib import Path

import pytest
import small_unit
from handing_in import RIGHT, HandIn, Notebook, answered, find

from acidbase_lib.classroom.gradebook.mark_class import mark_class
from acidbase_lib.classroom.notebooks.assignment import SourceCell, checksum
from acidbase_lib.classroom.report.class_pages import results_of, write_class_pages
from acidbase_lib.classroom.report.grade_file import grade_rows


def forge(notebook: Notebook, questions: list[str]) -> Notebook:
    """Other words in some prompts, each with the MD5 that nbgrader would give it."""
    for question in questions:
        cell, text = find(notebook, f"{question}-prompt"), "Another patient: pH 7.01."
        cell["source"] = text
        cell["metadata"]["nbgrader"]["checksum"] = checksum(
            SourceCell("markdown", "locked", text, text, f"{question}-prompt"), text)
    return notebook


@pytest.mark.parametrize("questions", [["q1-2"], list(RIGHT)], ids=["one", "all"])
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


def test_a_forged_prompt_of_a_question_left_blank_changes_nothing(course: Path, hand_in: HandIn,
                                                                  blank: Notebook) -> None:
    hand_in("ada", forge(blank, ["q1-2"]))
    assert [row.score for row in mark_class(course, "small").learners] == [0.0]
