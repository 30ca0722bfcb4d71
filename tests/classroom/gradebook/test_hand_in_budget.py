"""One hand-in cannot cost the others: its time, memory, output and side files have bounds."""
from __future__ import annotations

import json
import os
import threading
import time
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path
from typing import Any

import pytest
from handing_in import HandIn, Notebook, find

from acidbase_lib.classroom.gradebook import hand_in as hand_ins
from acidbase_lib.classroom.gradebook import mark_class as marking
from acidbase_lib.classroom.gradebook import marking_worker
from acidbase_lib.classroom.gradebook.hand_in import handed_in_at
from acidbase_lib.classroom.gradebook.mark_class import mark_class
from acidbase_lib.classroom.gradebook.marking_worker import Budget, mark_within_budget
from acidbase_lib.classroom.notebooks.assignment import AssignmentSource
from acidbase_lib.classroom.notebooks.read_notebook import (
    LIMITS,
    UnreadableNotebookError,
    parse_notebook,
)

pytestmark = pytest.mark.slow

ODD = b'{"odd": 1}'


def when_odd(do: Callable[[], object]) -> Callable[..., Any]:
    """A marker that does something else on one file, as a fault of ours would."""
    real = hand_ins.mark_notebook

    def marker(data: bytes, *rest: Any) -> Any:
        if data == ODD:
            do()
        return real(data, *rest)
    return marker


def for_ever() -> None:
    while True:
        time.sleep(0.1)


def all_memory() -> None:
    held = []
    while True:
        held.append(bytearray(50_000_000))


def end_itself() -> None:
    os._exit(1)


