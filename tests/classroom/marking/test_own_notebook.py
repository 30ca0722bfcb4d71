"""A learner's own notebook marked at home: no instructor's file, no nbgrader, nothing run."""
from __future__ import annotations

import json
import subprocess
import sys
from pathlib import Path
from typing import Any

import pytest

from acidbase_lib import open_unit
from acidbase_lib.classroom.marking.own_notebook import mark_own_notebook
from acidbase_lib.teaching.questions.answer_text import write_chart
from acidbase_lib.teaching.unit import Unit

SETUP = 'from acidbase_lib import open_unit\nunit = open_unit("02_primary_disorder", form=3)'


@pytest.fixture(scope="module")
def unit() -> Unit:
    return open_unit("02_primary_disorder", form=3)


def own(tmp_path: Path, unit: Unit, setup: str = SETUP, **answers: Any) -> Path:
    """A notebook with a setup cell and every question answered with its key."""
    texts = [setup] + [answers.get(e.id.replace("-", "_"), write_chart(e.id, e.fields, e.key))
                       for e in unit]
    cells = [{"cell_type": "code", "source": text, "metadata": {}, "outputs": []}
             for text in texts]
    path = tmp_path / "mine.ipynb"
    path.write_text(json.dumps({"cells": cells, "nbformat": 4, "nbformat_minor": 5}))
    return path


def test_the_form_in_the_setup_cell_decides_the_key(tmp_path: Path, unit: Unit) -> None:
    found = mark_own_notebook(own(tmp_path, unit))
    assert found.marked.state == "marked"
    assert found.marked.score == found.marked.maximum == sum(e.points for e in unit)
    assert (found.title, list(found.exercises)) == (unit.title, [e.id for e in unit])
    other = mark_own_notebook(own(tmp_path, unit, SETUP.replace("form=3", "form=4")))
    assert (other.marked.score or 0) < other.marked.maximum


def test_a_wrong_and_a_blank_answer_cost_their_points(tmp_path: Path, unit: Unit) -> None:
    first, second = list(unit)[:2]
    path = own(tmp_path, unit, **{
        first.id.replace("-", "_"): write_chart(first.id, first.fields),
        second.id.replace("-", "_"): f"%%chart {second.id}\nno such field: x"})
    marked = mark_own_notebook(path).marked
    assert marked.score == marked.maximum - first.points - second.points
    assert [mark.state for mark in marked.marks[:2]] == ["blank", "incomplete"]


@pytest.mark.parametrize("setup", [
    'import acidbase_lib\nunit = acidbase_lib.open_unit("02_primary_disorder", 3)',
    '%matplotlib inline\nunit = open_unit(form=3, unit_id="02_primary_disorder")\n!ls',
])
def test_a_setup_cell_may_be_written_otherwise(setup: str, tmp_path: Path, unit: Unit) -> None:
    marked = mark_own_notebook(own(tmp_path, unit, setup)).marked
    assert marked.score == marked.maximum


@pytest.mark.parametrize(("setup", "why"), [
    ("x = 1", "does not say which unit it is"),
    ('unit = open_unit(name, form=3)', "does not say which unit it is"),
    ('unit = open_unit("09_nowhere", form=3)', "There is no unit '09_nowhere'"),
    ('unit = open_unit("../../etc/passwd", form=3)', "There is no unit"),
    ('unit = open_unit("02_primary_disorder", form=0)', "outside 1 to"),
])
def test_an_unknown_unit_is_not_marked_and_says_why(setup: str, why: str, tmp_path: Path,
                                                    unit: Unit) -> None:
    marked = mark_own_notebook(own(tmp_path, unit, setup)).marked
    assert (marked.state, marked.score) == ("not marked", None)
    assert why in marked.why


def test_a_file_that_is_no_notebook_is_not_marked_and_says_why(tmp_path: Path) -> None:
    (tmp_path / "a.ipynb").write_text("{")
    assert "not JSON" in mark_own_notebook(tmp_path / "a.ipynb").marked.why
    assert "is not there" in mark_own_notebook(tmp_path / "b.ipynb").marked.why


def test_copies_are_told_and_one_is_kept(tmp_path: Path, unit: Unit) -> None:
    path = own(tmp_path, unit)
    notebook = json.loads(path.read_text())
    notebook["cells"].append(notebook["cells"][1])
    path.write_text(json.dumps(notebook))
    marked = mark_own_notebook(path).marked
    assert (marked.state, marked.score) == ("marked after repair", marked.maximum)
    assert [repair.kind for repair in marked.repairs] == ["copied"]


@pytest.mark.slow
def test_home_marking_needs_neither_nbgrader_nor_numpy(tmp_path: Path, unit: Unit) -> None:
    """A learner has installed the kit alone."""
    code = ("import sys; "
            "from acidbase_lib.classroom.marking.own_notebook import mark_own_notebook; "
            f"m = mark_own_notebook({str(own(tmp_path, unit))!r}).marked; "
            "assert m.score == m.maximum; "
            "print(*{'nbgrader', 'sqlalchemy', 'numpy', 'pandas', 'nbformat', 'traitlets', "
            "'ipywidgets'} & set(sys.modules))")
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.strip() == ""
