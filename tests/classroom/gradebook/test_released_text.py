"""Nothing read from a gradebook is run: it may be shared, and anybody may have written into it."""
from __future__ import annotations

import sqlite3
from contextlib import closing, suppress
from pathlib import Path

import pytest
from handing_in import HandIn, Notebook

from acidbase_lib.classroom.gradebook.mark_class import mark_class
from acidbase_lib.classroom.gradebook.read_gradebook import grades_table
from acidbase_lib.classroom.gradebook.released_text import is_plain
from acidbase_lib.classroom.notebooks.assignment import AssignmentSource, SourceError
from acidbase_lib.classroom.report.class_pages import unit_of_sitting

ROOT = Path(__file__).parents[3]
EVIL = 'open({trace!r}, "w").write("run")'


def put_into_gradebook(course: Path, cell: str, text: str) -> None:
    with closing(sqlite3.connect(course / "grading" / "gradebook.db")) as book:
        assert book.execute("update source_cell set source = ? where name = ?",
                            (text, cell)).rowcount == 1
        book.commit()


@pytest.mark.parametrize(("cell", "form"), [
    ("01-setup", "{evil}\n{own}"), ("q1-2-check", "unit.mark('q1-1', key={evil})"),
    ("q1-1-check", "@{evil}\ndef f(): pass"), ("01-setup", "unit = {evil}"),
    ("q1-1-check", "f'{{{evil}}}'"), ("q1-5-check", "assert {evil}")])
def test_code_in_a_gradebook_is_refused_and_not_run(
        cell: str, form: str, course: Path, hand_in: HandIn, right: Notebook,
        tmp_path: Path) -> None:
    trace = tmp_path / "trace"
    evil = EVIL.format(trace=str(trace))
    hand_in("ada", right)
    put_into_gradebook(course, cell, form.format(evil=evil, own="unit.check('q1-1')"))
    for command in (mark_class, unit_of_sitting):
        with pytest.raises(SourceError, match=rf"{cell}.*never run"):
            command(course, "small")
    assert not trace.exists()
    assert grades_table(course, "small") == []


def test_nbgraders_own_marking_does_not_run_it_either(
        course: Path, hand_in: HandIn, right: Notebook, tmp_path: Path) -> None:
    from lanes import run_nbgrader

    trace = tmp_path / "trace"
    hand_in("ada", right)
    put_into_gradebook(course, "q1-1-check", EVIL.format(trace=str(trace)))
    with suppress(AssertionError, SourceError, SystemExit):
        run_nbgrader("Autograde", course, "small")
    assert not trace.exists()


@pytest.mark.parametrize("text", [
    'unit.check("q1")\n### BEGIN HIDDEN TESTS\nunit.mark("q1", key={"first": ["a", "b"]}, '
    'suggests={"x": "y"})\n### END HIDDEN TESTS',
    'from acidbase_lib import open_unit\nunit = open_unit("02_primary_disorder", form=1, '
    'picks="00300002")', "from acidbase_lib import explore_ranges\nexplore_ranges()",
    "unit.review()"])
def test_a_call_of_the_kit_with_plain_values_is_plain(text: str) -> None:
    assert is_plain(text)


@pytest.mark.parametrize("text", [
    "unit.__class__('q')", "unit.check(*x)", "unit.check(**{'a': 1})", "other.check('q')",
    "open_unit('x')", "from os import system\nsystem('x')", "from acidbase_lib import *",
    "from acidbase_lib.classroom import errors", "unit.check(unit)", "unit.check(f'{1}')",
    "unit.check('q')(1)", "unit = unit", "a = unit.check('q')", "unit.check(lambda: 1)",
    "%run x", "unit.check(" + "(" * 5_000, "x" * 30_000, "\0"])
def test_anything_more_is_not(text: str) -> None:
    assert not is_plain(text)


def test_every_check_and_setup_cell_of_the_course_is_plain() -> None:
    """So a notebook of an earlier kit, edited since, is still marked as it was released."""
    cells = [cell for path in sorted((ROOT / "solutions").glob("*/*.ipynb"))
             for source in [AssignmentSource.from_file(path)]
             for cell in [*source.code_to_run(), *(c for c in source.cells if c.role == "check")]]
    assert len(cells) > 60
    assert [cell.name for cell in cells if not is_plain(cell.text)] == []
