"""Backups: made while the gradebook is in use, whole, put back whole; nothing is lost silently."""
from __future__ import annotations

import errno
import os
import signal
import sqlite3
import time
from contextlib import closing
from pathlib import Path

import pytest
from handing_in import RIGHT, HandIn, Notebook, answered

from acidbase_lib.classroom.commands.main import main
from acidbase_lib.classroom.gradebook.course_folder import CourseFolder
from acidbase_lib.classroom.gradebook.mark_class import mark_class
from acidbase_lib.classroom.gradebook.read_gradebook import GradebookError
from acidbase_lib.classroom.gradebook.safekeeping import backups
from acidbase_lib.classroom.gradebook.safekeeping.backups import (
    KEPT,
    back_up,
    back_up_once_a_day,
    backups_of,
    restore,
)
from acidbase_lib.classroom.gradebook.safekeeping.check_course import check_course
from acidbase_lib.classroom.report.class_pages import results_of

pytestmark = pytest.mark.slow


def scores(course: Path) -> dict[str, float | None]:
    return {one.learner: one.score for one in results_of(course, "small", {})}


def give_by_hand(course: Path, learner: str, points: float) -> None:
    from nbgrader.api import Gradebook

    with Gradebook(CourseFolder.find(course).db_url) as book:
        grade = book.find_grade("q1-6-answer", "small", "small", learner)
        grade.manual_score, grade.needs_manual_grade = points, False
        book.db.commit()


@pytest.fixture
def school(course: Path, hand_in: HandIn, right: Notebook, blank: Notebook) -> Path:
    hand_in("ada", right)
    hand_in("ben", blank)
    mark_class(course, "small")
    give_by_hand(course, "ada", 1.5)
    return course


def say(capsys: pytest.CaptureFixture[str], *words: str) -> tuple[int, str]:
    code = main(list(words))
    told = capsys.readouterr()
    return code, told.out + told.err


def test_a_backup_put_back_gives_the_same_marks(school: Path,
                                                capsys: pytest.CaptureFixture[str]) -> None:
    before = scores(school)
    assert say(capsys, "backup", "--course", str(school))[0] == 0
    (school / "grading" / "gradebook.db").write_bytes(b"")
    code, told = say(capsys, "restore", "--course", str(school))
    assert code == 0
    assert "Put back: " in told
    assert scores(school) == before == {"ada": 11.5, "ben": 0.0}


def test_marks_by_hand_that_the_backup_does_not_hold_are_listed(
        school: Path, capsys: pytest.CaptureFixture[str]) -> None:
    back_up(CourseFolder.find(school))
    give_by_hand(school, "ada", 2.0)
    mark_class(school, "small")  # so the history knows
    (school / "grading" / "gradebook.db").write_bytes(b"gone" * 999)
    _, told = say(capsys, "restore", "--course", str(school))
    assert "Marks by hand that are not in it, 1" in told
    assert "small, ada, q1-6-answer: 2 points" in told
    assert scores(school)["ada"] == 11.5


def test_the_file_that_stood_there_is_kept(school: Path) -> None:
    back_up(CourseFolder.find(school))
    (school / "grading" / "gradebook.db").write_bytes(b"damaged" * 999)
    aside = restore(CourseFolder.find(school)).aside
    assert aside is not None
    assert aside.read_bytes() == b"damaged" * 999


def test_a_backup_is_made_while_another_program_has_the_gradebook_open(school: Path) -> None:
    with closing(sqlite3.connect(school / "grading" / "gradebook.db")) as other:
        other.execute("begin")
        other.execute("select * from grade").fetchone()
        made = back_up(CourseFolder.find(school))
    with closing(sqlite3.connect(made)) as copy:
        assert copy.execute("select manual_score from grade where manual_score is not null"
                            ).fetchall() == [(1.5,)]


def test_a_damaged_gradebook_is_not_backed_up_and_a_damaged_backup_not_put_back(
        school: Path) -> None:
    folder = CourseFolder.find(school)
    older, newer = back_up(folder), back_up(folder)
    os.utime(older, ns=(1, 1))
    newer.write_bytes(newer.read_bytes()[:5000])
    assert restore(folder).backup == older
    with pytest.raises(GradebookError, match="no backup that can be used"):
        restore(folder, newer)
    (school / "grading" / "gradebook.db").write_bytes(b"x" * 9000)
    with pytest.raises(GradebookError, match="damaged"):
        back_up(folder)
    assert len(backups_of(folder)) == 2


def test_the_gradebook_of_another_file_or_none_is_refused(school: Path, tmp_path: Path) -> None:
    folder, other = CourseFolder.find(school), tmp_path / "holiday.db"
    with closing(sqlite3.connect(other)) as file:
        file.execute("create table photos (id)")
        file.commit()
    before = scores(school)
    for path, why in ((other, "no gradebook"), (tmp_path / "none.db", "There is no backup"),
                      (school / "grading" / "gradebook.db", "itself")):
        with pytest.raises(GradebookError, match=why):
            restore(folder, path)
    assert scores(school) == before


