"""A release made here is nbgrader's own to the byte; what this kit cannot cut goes to nbgrader."""
from __future__ import annotations

import shutil
from pathlib import Path

import nbformat
import pytest
from handing_in import REPOSITORY

from acidbase_lib.classroom.notebooks import build_course
from acidbase_lib.classroom.notebooks.build_course import generate_release
from acidbase_lib.classroom.notebooks.release_notebook import has_other_regions, released

UNIT = "07_clinical_priority"  # with written answers and authored keys


@pytest.fixture
def kit(tmp_path: Path) -> Path:
    shutil.copytree(REPOSITORY / "solutions" / UNIT, tmp_path / "kit" / "solutions" / UNIT)
    (tmp_path / "kit" / "course").mkdir()
    shutil.copy(REPOSITORY / "course" / "nbgrader_config.py", tmp_path / "kit" / "course")
    return tmp_path / "kit"


@pytest.fixture
def asked(monkeypatch: pytest.MonkeyPatch) -> list[str]:
    """The units for which nbgrader was asked; it is not run."""
    calls: list[str] = []

    def stand_in(config: object, unit_id: str) -> None:
        calls.append(unit_id)
        raise RuntimeError("nbgrader was asked")

    monkeypatch.setattr(build_course, "release_by_nbgrader", stand_in)
    return calls


@pytest.mark.slow
def test_nbgrader_itself_gives_the_same_bytes(kit: Path, tmp_path: Path,
                                              monkeypatch: pytest.MonkeyPatch) -> None:
    generate_release(kit, [UNIT], tmp_path / "ours")
    monkeypatch.setattr(build_course, "is_the_kits_own", lambda config: False)
    generate_release(kit, [UNIT], tmp_path / "theirs")
    ours, theirs = (tmp_path / who / UNIT / f"{UNIT}.ipynb" for who in ("ours", "theirs"))
    assert ours.read_bytes() == theirs.read_bytes()


def test_the_kits_own_settings_need_no_nbgrader(kit: Path, tmp_path: Path,
                                                asked: list[str]) -> None:
    generate_release(kit, [UNIT], tmp_path / "out")
    assert asked == []
    text = (tmp_path / "out" / UNIT / f"{UNIT}.ipynb").read_text("utf-8")
    assert "HIDDEN TESTS" not in text
    assert "unit.mark(" not in text


@pytest.mark.parametrize("setting", [
    'c.IncludeHeaderFooter.header = "header.ipynb"', "c.LockCells.lock_all_cells = True",
    'c.GenerateAssignment.preprocessors.append("theirs.Step")',
    'c.ClearSolutions.code_stub = {"python": "# here"}'])
def test_a_schools_own_step_is_left_to_nbgrader(setting: str, kit: Path, tmp_path: Path,
                                                asked: list[str]) -> None:
    config = kit / "course" / "nbgrader_config.py"
    config.write_text(config.read_text("utf-8") + f"\n{setting}\n", "utf-8")
    with pytest.raises(RuntimeError, match="nbgrader was asked"):
        generate_release(kit, [UNIT], tmp_path / "out")
    assert asked == [UNIT]


@pytest.mark.parametrize("text", [
    "### BEGIN SOLUTION\nx = 1\n### END SOLUTION", "=== BEGIN MARK SCHEME ===",
    "### BEGIN HIDDEN TESTS\nassert True\n### END HIDDEN TESTS", "### BEGIN HIDDEN TESTS"])
def test_what_only_nbgrader_can_cut_is_left_to_it(text: str, kit: Path, tmp_path: Path,
                                                  asked: list[str]) -> None:
    path = kit / "solutions" / UNIT / f"{UNIT}.ipynb"
    notebook = nbformat.read(path, as_version=4)
    assert not has_other_regions(notebook)
    notebook.cells.append(nbformat.v4.new_markdown_cell(text))
    nbformat.write(notebook, path)
    with pytest.raises(RuntimeError, match="nbgrader was asked"):
        generate_release(kit, [UNIT], tmp_path / "out")


def test_a_release_leaves_the_source_as_it_was() -> None:
    path = REPOSITORY / "solutions" / UNIT / f"{UNIT}.ipynb"
    notebook = nbformat.read(path, as_version=4)
    before = nbformat.writes(notebook)
    released(notebook, UNIT)
    assert nbformat.writes(notebook) == before
