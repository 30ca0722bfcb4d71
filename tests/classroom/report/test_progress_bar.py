"""Progress as plain lines: the end of each stage; each step for a program that reads them."""
from __future__ import annotations

import pytest

from acidbase_lib.classroom.report import progress_bar
from acidbase_lib.classroom.report.progress_bar import EACH_STEP, progress


def told(capsys: pytest.CaptureFixture[str]) -> list[str]:
    with progress() as step:
        for done in (1, 2, 3):
            step("marking", done, 3, "fast")
    return capsys.readouterr().out.splitlines()


def test_in_a_file_a_stage_is_one_line(capsys):
    assert told(capsys) == ["marking: 3 of 3 (fast)"]


def test_a_program_that_reads_them_is_told_each_step_but_not_too_often(capsys, monkeypatch):
    monkeypatch.setenv(EACH_STEP, "1")
    assert told(capsys) == ["marking: 1 of 3 (fast)", "marking: 3 of 3 (fast)"]
    monkeypatch.setattr(progress_bar, "_PAUSE", -1.0)
    assert told(capsys) == [f"marking: {done} of 3 (fast)" for done in (1, 2, 3)]
