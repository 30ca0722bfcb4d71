"""Marks in nbgrader's gradebook: kept once, a person's marks never lost, states never confused."""
from __future__ import annotations

import os
import re
import shutil
import sqlite3
from contextlib import closing
from pathlib import Path

import pytest
import sqlalchemy as sa
from handing_in import RIGHT, HandIn, Notebook, answered, find

from acidbase_lib.classroom.gradebook.course_folder import CourseFolder, CourseFolderError
from acidbase_lib.classroom.gradebook.mark_class import mark_class
from acidbase_lib.classroom.gradebook.read_gradebook import GradebookError, grades_table, read_marks
from acidbase_lib.classroom.notebooks.assignment import AssignmentSource, SourceError, checksum


def run(course: Path, sql: str, parameters: tuple[object, ...] = ()) -> list[tuple[object, ...]]:
    with closing(sqlite3.connect(course / "grading" / "gradebook.db")) as connection, connection:
        return connection.execute(sql, parameters).fetchall()


def give_by_hand(course: Path, learner: str, cell: str, points: float) -> None:
    """What formgrader does when the instructor marks an answer."""
    from nbgrader.api import Gradebook

    with Gradebook(CourseFolder.find(course).db_url) as book:
        grade = book.find_grade(cell, "small", "small", learner)
        grade.manual_score, grade.needs_manual_grade = points, False
        book.find_comment("q1-6-answer", "small", "small", learner).manual_comment = "Good."
        book.db.commit()


def test_nbgraders_own_api_reads_the_marks(course: Path, hand_in: HandIn, right: Notebook) -> None:
    from nbgrader.api import Gradebook

    hand_in("ada", right)
    mark_class(course, "small")
    with Gradebook(CourseFolder.find(course).db_url) as book:
        handed_in = book.find_submission("small", "ada")
        assert (handed_in.score, handed_in.max_score) == (10.0, 12.0)
        assert handed_in.needs_manual_grade
        grades = {grade.name: grade.auto_score for grade in handed_in.notebooks[0].grades}
    assert grades == {"q1-1-check": 3.0, "q1-2-check": 1.0, "q1-3-check": 2.0, "q1-4-check": 3.0,
                      "q1-5-check": 1.0, "q1-6-answer": None}


@pytest.mark.slow
def test_a_mark_given_by_hand_stays_and_is_not_asked_for_again(course: Path, hand_in: HandIn,
                                                               right: Notebook) -> None:
    hand_in("ada", right)
    mark_class(course, "small")
    give_by_hand(course, "ada", "q1-6-answer", 1.5)
    mark_class(course, "small")
    (row,) = grades_table(course, "small")
    assert (row.score, row.waiting) == (11.5, 0)
    assert run(course, "select manual_comment from comment where manual_comment is not null") == [
        ("Good.",)]


def test_after_a_new_file_the_mark_by_hand_stays_and_is_flagged(
        course: Path, hand_in: HandIn, right: Notebook, blank: Notebook) -> None:
    hand_in("ada", right)
    mark_class(course, "small")
    give_by_hand(course, "ada", "q1-6-answer", 1.5)
    hand_in("ada", answered(blank, RIGHT | {"q1-6": "%%chart q1-6\nbecause: I changed my mind"}))
    mark_class(course, "small")
    (row,) = grades_table(course, "small")
    assert (row.score, row.waiting) == (11.5, 1)


def test_marking_twice_doubles_no_row(course: Path, hand_in: HandIn, right: Notebook) -> None:
    hand_in("ada", right)
    hand_in("ben", right)
    tables = ("student", "submitted_assignment", "submitted_notebook", "grade", "comment",
              "acidbase_marking")
    mark_class(course, "small")
    once = [run(course, f"select count(*) from {table}") for table in tables]
    mark_class(course, "small")
    assert [run(course, f"select count(*) from {table}") for table in tables] == once
    assert once[0] == [(2,)]
    assert once[3] == [(12,)]


def test_no_learner_costs_a_look_at_all_the_others(course: Path, hand_in: HandIn,
                                                   right: Notebook) -> None:
    """A statement that scans a table of the class makes a large class dear: SQLite tells which."""
    hand_in("ada", right)
    mark_class(course, "small")
    said: list[tuple[str, tuple[object, ...]]] = []

    def listen(_connection, _cursor, statement, parameters, *_more) -> None:
        rows = parameters if isinstance(parameters, list) else [parameters]
        said.extend((statement, tuple(row)) for row in rows[:1])

    sa.event.listen(sa.Engine, "before_cursor_execute", listen)
    try:
        mark_class(course, "small")
    finally:
        sa.event.remove(sa.Engine, "before_cursor_execute", listen)
    plans = {statement: "; ".join(str(row[3]) for row in run(
        course, f"explain query plan {statement}", parameters))
        for statement, parameters in said if statement.startswith(("SELECT", "UPDATE", "DELETE"))}
    assert any("USING INDEX" in plan for plan in plans.values())
    whole = [plan for plan in plans.values() if re.search(
        r"SCAN (grade|comment|student|submitted_\w+|acidbase_marking)\b", plan)]
    assert whole == []


