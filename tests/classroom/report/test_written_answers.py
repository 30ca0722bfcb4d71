"""Written answers marked in a table: all of it is kept or none, and nothing of anyone is lost."""
from __future__ import annotations

import csv
import io
from collections.abc import Mapping
from dataclasses import replace
from pathlib import Path

import pytest
import small_unit
from handing_in import RIGHT, HandIn, Notebook, answered
from stopping import stopped

from acidbase_lib.classroom.gradebook.by_hand.give_marks import HandMark, give_marks
from acidbase_lib.classroom.gradebook.course_folder import CourseFolder
from acidbase_lib.classroom.gradebook.gradebook_error import GradebookError
from acidbase_lib.classroom.gradebook.mark_class import mark_class
from acidbase_lib.classroom.gradebook.safekeeping.history import BY_HAND
from acidbase_lib.classroom.gradebook.safekeeping.receipts import history_of
from acidbase_lib.classroom.report.by_hand.written_answers import (
    WrittenAnswer,
    WrittenAnswersError,
    read_answers,
    write_answers,
    written_answers,
)
from acidbase_lib.classroom.report.class_pages import results_of

pytestmark = pytest.mark.slow

TEXTS = {"ada": "the lungs hold carbon dioxide back", "ben": "=1+1; it fails", "cy": ""}
EXERCISES = {one.id: replace(one, ticks=("names the **lungs**", "names the cause"))
             for one in small_unit.EXERCISES}


@pytest.fixture
def marked(course: Path, hand_in: HandIn, blank: Notebook) -> Path:
    """Ada and Ben wrote something, Cy nothing."""
    for learner, text in TEXTS.items():
        hand_in(learner, answered(blank, RIGHT | {"q1-6": f"%%chart q1-6\nbecause: {text}"}
                                  if text else {}))
    mark_class(course, "small")
    return course


def answers(course: Path) -> tuple[WrittenAnswer, ...]:
    return written_answers(CourseFolder.find(course), "small", EXERCISES)


def filled(course: Path, path: Path, fill: Mapping[str, Mapping[str, str]],
           delimiter: str = ",") -> Path:
    """The table as a person fills it in: learner to what is written into which column."""
    out = path.with_name(path.name + ".out.csv")
    write_answers(out, answers(course))
    rows = list(csv.DictReader(io.StringIO(out.read_text("utf-8-sig"), newline="")))
    whose = {one.row: one.learner for one in answers(course)}
    with path.open("w", encoding="utf-8", newline="") as file:
        table = csv.DictWriter(file, list(rows[0]), delimiter=delimiter)
        table.writeheader()
        for row in rows:
            table.writerow(row | dict(fill.get(whose[row["row"]], {})))
    out.unlink()
    return path


def take(course: Path, path: Path) -> tuple[int, int, int]:
    taken = read_answers(path, answers(course))
    if taken.marks:
        give_marks(CourseFolder.find(course), "small", taken.marks, "acidbase written")
    return taken.points, taken.comments, taken.left


def given(course: Path) -> dict[str, tuple[float | None, str]]:
    return {one.learner: (one.points, one.comment) for one in answers(course)}


def test_the_table_hides_names_and_shows_what_is_to_be_looked_for(marked: Path,
                                                                 tmp_path: Path) -> None:
    path = write_answers(tmp_path / "a.csv", answers(marked))
    text = path.read_text("utf-8-sig")
    assert "ada" not in text
    assert "ben" not in text
    rows = {row["answer"]: row for row in csv.DictReader(io.StringIO(text, newline=""))}
    assert set(rows) == {TEXTS["ada"], "'=1+1; it fails"}  # no formula; who wrote nothing is out
    row = rows[TEXTS["ada"]]
    assert row["look for"] == "1. names the lungs\n2. names the cause"
    assert (row["question"], row["points"], row["most"]) == ("1.6", "", "2")
    with pytest.raises(WrittenAnswersError, match="is there already"):
        write_answers(path, answers(marked))


