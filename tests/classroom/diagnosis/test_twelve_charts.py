"""The sitting beside the units: written, released without its keys, taken, marked and diagnosed."""
from __future__ import annotations

from pathlib import Path

import nbformat
import pytest

from acidbase_lib.classroom.commands.main import main
from acidbase_lib.classroom.marking.own_notebook import mark_own_notebook


@pytest.fixture(scope="module")
def form(tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, Path]:
    """Form 7: the instructor's notebook and the learners'."""
    out = tmp_path_factory.mktemp("forms")
    assert main(["form", "twelve_charts", "--seed", "7", "--out", str(out)]) == 0
    name = "twelve_charts_form_7"
    return (out / "solutions" / name / f"{name}.ipynb", out / "course" / name / f"{name}.ipynb")


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


def test_every_pair_of_ideas_is_told_apart(capsys, tmp_path: Path) -> None:
    assert main(["form", "twelve_charts", "--seed", "8", "--out", str(tmp_path)]) == 0
    said = capsys.readouterr().out
    assert "Of 136 pairs of ideas, 136 are told apart by 2 answers or more." in said
