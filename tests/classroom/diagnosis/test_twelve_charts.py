"""The sitting beside the units: written, released without its keys, taken, marked and diagnosed."""
from __future__ import annotations

import contextlib
import io
from pathlib import Path

import nbformat
import pytest

from acidbase_lib.classroom.commands.form import choose_form, describe, ideas_asked
from acidbase_lib.classroom.commands.main import main
from acidbase_lib.classroom.marking.own_notebook import mark_own_notebook
from acidbase_lib.teaching.recipes.choose_items import separation

pytestmark = pytest.mark.slow  # each form is chosen from 300 patients and written by nbgrader


@pytest.fixture(scope="module")
def said(tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, str]:
    """Form 7 written as an instructor has it written: its folder, and what was printed."""
    out, printed = tmp_path_factory.mktemp("forms"), io.StringIO()
    with contextlib.redirect_stdout(printed):
        assert main(["form", "twelve_charts", "--seed", "7", "--out", str(out)]) == 0
    return out, printed.getvalue()


@pytest.fixture(scope="module")
def form(said: tuple[Path, str]) -> tuple[Path, Path]:
    """The instructor's notebook and the learners'."""
    name = "twelve_charts_form_7"
    return tuple(said[0] / room / name / f"{name}.ipynb" for room in ("solutions", "course"))


def test_the_instructor_s_notebook_earns_every_mark_and_the_release_none(form) -> None:
    earned = [mark_own_notebook(path).marked for path in form]
    assert [sum(mark.points for mark in one.marks) for one in earned] == [84.0, 0.0]
    assert [sum(mark.maximum for mark in one.marks) for one in earned] == [84.0, 84.0]


def test_the_release_holds_no_key_and_no_way_to_mark_oneself(form) -> None:
    text = form[1].read_text(encoding="utf-8")
    assert "HIDDEN TESTS" not in text
    assert "unit.result" not in text
    assert "unit.mark" not in text


def test_it_says_what_it_is_for_and_how_each_line_is_meant(form) -> None:
    cells = nbformat.read(form[1], as_version=4).cells
    first = cells[0].source
    assert "For teaching, not for care" in first
    assert "local protocols and licensed practice decide" in first
    how = next(cell.source for cell in cells if cell.source.startswith("## How it works"))
    for line in ("direction", "compensation", "processes"):
        assert f"**{line}**" in how


EVERY_PAIR = "Of 136 pairs of ideas, 136 are told apart by 2 answers or more."


def test_every_pair_of_ideas_is_told_apart(said: tuple[Path, str]) -> None:
    assert EVERY_PAIR in said[1]


@pytest.mark.parametrize("seed", [8, 9, 10])
def test_every_pair_of_ideas_is_told_apart_in_any_form(seed: int) -> None:
    unit = choose_form("twelve_charts", seed)
    assert EVERY_PAIR in describe(separation(unit, tuple(ideas_asked(unit))))
