"""What nbgrader releases is known to the gradebook, whatever was or was not run before."""

from __future__ import annotations

import os
import shutil
import subprocess
import sys
from pathlib import Path

import pytest

from acidbase_lib.classroom.gradebook.read_gradebook import assignments

ROOT = Path(__file__).parents[3]
UNIT = "00_start_here"
pytestmark = pytest.mark.slow


@pytest.fixture
def course(tmp_path: Path) -> Path:
    """A fresh copy of the kit's course, as the Hosting page has it copied."""
    shutil.copytree(ROOT / "solutions" / UNIT, tmp_path / "solutions" / UNIT)
    shutil.copytree(ROOT / "course" / UNIT, tmp_path / "course" / UNIT)
    shutil.copy(ROOT / "course" / "nbgrader_config.py", tmp_path / "course")
    (tmp_path / "exchange").mkdir()
    (tmp_path / "exchange").chmod(0o777)
    return tmp_path


def nbgrader(course: Path, *words: str) -> subprocess.CompletedProcess[str]:
    kept = {name: text for name, text in os.environ.items() if not name.startswith("JUPYTER")}
    return subprocess.run(
        [sys.executable, "-m", "nbgrader", *words, f"--Exchange.root={course / 'exchange'}"],
        cwd=course / "course", env=kept, capture_output=True, text=True, timeout=120)


def test_a_release_alone_is_enough_to_mark_by(course: Path) -> None:
    done = nbgrader(course, "release_assignment", UNIT)
    assert done.returncode == 0, done.stderr
    assert assignments(course) == (UNIT,)
    assert (course / "exchange" / "acidbase" / "outbound" / UNIT / f"{UNIT}.ipynb").is_file()


def test_generating_does_not_skip_the_release_that_the_kit_came_with(course: Path) -> None:
    done = nbgrader(course, "generate_assignment", UNIT)
    assert done.returncode == 0, done.stderr
    assert "Skipping existing assignment" not in done.stderr
    assert assignments(course) == (UNIT,)


def test_a_source_that_the_gradebook_knows_otherwise_is_not_released(course: Path) -> None:
    assert nbgrader(course, "release_assignment", UNIT).returncode == 0
    source = course / "solutions" / UNIT / f"{UNIT}.ipynb"
    source.write_text(source.read_text().replace("q0-1", "q0-91"))
    done = nbgrader(course, "release_assignment", UNIT, "--force")
    assert done.returncode != 0
    assert "Nothing was released." in done.stderr
