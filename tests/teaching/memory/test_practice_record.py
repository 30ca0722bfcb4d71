"""The practice record: kept line by line, safe in two windows, damaged, newer, erased."""
from __future__ import annotations

import json
import os
import stat
import time
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest

from acidbase_lib.teaching.memory.record import _HEAD_LINE, FILE, Answer, Record, _line_of
from acidbase_lib.teaching.memory.remembered import Remembered

MONDAY = datetime(2026, 9, 7, 8, 0, tzinfo=UTC)


def answer(number: int = 0, right: bool = True) -> Answer:
    return Answer(MONDAY + timedelta(minutes=number), "oxygen: respiratory failure, type 1", right,
                  "sure", step=1, answered="" if right else "enough oxygen on room air",
                  key="" if right else "respiratory failure, type 1", holds=(2.307, 2.118))


def filled(folder: Path, count: int = 3) -> Record:
    record = Record(folder)
    for number in range(count):
        assert record.add(answer(number))
    record.refresh()
    return record


def test_what_is_kept_is_read_back(tmp_path: Path) -> None:
    record = Record(tmp_path)
    kept = [answer(0), answer(1, right=False), Answer(MONDAY, "the whole gas: normal", False,
            "a guess", True, 2, "pH: low", "pH: normal", ("pH",), (0.212, 6.41))]
    for one in kept:
        record.add(one)
    again = Record(tmp_path)
    again.refresh()
    assert again.answers == kept
    assert again.said == ""


def test_nothing_is_written_before_the_first_answer(tmp_path: Path) -> None:
    record = Record(tmp_path)
    record.refresh()
    assert list(tmp_path.iterdir()) == []


def test_a_person_can_read_the_file_and_nobody_else_on_the_computer_can(tmp_path: Path) -> None:
    filled(tmp_path)
    first, *rows = (tmp_path / FILE).read_text(encoding="utf-8").splitlines()
    assert "for you alone" in first
    assert json.loads(rows[0])["skill"] == "oxygen: respiratory failure, type 1"
    if os.name != "nt":
        assert stat.S_IMODE((tmp_path / FILE).stat().st_mode) & 0o077 == 0


def test_two_windows_lose_nothing_and_see_each_other(tmp_path: Path) -> None:
    one, two = Record(tmp_path), Record(tmp_path)
    for number in range(20):
        assert (one if number % 2 else two).add(answer(number))
        if number % 3 == 0:
            one.refresh()
    one.refresh(), two.refresh()
    assert len(one.answers) == len(two.answers) == 20
    assert {row.when for row in one.answers} == {answer(n).when for n in range(20)}


@pytest.mark.parametrize("cut", [1, 5, 20, 60])
def test_a_line_that_was_cut_off_costs_that_answer_alone(tmp_path: Path, cut: int) -> None:
    filled(tmp_path)
    path = tmp_path / FILE
    path.write_bytes(path.read_bytes()[:-cut])
    after = Record(tmp_path)
    after.refresh()
    assert len(after.answers) == 2
    after.add(answer(9))
    fresh = Record(tmp_path)
    fresh.refresh()
    # with its line's end alone cut off, the answer itself was whole
    assert [row.when.minute for row in fresh.answers] == ([0, 1, 2, 9] if cut == 1 else [0, 1, 9])
    assert fresh.said == ""
    assert [path.name for path in tmp_path.iterdir()] == [FILE]


def test_a_damaged_line_is_kept_aside_and_said_and_work_goes_on(tmp_path: Path) -> None:
    filled(tmp_path)
    path = tmp_path / FILE
    lines = path.read_bytes().splitlines(keepends=True)
    damaged = b"".join([*lines[:2], b"\0\0\xff not ours\n", *lines[2:]])
    path.write_bytes(damaged)
    record = Record(tmp_path)
    record.refresh()
    assert len(record.answers) == 3
    assert record.said == ("Part of your practice record was damaged. The old file is kept as "
                           "my_practice.damaged1.jsonl. The 3 answers that could be read are in "
                           "use.")
    assert (tmp_path / "my_practice.damaged1.jsonl").read_bytes() == damaged
    assert record.add(answer(7))
    fresh = Record(tmp_path)
    fresh.refresh()
    assert len(fresh.answers) == 4
    assert fresh.said == ""


