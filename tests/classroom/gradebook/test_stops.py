"""A batch that is killed, a disk that is full: nothing lost, nothing doubled, told plainly."""
from __future__ import annotations

import errno
import json
import os
import random
import resource
import shutil
import signal
import sqlite3
import time
from contextlib import closing
from pathlib import Path
from typing import Any

import pytest
from handing_in import HandIn, Notebook

from acidbase_lib.classroom import atomic_write
from acidbase_lib.classroom.atomic_write import UnwrittenError
from acidbase_lib.classroom.gradebook.mark_class import ClassMarks, mark_class
from acidbase_lib.classroom.gradebook.read_gradebook import GradebookError, GradeRow, grades_table
from acidbase_lib.classroom.gradebook.safekeeping.history import MARKED, History

pytestmark = pytest.mark.slow

CLASS = 60  # three transactions
TABLES = ("student", "submitted_assignment", "submitted_notebook", "grade", "comment",
          "acidbase_marking", "acidbase_digest")


@pytest.fixture
def handed_in(course: Path, hand_in: HandIn, right: Notebook, blank: Notebook) -> Path:
    """A class of sixty: right, blank and cut off by turns."""
    for number in range(CLASS):
        hand_in(f"l{number:02d}", (right, blank, json.dumps(right).encode()[:900])[number % 3])
    return course


@pytest.fixture
def clean(handed_in: Path, tmp_path: Path) -> tuple[ClassMarks, list[GradeRow], list[int]]:
    """What an undisturbed batch comes to."""
    other = Path(shutil.copytree(handed_in, tmp_path / "clean"))
    return mark_class(other, "small"), grades_table(other, "small"), rows(other)


def rows(course: Path) -> list[int]:
    with closing(sqlite3.connect(course / "grading" / "gradebook.db")) as gradebook:
        assert gradebook.execute("pragma integrity_check").fetchone() == ("ok",)
        there = {name for (name,) in gradebook.execute("select name from sqlite_master")}
        return [gradebook.execute(f"select count(*) from {table}").fetchone()[0]
                for table in TABLES if table in there]


def in_a_child(course: Path, *, kill_after: float | None = None, largest_file: int = 0) -> str:
    """Mark in a process of its own: killed after a while, or with no room for larger files."""
    told, tell = os.pipe()
    child = os.fork()
    if child == 0:
        try:
            if largest_file:
                signal.signal(signal.SIGXFSZ, signal.SIG_IGN)
                resource.setrlimit(resource.RLIMIT_FSIZE, (largest_file, largest_file))
            mark_class(course, "small")
            os.write(tell, b"done")
        except (GradebookError, UnwrittenError) as error:
            os.write(tell, str(error).encode())
        finally:
            os._exit(0)
    os.close(tell)
    if kill_after is not None:
        time.sleep(kill_after)
        os.kill(child, signal.SIGKILL)
    with os.fdopen(told) as answer:
        sentence = answer.read()
    os.waitpid(child, 0)
    return sentence


@pytest.mark.parametrize("moments", [
    pytest.param(8, marks=pytest.mark.slow), pytest.param(100, marks=pytest.mark.long)])
def test_killed_at_random_moments_nothing_is_lost_or_doubled(
        moments: int, handed_in: Path,
        clean: tuple[ClassMarks, list[GradeRow], list[int]]) -> None:
    marks, table, counts = clean
    began = time.perf_counter()
    assert in_a_child(handed_in) == "done"
    whole = time.perf_counter() - began
    dice, cut_short = random.Random(7), 0
    for _ in range(moments):
        if dice.random() < 0.5:  # half of the time from nothing, half on top of what is there
            shutil.rmtree(handed_in / "grading" / "autograded", ignore_errors=True)
            with closing(sqlite3.connect(handed_in / "grading" / "gradebook.db")) as gradebook:
                for name in TABLES:
                    gradebook.execute(f"delete from {name}")
                gradebook.commit()
        cut_short += in_a_child(handed_in, kill_after=dice.uniform(0, whole)) != "done"
        rows(handed_in)  # the gradebook is whole
        for path in (handed_in / "grading" / "autograded").rglob("*.ipynb"):
            json.loads(path.read_text())  # whole, old or new
    assert cut_short >= moments // 2  # it was killed in the middle, not after
    assert mark_class(handed_in, "small").learners == marks.learners
    assert grades_table(handed_in, "small") == table
    assert rows(handed_in) == counts
    assert not list((handed_in / "grading").rglob("*.part"))
    history = History(handed_in / "grading" / "history")
    assert list(history.faults()) == []
    noted = {line.details["learner"] for line in history.lines()
             if line.what == MARKED and line.details}
    assert noted == {f"l{number:02d}" for number in range(CLASS)}


@pytest.mark.parametrize("room", [0, 4_096, pytest.param(30_000, marks=pytest.mark.slow),
                                  pytest.param(80_000, marks=pytest.mark.slow)])
def test_no_room_for_a_larger_file_is_told_and_the_gradebook_opens(
        room: int, handed_in: Path,
        clean: tuple[ClassMarks, list[GradeRow], list[int]]) -> None:
    """A file may grow by so many bytes over the gradebook's size, as on a disk that is full."""
    marks, table, counts = clean
    size = (handed_in / "grading" / "gradebook.db").stat().st_size
    sentence = in_a_child(handed_in, largest_file=size + room)
    assert "make room" in sentence
    assert "safe" in sentence
    rows(handed_in)
    assert {row.score for row in grades_table(handed_in, "small")} <= {10.0, 0.0, None}
    assert mark_class(handed_in, "small").learners == marks.learners
    assert (grades_table(handed_in, "small"), rows(handed_in)) == (table, counts)


@pytest.mark.parametrize("call", ["open", "replace"])
@pytest.mark.parametrize("number", [0, pytest.param(1, marks=pytest.mark.slow),
                                    pytest.param(24, marks=pytest.mark.slow), 39])
def test_a_disk_that_is_full_at_any_file_is_told_and_the_rerun_completes(
        call: str, number: int, handed_in: Path, monkeypatch: pytest.MonkeyPatch,
        clean: tuple[ClassMarks, list[GradeRow], list[int]]) -> None:
    marks, table, counts = clean
    home = atomic_write.os if call == "replace" else atomic_write
    real, calls = os.replace if call == "replace" else open, 0

    def full(*given: Any) -> object:
        nonlocal calls
        calls += 1
        if calls > number:
            raise OSError(errno.ENOSPC, "No space left on device")
        return real(*given)

    with monkeypatch.context() as patch:
        patch.setattr(home, call, full, raising=False)
        with pytest.raises(UnwrittenError, match=r"No space left on device\): make room"):
            mark_class(handed_in, "small")
    assert not list((handed_in / "grading").rglob("*.part"))
    kept = grades_table(handed_in, "small")
    assert [row for row in table if row in kept] == kept  # so far as it came: right
    assert mark_class(handed_in, "small").learners == marks.learners
    assert (grades_table(handed_in, "small"), rows(handed_in)) == (table, counts)


def test_a_gradebook_that_is_locked_for_a_moment_is_waited_for(
        handed_in: Path, clean: tuple[ClassMarks, list[GradeRow], list[int]]) -> None:
    import threading

    with closing(sqlite3.connect(handed_in / "grading" / "gradebook.db",
                                 check_same_thread=False)) as lock:
        lock.execute("begin exclusive")
        threading.Timer(0.6, lock.rollback).start()
        assert mark_class(handed_in, "small").learners == clean[0].learners