@pytest.mark.parametrize("delimiter", [",", ";", "\t"])
def test_points_and_comments_reach_nbgraders_own_gradebook(delimiter: str, marked: Path,
                                                          tmp_path: Path) -> None:
    from nbgrader.api import Gradebook

    path = filled(marked, tmp_path / "a.csv", {
        "ada": {"points": "1,5", "comment": "Say more.\nWhich gas?"}, "ben": {"points": "0"}},
        delimiter)
    assert take(marked, path) == (2, 1, 0)
    with Gradebook(CourseFolder.find(marked).db_url) as book:
        for learner, points in (("ada", 1.5), ("ben", 0.0)):
            grade = book.find_grade("q1-6-answer", "small", "small", learner)
            assert (grade.manual_score, grade.needs_manual_grade) == (points, False)
        assert book.find_comment("q1-6-answer", "small", "small", "ada").comment == \
            "Say more.\nWhich gas?"
        assert not book.submission_dicts("small")[0]["needs_manual_grade"]
    mark_class(marked, "small")
    (ada, *_) = results_of(marked, "small", {})
    assert (ada.score, ada.waiting, ada.comments) == (11.5, (), {"q1-6": "Say more.\nWhich gas?"})


def test_the_history_tells_by_whom_and_with_what(marked: Path, tmp_path: Path) -> None:
    import getpass

    take(marked, filled(marked, tmp_path / "a.csv", {"ada": {"points": "2"}}))
    (line,) = [one for one in history_of(CourseFolder.find(marked)).each() if one.what == BY_HAND]
    assert line.details
    assert line.details["by"] == f"{getpass.getuser()}, with acidbase written"
    assert (line.details["learner"], line.details["from"], line.details["to"]) == ("ada", None, 2.0)


def test_ticks_give_the_points_and_tell_the_learner_what_was_found(marked: Path,
                                                                  tmp_path: Path) -> None:
    path = filled(marked, tmp_path / "a.csv", {"ada": {"ticks": "1", "comment": "Nearly."},
                                               "ben": {"ticks": "0"}})
    assert take(marked, path) == (2, 2, 0)
    assert given(marked) == {
        "ada": (1.0, "Nearly.\nFound in your answer: names the lungs.\nNot found: names the "
                     "cause."),
        "ben": (0.0, "Not found: names the lungs; names the cause.")}
    assert take(marked, path) == (0, 0, 2)  # taking it again changes nothing
    again = filled(marked, tmp_path / "b.csv", {"ada": {"ticks": "1 2"}})
    assert take(marked, again) == (1, 1, 1)
    assert given(marked)["ada"] == (2.0, "Nearly.\nFound in your answer: names the lungs; names "
                                         "the cause.")


@pytest.mark.parametrize(("fill", "why"), [
    ({"points": "many"}, "'many' is no number of points; write one from 0 to 2"),
    ({"points": "-1"}, "'-1' is no number of points"),
    ({"points": "nan"}, "'nan' is no number of points"),
    ({"points": "3"}, "3 points are more than the 2 that question 1.6 can earn"),
    ({"ticks": "1 5"}, "are not numbers of its list, 1 to 2, or 0 for none of them"),
    ({"comment": "x" * 4001}, "the comment has 4,001 letters"),
    ({"row": "a123"}, "there is no such answer now"),
])
def test_one_row_that_cannot_be_taken_keeps_all_others_out_and_is_named(
        fill: dict[str, str], why: str, marked: Path, tmp_path: Path) -> None:
    path = filled(marked, tmp_path / "a.csv", {"ada": {"points": "2"}, "ben": fill})
    with pytest.raises(WrittenAnswersError, match="nothing of it was kept") as error:
        take(marked, path)
    assert why in str(error.value)
    assert "row " in str(error.value)
    assert given(marked) == {"ada": (None, ""), "ben": (None, "")}


def test_marks_for_an_answer_that_was_handed_in_anew_find_no_place(
        marked: Path, hand_in: HandIn, blank: Notebook, tmp_path: Path) -> None:
    path = filled(marked, tmp_path / "a.csv", {"ada": {"points": "2"}})
    hand_in("ada", answered(blank, RIGHT | {"q1-6": "%%chart q1-6\nbecause: something else"}))
    mark_class(marked, "small")
    with pytest.raises(WrittenAnswersError, match="it was handed in anew"):
        take(marked, path)


