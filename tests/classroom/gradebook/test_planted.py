"""What somebody put into a course's folder or gradebook leads nowhere else, and costs no time."""
from __future__ import annotations

import sqlite3
import time
from contextlib import closing
from pathlib import Path

import pytest
import small_unit
from handing_in import HandIn, Notebook

from acidbase_lib.classroom.atomic_write import UnwrittenError
from acidbase_lib.classroom.gradebook.course_folder import CourseFolder
from acidbase_lib.classroom.gradebook.mark_class import mark_class
from acidbase_lib.classroom.gradebook.read_gradebook import GradebookError, grades_table
from acidbase_lib.classroom.gradebook.safekeeping.history import History
from acidbase_lib.classroom.gradebook.safekeeping.receipts import history_of
from acidbase_lib.classroom.report.class_pages import results_of, write_class_pages

pytestmark = pytest.mark.slow


@pytest.fixture
def school(course: Path, hand_in: HandIn, right: Notebook) -> Path:
    hand_in("ada", right)
    mark_class(course, "small")
    return course


@pytest.mark.slow
@pytest.mark.parametrize("name", ["../../evil", "/tmp/evil", "a/b", "..", "back\\slash", ""])
def test_a_learner_whose_id_is_a_path_gets_no_page(name: str, school: Path,
                                                   tmp_path: Path) -> None:
    with closing(sqlite3.connect(school / "grading" / "gradebook.db")) as book:
        book.execute("insert into student (id) values (?)", (name,))
        book.commit()
    before = set(tmp_path.rglob("*"))
    with pytest.raises(GradebookError, match="no name of a file"):
        write_class_pages(tmp_path / "out", results_of(school, "small", {}),
                          small_unit.open_small_unit(), release_keys=False)
    assert {path.name for path in set(tmp_path.rglob("*")) - before} <= {".acidbase.lock"}


@pytest.mark.parametrize("depth", ["learner", "assignment"])
def test_marked_notebooks_follow_no_link(depth: str, course: Path, hand_in: HandIn,
                                         right: Notebook, tmp_path: Path) -> None:
    hand_in("ada", right)
    elsewhere = tmp_path / "elsewhere"
    elsewhere.mkdir()
    link = course / "grading" / "autograded" / ("ada" if depth == "learner" else "ada/small")
    link.parent.mkdir(parents=True, exist_ok=True)
    link.symlink_to(elsewhere)
    with pytest.raises(UnwrittenError, match="Links are not followed"):
        mark_class(course, "small")
    assert list(elsewhere.iterdir()) == []
    link.unlink()
    mark_class(course, "small")
    assert [row.score for row in grades_table(course, "small")] == [10.0]


def test_a_folder_of_a_step_may_be_a_link(course: Path, hand_in: HandIn, right: Notebook,
                                          tmp_path: Path) -> None:
    """As where a school keeps marked notebooks on another disk."""
    hand_in("ada", right)
    (tmp_path / "disk").mkdir()
    (course / "grading" / "autograded").symlink_to(tmp_path / "disk")
    mark_class(course, "small")
    assert (tmp_path / "disk" / "ada" / "small" / "small.ipynb").is_file()


def test_a_long_line_behind_a_history_costs_no_time(school: Path) -> None:
    history = history_of(CourseFolder.find(school))
    last = history.last()

    def seconds(size: int) -> float:
        with history.path.open("ab") as file:
            file.write(b"x" * size)
        began = time.process_time()
        assert History(history.path.parent).last() == last
        return time.process_time() - began
    assert last is not None
    seconds(2_000_000)
    assert seconds(18_000_000) < 2.0  # 50 MB took `acidbase check` 110 s


def test_a_disk_that_is_full_at_nbgraders_own_first_write_is_one_sentence(
        course: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    import sqlalchemy as sa
    from nbgrader import api

    def full(*_: object, **__: object) -> None:
        try:
            raise sa.exc.OperationalError("insert", {}, sqlite3.OperationalError(
                "database or disk is full"))
        except sa.exc.SQLAlchemyError as slip:
            raise api.InvalidEntry(*slip.args)  # noqa: B904 (as nbgrader has it)
    monkeypatch.setattr(api, "Gradebook", full)
    with pytest.raises(GradebookError, match="the disk is full: make room and mark again"):
        mark_class(course, "small")