def test_the_grade_table_tells_zero_from_no_mark_and_from_nothing_handed_in(
        course: Path, hand_in: HandIn, right: Notebook, blank: Notebook) -> None:
    from nbgrader.api import Gradebook

    with Gradebook(CourseFolder.find(course).db_url) as book:
        book.add_student("fay")
    hand_in("ada", right)
    hand_in("ben", blank)
    hand_in("cho", b"not json")
    right["cells"].remove(find(right, "q1-2-check"))
    hand_in("dev", right)
    mark_class(course, "small")
    table = {row.learner: row for row in grades_table(course, "small")}
    assert {name: (row.score, row.state) for name, row in table.items()} == {
        "ada": (10.0, "marked"), "ben": (0.0, "marked"), "cho": (None, "not marked"),
        "dev": (10.0, "marked after repair"), "fay": (None, "not handed in")}
    assert "not JSON" in table["cho"].why
    assert "q1-2-check was missing" in table["dev"].why
    assert {row.maximum for row in table.values()} == {12.0}


def test_marks_are_read_back_whole(course: Path, hand_in: HandIn, right: Notebook) -> None:
    hand_in("ada", right)
    (ada,) = mark_class(course, "small").learners
    (kept,) = read_marks(course, "small")
    assert (kept.learner, kept.state, kept.marks) == ("ada", "marked", ada.marks)


@pytest.mark.slow
def test_lateness_is_nbgraders_affair(course: Path, hand_in: HandIn, right: Notebook) -> None:
    """With the course's penalty 'zero' a late submission keeps its marks and loses them all."""
    from nbgrader.api import Gradebook

    config = course / "course" / "nbgrader_config.py"
    config.write_text(config.read_text() + '\nc.LateSubmissionPlugin.penalty_method = "zero"\n')
    with Gradebook(CourseFolder.find(course).db_url) as book:
        book.update_or_create_assignment("small", duedate="2031-03-01 12:00:00 UTC")
    for learner, when in (("ada", "2031-03-01 11:59:00 UTC"), ("ben", "2031-03-02 08:00:00 UTC")):
        path = hand_in(learner, right)
        path.with_name("timestamp.txt").write_text(when)
    mark_class(course, "small")
    table = grades_table(course, "small")
    assert [(row.score, row.late_penalty) for row in table] == [(10.0, 0.0), (0.0, 10.0)]
    hand_in("ben", right).with_name("timestamp.txt").write_text("2031-03-01 09:00:00 UTC")
    mark_class(course, "small")
    assert [row.score for row in grades_table(course, "small")] == [10.0, 10.0]


def test_a_source_edited_after_release_marks_as_released_and_says_so(
        course: Path, hand_in: HandIn, right: Notebook) -> None:
    path = course / "solutions" / "small" / "small.ipynb"
    path.write_text(path.read_text().replace('key=\\"B\\"', 'key=\\"C\\"'))
    hand_in("ada", right)
    result = mark_class(course, "small")
    assert result.learners[0].score == 10.0
    assert "q1-2-check" in result.notes[0]


def test_a_source_with_other_cells_than_the_gradebook_is_refused(
        course: Path, hand_in: HandIn, right: Notebook) -> None:
    path = course / "solutions" / "small" / "small.ipynb"
    path.write_text(path.read_text().replace("q1-5-check", "q1-5-proof"))
    hand_in("ada", right)
    with pytest.raises(SourceError, match="generate_assignment small --force"):
        mark_class(course, "small")
    assert grades_table(course, "small") == []


def test_a_gradebook_that_is_none_says_so(course: Path) -> None:
    (course / "grading" / "gradebook.db").write_bytes(b"not a database" * 100)
    with pytest.raises(GradebookError, match="cannot be used"):
        mark_class(course, "small")
    with pytest.raises(GradebookError, match="cannot be used"):
        grades_table(course, "small")