def test_one_automatic_backup_a_day_and_the_newest_are_kept(
        school: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    folder = CourseFolder.find(school)
    assert back_up_once_a_day(folder) is not None
    assert back_up_once_a_day(folder) is None
    asked_for = back_up(folder)
    for _ in range(KEPT + 3):
        back_up(folder, automatic=True)
    there = backups_of(folder)
    assert asked_for in there
    assert len(there) == KEPT + 1


def test_there_is_nothing_to_back_up_before_the_first_mark(course: Path) -> None:
    assert back_up_once_a_day(CourseFolder.find(course)) is None


@pytest.mark.parametrize("moments", [3, pytest.param(60, marks=pytest.mark.slow)])
def test_killed_while_a_backup_is_put_back_one_or_the_other_is_there(
        moments: int, school: Path) -> None:
    """Then run again: the marks of the backup, whatever the kill left."""
    folder = CourseFolder.find(school)
    backup = back_up(folder)
    marks = scores(school)
    began = time.perf_counter()
    restore(folder, backup)
    whole = time.perf_counter() - began
    for number in range(moments):
        give_by_hand(school, "ada", 0.5)
        child = os.fork()
        if child == 0:
            try:
                restore(folder, backup)
            finally:
                os._exit(0)
        time.sleep(whole * number / moments)
        os.kill(child, signal.SIGKILL)
        os.waitpid(child, 0)
        assert scores(school) in (marks, marks | {"ada": 10.5})
        restore(folder, backup)
        assert scores(school) == marks
        assert not list((school / "grading").rglob(".*.part*"))


@pytest.mark.parametrize("call", ["replace", "fsync"])
def test_a_full_disk_while_backing_up_or_restoring_loses_nothing(
        call: str, school: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    folder = CourseFolder.find(school)
    backup, before = back_up(folder), scores(school)

    def full(*_: object) -> None:
        raise OSError(errno.ENOSPC, "No space left on device")

    with monkeypatch.context() as patch:
        patch.setattr(backups.os, call, full)
        for work in (lambda: back_up(folder), lambda: restore(folder, backup)):
            with pytest.raises((GradebookError, OSError), match="No space left"):
                work()
    assert scores(school) == before
    assert backups_of(folder) == (backup,)
    assert not list((school / "grading").rglob("*.part"))


def test_collect_makes_a_backup_of_marks_before_it_marks_again(
        school: Path, hand_in: HandIn, blank: Notebook, tmp_path: Path,
        capsys: pytest.CaptureFixture[str]) -> None:
    back = tmp_path / "roster.csv"
    back.write_text("id\nada\nben\n")
    hand_in("ada", answered(blank, RIGHT | {"q1-1": "%%chart q1-1\npH: high"}))
    folder = CourseFolder.find(school)
    assert back_up_once_a_day(folder) is not None
    mark_class(school, "small")
    assert scores(school)["ada"] != 11.5
    say(capsys, "restore", "--course", str(school))
    assert scores(school)["ada"] == 11.5


@pytest.mark.parametrize(("words", "why"), [
    (["restore", "--from", "x.db", "--begin-again"], "exclude each other"),
    (["check", "--receipt", "12"], "at least 8"),
    (["erase", "nobody", "--allow-again"], "nobody of that id was erased"),
    (["erase", "../x"], "can be no learner's id"),
])
def test_bad_input_is_one_sentence(words: list[str], why: str, school: Path,
                                   capsys: pytest.CaptureFixture[str]) -> None:
    code, told = say(capsys, *words, "--course", str(school))
    assert code == 2
    assert why in told
    assert len(told.splitlines()) == 1


def test_two_restores_at_once_wait_for_each_other(school: Path) -> None:
    """Also with what each writes into the gradebook that it has put there."""
    from concurrent.futures import ProcessPoolExecutor
    from multiprocessing import get_context

    folder = CourseFolder.find(school)
    back_up(folder)
    with ProcessPoolExecutor(3, mp_context=get_context("spawn")) as pool:
        done = list(pool.map(restore_there, [str(school)] * 6))
    assert done == [""] * 6
    assert [one.sentence for one in check_course(folder) if not one.well] == []


def restore_there(school: str) -> str:
    """In a process of its own: what it was refused with."""
    try:
        restore(CourseFolder.find(school))
    except Exception as slip:
        return f"{type(slip).__name__}: {slip}"
    return ""


def test_a_gradebook_that_was_replaced_while_it_was_open_is_told_as_that(school: Path) -> None:
    from acidbase_lib.classroom.gradebook.gradebook_error import gradebook_trouble

    book = CourseFolder.find(school).root / "grading" / "gradebook.db"
    held = sqlite3.connect(book)
    held.execute("select count(*) from grade").fetchone()
    other = book.with_name("other.db")
    other.write_bytes(book.read_bytes())
    os.replace(other, book)
    with pytest.raises(sqlite3.OperationalError) as slip:
        held.execute("delete from comment")
    held.close()
    assert "put a backup in its place meanwhile; run this again" in gradebook_trouble(
        f"sqlite:///{book}", slip.value)