@pytest.mark.slow
@pytest.mark.parametrize(("do", "why"), [
    pytest.param(for_ever, "more time or memory than any notebook needs",
                 marks=pytest.mark.slow),
    (end_itself, "more time or memory than any notebook needs"),
    (all_memory, "stopped with MemoryError"),
])
def test_a_hand_in_that_overruns_is_told_and_the_others_are_marked(
        do: Callable[[], object], why: str, course: Path, hand_in: HandIn, right: Notebook,
        monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(hand_ins, "mark_notebook", when_odd(do))
    seconds = 15.0 if do is all_memory else 1.0  # a busy machine fills memory slowly
    monkeypatch.setattr(marking, "mark_within_budget", lambda *given: mark_within_budget(
        *given, Budget(seconds=seconds, memory=300_000_000)))
    for number in range(30):
        hand_in(f"l{number:02d}", ODD if number == 7 else right)
    began = time.monotonic()
    marks = mark_class(course, "small")
    assert time.monotonic() - began < 30
    (odd,) = marks.in_state("not marked")
    assert odd.learner == "l07"
    assert why in odd.why
    assert {row.score for row in marks.learners if row is not odd} == {10.0}
    assert not marking_worker._IDLE._workers  # none is left behind


@pytest.mark.slow
def test_where_other_threads_work_a_new_process_marks_and_gives_the_same(
        source: AssignmentSource, right: Notebook, blank: Notebook,
        monkeypatch: pytest.MonkeyPatch) -> None:
    tasks = [hand_ins.HandedIn(name, json.dumps(text).encode())
             for name, text in (("ada", right), ("ben", blank), ("cy", {"cells": []}))]
    with marking_worker.closing_workers():
        here = mark_within_budget(source, tasks, LIMITS)
    wait = threading.Event()
    with ThreadPoolExecutor(2) as threads, marking_worker.closing_workers():
        threads.submit(wait.wait)
        elsewhere = threads.submit(mark_within_budget, source, tasks, LIMITS)
        try:
            assert elsewhere.result(60) == here
        finally:
            wait.set()
    assert [one.marked.score for one in here] == [10.0, 0.0, None]


def test_a_fault_of_the_assignment_comes_back_as_itself(source: AssignmentSource,
                                                        right: Notebook) -> None:
    from dataclasses import replace

    from acidbase_lib.classroom.notebooks.assignment import SourceError

    broken = replace(source, cells=tuple(
        replace(cell, text=cell.text.replace("open_small_unit()", "open_no_unit()"))
        for cell in source.cells))
    with marking_worker.closing_workers(), pytest.raises(SourceError, match="setup cell"):
        mark_within_budget(broken, [hand_ins.HandedIn("ada", json.dumps(right).encode())], LIMITS)


def test_large_files_are_not_held_together() -> None:
    files = [hand_ins.HandedIn(str(n), bytes(15_000_000)) for n in range(5)]
    assert [len(chunk) for chunk in marking._chunks(iter(files))] == [2, 2, 1]
    small = [hand_ins.HandedIn(str(n), b"x") for n in range(60)]
    assert [len(chunk) for chunk in marking._chunks(iter(small))] == [25, 25, 10]


@pytest.mark.parametrize("piece", ["[],", "{},", '{"a":1},', "1,", '"ab",', "[[1]],"])
def test_a_file_of_millions_of_parts_is_refused_before_it_takes_memory(piece: str) -> None:
    import tracemalloc

    count = LIMITS.size // len(piece) - 100
    data = b'{"nbformat": 4, "cells": [' + (piece * count).rstrip(",").encode() + b"]}"
    tracemalloc.start()
    with pytest.raises(UnreadableNotebookError, match="Clear the notebook's outputs"):
        parse_notebook(data)
    assert tracemalloc.get_traced_memory()[1] < 1_000_000
    tracemalloc.stop()


FULL = {
    "lines of nothing": "a:\n" * 6_600,
    "fields again and again": "disorder: respiratory acidosis\n" * 600,
    "long lines": ("x" * 900 + ":\n") * 22,
    "marks": "pH: l\u0301" + "\u0301" * 15_000,
}


@pytest.mark.parametrize("what", FULL)
def test_what_is_written_of_an_answer_is_no_longer_than_the_answer_and_a_page(
        what: str, course: Path, hand_in: HandIn, right: Notebook) -> None:
    """In every chart cell at once: the marked notebook, the gradebook's record, the page."""
    from acidbase_lib.classroom.report.class_pages import results_of
    from acidbase_lib.classroom.report.feedback import feedback_of, feedback_page

    for question in range(1, 7):
        cell = find(right, f"q1-{question}-answer")
        cell["source"] = f"%%chart q1-{question}\n{FULL[what]}"
    size = hand_in("ada", right).stat().st_size
    (row,) = mark_class(course, "small").learners
    assert row.state != "not marked"
    marked = course / "grading" / "autograded" / "ada" / "small" / "small.ipynb"
    assert marked.stat().st_size < size + 120_000
    assert (course / "grading" / "gradebook.db").stat().st_size < 1_000_000
    (result,) = results_of(course, "small", {})
    import small_unit

    page = feedback_page(feedback_of(result, {e.id: e for e in small_unit.EXERCISES}, {},
                                     title="x", release_keys=True))
    assert len(page) < size + 200_000


def test_a_notebook_full_of_strange_charts_is_not_told_one_by_one(
        course: Path, hand_in: HandIn, right: Notebook) -> None:
    right["cells"] += [{"cell_type": "code", "metadata": {}, "outputs": [],
                        "source": f"%%chart other-{n}\nx: y"} for n in range(1_500)]
    hand_in("ada", right)
    (row,) = mark_class(course, "small").learners
    assert row.score == 10.0
    assert len(row.repairs) == 11
    assert "1,490 more" in row.repairs[-1].sentence


def test_a_written_answer_of_any_length_is_cut(course: Path, hand_in: HandIn,
                                               right: Notebook) -> None:
    find(right, "q1-6-answer")["source"] = "%%chart q1-6\nbecause: " + "so it is. " * 100_000
    hand_in("ada", right)
    (row,) = mark_class(course, "small").learners
    assert [repair.kind for repair in row.repairs] == ["too long"]


# --- the file beside a hand-in that tells its time ---

def _link_to(target: str) -> Callable[[Path], None]:
    return lambda path: path.symlink_to(target)


def _huge(path: Path) -> None:
    with path.open("wb") as file:
        file.truncate(20_000_000_000)  # takes no room: nothing is in it


STAMPS: dict[str, Callable[[Path], object]] = {
    "a named pipe": os.mkfifo,
    "a link to a device": _link_to("/dev/zero"),
    "a link to itself": lambda path: path.symlink_to(path),
    "a folder": Path.mkdir,
    "twenty gigabytes": _huge,
    "no time": lambda path: path.write_text("tomorrow, or so"),
    "a number": lambda path: path.write_text("9" * 60),
    "a far year": lambda path: path.write_text("9999-12-31 23:59:59 -23:59"),
    "letters of a month": lambda path: path.write_text("0 0 0 JanFebMar 1e999"),
    "no letters": lambda path: path.write_bytes(b"\xff\xfe\x00\xd8" * 9),
    "nothing": lambda path: path.write_text(""),
    "control characters": lambda path: path.write_text("\x00\x1b[2J"),
    "many dots": lambda path: path.write_text("1.1.1.1.1.1.1.1.1.1.1.1.1"),
}


@pytest.mark.slow
@pytest.mark.parametrize("what", STAMPS)
def test_an_odd_time_stamp_keeps_nobody_from_being_marked(
        what: str, course: Path, hand_in: HandIn, right: Notebook) -> None:
    STAMPS[what](hand_in("ada", right).parent / "timestamp.txt")
    hand_in("ben", right)
    began = time.monotonic()
    assert [row.score for row in mark_class(course, "small").learners] == [10.0, 10.0]
    assert time.monotonic() - began < 20


def test_a_time_stamp_as_nbgrader_writes_it_is_read(tmp_path: Path) -> None:
    (tmp_path / "timestamp.txt").write_text("2031-03-01 09:30:00.000000 UTC\n")
    assert str(handed_in_at(tmp_path)) == "2031-03-01 09:30:00"


def test_where_no_process_can_be_had_this_one_marks(source: AssignmentSource, right: Notebook,
                                                    monkeypatch: pytest.MonkeyPatch) -> None:
    def none_left(*_: object) -> None:
        raise BlockingIOError(11, "Resource temporarily unavailable")

    monkeypatch.setattr(marking_worker._Worker, "_fork", none_left)
    monkeypatch.setattr(marking_worker._Worker, "_start", none_left)
    (done,) = mark_within_budget(source, [hand_ins.HandedIn("ada", json.dumps(right).encode())],
                                 LIMITS)
    assert done.marked.score == 10.0


@pytest.mark.slow
def test_a_slow_start_is_nobodys_overrun(source: AssignmentSource, right: Notebook,
                                         monkeypatch: pytest.MonkeyPatch) -> None:
    """The time that a process takes to open the unit is not the first hand-in's."""
    real = marking_worker.marker_for
    monkeypatch.setattr(marking_worker, "marker_for", lambda given: (time.sleep(1.5),
                                                                     real(given))[1])
    task = hand_ins.HandedIn("ada", json.dumps(right).encode())
    with marking_worker.closing_workers():
        (done,) = mark_within_budget(source, [task], LIMITS, Budget(seconds=1.0))
    assert done.marked.score == 10.0
