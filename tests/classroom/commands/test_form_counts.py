"""Which try counts, chosen where a form is made: only a lesson has more than one."""
from __future__ import annotations

from pathlib import Path

import nbformat
import pytest

from acidbase_lib.classroom.commands.form import choose_form
from acidbase_lib.classroom.commands.main import main
from acidbase_lib.classroom.notebooks.write_questions import write_form
from acidbase_lib.teaching.unit import open_unit

pytestmark = pytest.mark.slow

UNIT = "02_primary_disorder"
SOURCE = Path(__file__).parents[3] / "solutions" / UNIT / f"{UNIT}.ipynb"


@pytest.fixture
def strict(tmp_path: Path) -> Path:
    """A school's own notebook of the unit: the first try counts."""
    notebook = nbformat.read(SOURCE, as_version=4)
    path = tmp_path / "own.ipynb"
    nbformat.write(write_form(notebook, open_unit(UNIT, counts="first try")), path)
    return path


def test_a_form_as_lesson_keeps_the_lessons_policy(strict: Path) -> None:
    assert choose_form(UNIT, 7, template=strict, as_lesson=True).counts == "first try"
    assert choose_form(UNIT, 7, template=SOURCE, as_lesson=True).counts == "mended half"


def test_the_option_wins_over_the_notebook(strict: Path) -> None:
    assert choose_form(UNIT, 7, template=strict, as_lesson=True,
                       counts="last try").counts == "last try"


def test_a_dealt_form_is_a_sitting_whatever_the_lesson_counts(strict: Path) -> None:
    unit = choose_form(UNIT, 7, template=strict)
    assert unit.sitting
    assert unit.counts == "mended half"


def test_the_option_without_a_lesson_is_refused_in_a_sentence(tmp_path: Path, capsys) -> None:
    code = main(["form", UNIT, "--seed", "7", "--out", str(tmp_path), "--counts", "first try"])
    assert code != 0
    assert "--counts goes with --as-lesson" in capsys.readouterr().err
    assert not list(tmp_path.iterdir())