def test_a_locked_gradebook_says_so_and_keeps_nothing_half(course: Path, hand_in: HandIn,
                                                           right: Notebook) -> None:
    config = course / "course" / "nbgrader_config.py"
    config.write_text(config.read_text().replace("timeout=60", "timeout=0.1"))
    hand_in("ada", right)
    lock = sqlite3.connect(course / "grading" / "gradebook.db")
    lock.execute("begin exclusive")
    try:
        with pytest.raises(GradebookError, match="another program is writing to it"):
            mark_class(course, "small")
    finally:
        lock.rollback()
        lock.close()
    assert grades_table(course, "small") == []
    mark_class(course, "small")
    assert grades_table(course, "small")[0].score == 10.0


def test_an_unknown_assignment_or_course_says_what_there_is(course: Path, tmp_path: Path) -> None:
    with pytest.raises(CourseFolderError, match="The assignments are: small"):
        mark_class(course, "smal")
    with pytest.raises(GradebookError, match="no assignment 'smal'"):
        grades_table(course, "smal")
    with pytest.raises(CourseFolderError, match=r"There is no nbgrader_config\.py"):
        CourseFolder.find(tmp_path / "nowhere")


def test_our_checksum_is_nbgraders(source: AssignmentSource) -> None:
    from nbformat import from_dict
    from nbgrader.utils import compute_checksum

    from acidbase_lib.classroom.notebooks.assignment import nbgrader_metadata

    for cell in source.by_name.values():
        theirs = from_dict({"cell_type": cell.kind, "source": cell.text,
                            "metadata": {"nbgrader": nbgrader_metadata(cell)}})
        assert checksum(cell, cell.text) == compute_checksum(theirs)


def test_everything_that_nbgraders_pages_ask_for_is_there(course: Path, hand_in: HandIn,
                                                          right: Notebook) -> None:
    """What formgrader shows and what nbgrader exports, by nbgrader's own code."""
    from nbgrader.api import Gradebook
    from nbgrader.plugins import CsvExportPlugin

    hand_in("ada", right)
    hand_in("cho", b"{")
    mark_class(course, "small")
    with Gradebook(CourseFolder.find(course).db_url) as book:
        (ada, cho) = sorted(book.submission_dicts("small"), key=lambda row: row["student"])
        assert (ada["score"], ada["max_score"], ada["needs_manual_grade"]) == (10.0, 12.0, True)
        assert cho["needs_manual_grade"]
        assert {row["student"] for row in book.notebook_submission_dicts("small", "small")} == {
            "ada", "cho"}
        assert [row["score"] for row in book.student_dicts()] == [10.0, 0.0]
        assert book.average_assignment_score("small") == 5.0
        CsvExportPlugin(to=str(course / "grades.csv")).export(book)
        comments = {c.name: c.comment for c in book.find_submission("small", "cho").notebooks[0]
                    .comments}
    assert "ada,,,,10.0,0.0,10.0,12.0" in (course / "grades.csv").read_text()
    assert comments["q1-1-answer"].startswith("Not marked: The file is not a whole notebook")


@pytest.mark.parametrize(("has_solutions", "student"), [(True, None), (False, "ada")])
def test_under_a_hub_the_learner_is_the_hubs_user_and_the_instructor_is_everyones(
        has_solutions: bool, student: str | None, course: Path,
        monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("JUPYTERHUB_USER", "ada")
    if not has_solutions:
        shutil.rmtree(course / "solutions")
    assert CourseFolder.find(course).config.CourseDirectory.get("student_id") == student


@pytest.mark.skipif(os.name == "nt", reason="no such folder there")
@pytest.mark.parametrize("place", ["here", "above", "in course"])
def test_settings_that_everyone_may_write_are_never_run(place: str, tmp_path: Path) -> None:
    """nbgrader_config.py is Python: one in /tmp, or far above, is another's program."""
    everyones = tmp_path / "tmp"
    inner = everyones / "mine" if place == "above" else everyones
    inner.mkdir(parents=True)
    everyones.chmod(0o1777)
    settings = everyones / ("course" if place == "in course" else ".") / "nbgrader_config.py"
    settings.parent.mkdir(exist_ok=True)
    ran = tmp_path / "ran"
    settings.write_text(f"open({str(ran)!r}, 'w')")
    if place == "in course":
        if os.getuid() != 0:
            pytest.skip("only root can give a folder to another")
        os.chown(settings.parent, 12345, 12345)
    with pytest.raises(CourseFolderError, match="everyone on this machine may write"):
        CourseFolder.find(inner)
    assert not ran.exists()


def test_settings_far_above_are_not_looked_for(tmp_path: Path) -> None:
    (tmp_path / "nbgrader_config.py").write_text("1 / 0")
    (tmp_path / "a" / "b").mkdir(parents=True)
    with pytest.raises(CourseFolderError, match="There is no"):
        CourseFolder.find(tmp_path / "a" / "b")