@pytest.mark.parametrize("whole", [b"\x89PNG\r\n\x1a\n\0\0", b"[1, 2]\n", b'"text"\n', b"{}\n",
                                   b'{"when":"never","skill":"x","right":true}\n',
                                   b'{"when":"2026-09-07","skill":3,"right":true}\n',
                                   b'{"when":"2026-09-07","skill":"x","right":true,'
                                   b'"holds":[1e999,1]}\n', b"[" * 100_000 + b"\n"])
def test_a_file_of_something_else_is_kept_aside(tmp_path: Path, whole: bytes) -> None:
    (tmp_path / FILE).write_bytes(whole + b"x\n")
    record = Record(tmp_path)
    record.refresh()
    assert record.answers == []
    assert "A new record is in use." in record.said
    assert (tmp_path / "my_practice.damaged1.jsonl").read_bytes() == whole + b"x\n"
    assert record.add(answer())


def test_a_newer_versions_record_is_left_alone(tmp_path: Path) -> None:
    newer = b'{"practice record":2}\n{"something":"new"}\n'
    (tmp_path / FILE).write_bytes(newer)
    record = Record(tmp_path)
    record.refresh()
    assert "newer version" in record.said
    assert not record.add(answer())
    assert (tmp_path / FILE).read_bytes() == newer


def test_a_record_without_what_later_versions_write_is_read_and_its_states_worked_out(
        tmp_path: Path) -> None:
    (tmp_path / FILE).write_text(
        '{"practice record":1}\n{"when":"2026-09-07T08:00:00","skill":"oxygen: x","right":true}\n'
        '{"when":"2026-09-14T08:00:00","skill":"oxygen: x","right":true}\n', encoding="utf-8")
    held = Remembered(tmp_path).refresh().held["oxygen: x"]
    assert held.stability > 7
    assert held.last == datetime(2026, 9, 14, 8, tzinfo=UTC)


@pytest.mark.parametrize("what", ["folder", "pipe"])
def test_what_is_no_file_is_said_and_practice_goes_on(tmp_path: Path, what: str) -> None:
    if what == "folder":
        (tmp_path / FILE).mkdir()
    elif hasattr(os, "mkfifo"):
        os.mkfifo(tmp_path / FILE)
    else:
        pytest.skip("no pipes here")
    memory = Remembered(tmp_path)
    memory.keep("oxygen: x", True)
    assert "cannot be opened" in memory.record.said


def test_no_room_is_said_and_the_old_lines_stay(tmp_path: Path,
                                                monkeypatch: pytest.MonkeyPatch) -> None:
    record = filled(tmp_path)
    before = (tmp_path / FILE).read_bytes()
    real = os.write
    monkeypatch.setattr(os, "write", lambda handle, data: real(handle, data[:10]))
    assert not record.add(answer(5))
    assert "could not be kept" in record.said
    monkeypatch.undo()
    assert (tmp_path / FILE).read_bytes() == before
    assert record.add(answer(6))
    assert record.said == ""


def test_erasing_leaves_nothing(tmp_path: Path) -> None:
    filled(tmp_path)
    (tmp_path / FILE).write_bytes((tmp_path / FILE).read_bytes() + b"\0damaged\n")
    memory = Remembered(tmp_path).refresh()
    assert len(list(tmp_path.iterdir())) == 2
    assert memory.erase()
    assert list(tmp_path.iterdir()) == []
    assert memory.held == {}
    assert memory.record.answers == []
    memory.keep("oxygen: x", True)
    assert list(memory.held) == ["oxygen: x"]


def test_another_window_that_erased_is_noticed(tmp_path: Path) -> None:
    one, two = Remembered(tmp_path), Remembered(tmp_path)
    one.keep("oxygen: x", True)
    assert list(two.refresh().held) == ["oxygen: x"]
    one.erase()
    assert two.refresh().held == {}


def test_a_term_of_daily_practice_is_under_a_megabyte_and_opens_at_once(tmp_path: Path) -> None:
    """40 answers a day for 15 weeks, a third of them wrong: under 1 MB, opened in under 50 ms."""
    lines = [_line_of(answer(30 * number, right=number % 3 > 0)) for number in range(40 * 105)]
    (tmp_path / FILE).write_bytes(_HEAD_LINE + b"".join(lines))
    assert (tmp_path / FILE).stat().st_size < 1_000_000
    taken = []
    for _ in range(3):
        begun = time.process_time()
        memory = Remembered(tmp_path).refresh()
        taken.append(time.process_time() - begun)
    assert len(memory.record.answers) == 4200
    assert min(taken) < 0.05