def test_an_answer_marked_before_and_handed_in_anew_is_asked_for_again(
        marked: Path, hand_in: HandIn, blank: Notebook, tmp_path: Path) -> None:
    take(marked, filled(marked, tmp_path / "a.csv", {"ada": {"points": "2"}}))
    hand_in("ada", answered(blank, RIGHT | {"q1-6": "%%chart q1-6\nbecause: something else"}))
    mark_class(marked, "small")
    (ada,) = [one for one in answers(marked) if one.learner == "ada"]
    assert (ada.waits, ada.points) == (True, 2.0)
    assert take(marked, filled(marked, tmp_path / "b.csv", {})) == (0, 0, 2)  # left empty: it waits
    assert take(marked, filled(marked, tmp_path / "c.csv", {"ada": {"points": "2"}})) == (1, 0, 1)
    (ada,) = [one for one in answers(marked) if one.learner == "ada"]
    assert (ada.waits, ada.points) == (False, 2.0)


def test_what_somebody_gave_meanwhile_is_never_written_over(marked: Path, tmp_path: Path) -> None:
    folder = CourseFolder.find(marked)
    path = filled(marked, tmp_path / "a.csv", {"ada": {"points": "1"},
                                               "ben": {"comment": "Mine."}})
    give_marks(folder, "small", [HandMark("ada", "q1-6-answer", 2.0, "Theirs."),
                                 HandMark("ben", "q1-6-answer", None, "Theirs.")], "another")
    with pytest.raises(WrittenAnswersError, match="has given 2 points for it meanwhile") as error:
        take(marked, path)
    assert "has written another comment meanwhile" in str(error.value)
    unfilled = filled(marked, tmp_path / "b.csv", {})
    give_marks(folder, "small", [HandMark("ada", "q1-6-answer", 0.5, "Newer.")], "another")
    assert take(marked, unfilled) == (0, 0, 2)
    assert given(marked)["ada"] == (0.5, "Newer.")


def test_a_file_that_is_no_such_table_is_a_sentence(marked: Path, tmp_path: Path) -> None:
    path = tmp_path / "a.csv"
    for data in (b"", b"id,score\n1,2\n", b"PK\x03\x04 a spreadsheet"):
        path.write_bytes(data)
        with pytest.raises(WrittenAnswersError, match=r"lacks the column 'row'. Save it as CSV"):
            take(marked, path)
    with pytest.raises(WrittenAnswersError, match="cannot be read"):
        take(marked, tmp_path / "none.csv")


def test_what_the_gradebook_does_not_know_is_refused_and_nothing_is_kept(marked: Path) -> None:
    with pytest.raises(GradebookError, match="does not know the answer of 'zoe'"):
        give_marks(CourseFolder.find(marked), "small", [
            HandMark("ada", "q1-6-answer", 2.0), HandMark("zoe", "q1-6-answer", 2.0)], "a test")
    assert given(marked)["ada"] == (None, "")


@pytest.mark.slow
def test_stopped_in_the_middle_all_marks_are_kept_or_none(marked: Path, tmp_path: Path) -> None:
    import shutil

    marks = [HandMark("ada", "q1-6-answer", 2.0, "Good."), HandMark("ben", "q1-6-answer", 1.0)]
    before, after = {"ada": (None, ""), "ben": (None, "")}, {"ada": (2.0, "Good."),
                                                              "ben": (1.0, "")}
    seen = set()
    for at in range(1, 200):
        course = Path(shutil.copytree(marked, tmp_path / "now"))
        folder = CourseFolder.find(course)
        said = stopped(lambda folder=folder: give_marks(folder, "small", marks, "a test"),
                       course, at, sql=True)
        now = given(course)
        assert now in (before, after)
        seen.add(now == after)
        shutil.rmtree(course)
        if said:
            break
    assert seen == {True, False}
