"""What the kit leans on in nbgrader, asked of the nbgrader that is installed.

Each failure is one plain sentence: what has changed, and which module must be looked at.
"""
from __future__ import annotations

import inspect
import re
import tomllib
from importlib import import_module
from pathlib import Path

import pytest
import sqlalchemy as sa

from acidbase_lib.classroom.gradebook.course_folder import put_scripts_on_path
from acidbase_lib.classroom.gradebook.nbgrader_adapter import door as adapter

ROOT = Path(__file__).parents[3]
LOOK = "See acidbase_lib/classroom/gradebook/nbgrader_adapter."


@pytest.mark.parametrize("table", adapter.COLUMNS)
def test_the_tables_have_the_columns_that_are_read_and_written(table: str) -> None:
    there = adapter.tables()
    assert table in there, f"nbgrader no longer has a table {table}. {LOOK}"
    missing = set(adapter.COLUMNS[table]) - {column.name for column in there[table].columns}
    assert not missing, f"nbgrader's table {table} no longer has {sorted(missing)}. {LOOK}"


@pytest.mark.parametrize("table", adapter.COLUMNS)
def test_no_column_came_that_a_row_of_ours_would_leave_empty(table: str) -> None:
    """A column that must be filled and is not known to us would refuse every mark."""
    new = [c.name for c in adapter.tables()[table].columns
           if not c.nullable and c.default is None and c.server_default is None
           and c.name not in adapter.COLUMNS[table]]
    assert not new, f"nbgrader's table {table} now needs {new}, which the kit does not fill. {LOOK}"


def test_no_table_came_whose_rows_belong_to_a_learner() -> None:
    """`acidbase erase` must know every table that can hold something of a person."""
    new = set(adapter.tables()) - set(adapter.COLUMNS) - {"course"}
    assert not new, f"nbgrader has new tables {sorted(new)}: may a learner be in them? {LOOK}"


def test_the_version_stamp_is_the_one_this_kit_was_tried_with() -> None:
    from alembic.script import ScriptDirectory
    from nbgrader.dbutil import ALEMBIC_DIR

    head = ScriptDirectory(ALEMBIC_DIR).get_current_head()
    assert head == adapter.HEAD, (
        f"nbgrader's tables have moved on from {adapter.HEAD} to {head}: read its migration, try "
        f"the stored gradebooks of tests/classroom/gradebook/stored, then set HEAD. {LOOK}")


@pytest.mark.parametrize("name", adapter.STEPS)
def test_the_steps_that_the_course_names_are_there(name: str) -> None:
    steps = import_module("nbgrader.preprocessors")
    assert hasattr(steps, name), (
        f"nbgrader no longer has the step {name}, which course/nbgrader_config.py or "
        "classroom/nbgrader_parts.py names.")


def test_every_step_that_the_courses_settings_name_is_on_the_list() -> None:
    text = (ROOT / "course" / "nbgrader_config.py").read_text(encoding="utf-8")
    named = set(re.findall(r"\{stock\}\.(\w+)", text))
    assert named
    assert named <= set(adapter.STEPS)


@pytest.mark.parametrize("place", adapter.TRAITS)
def test_the_settings_that_the_course_gives_are_settings_still(place: str) -> None:
    module, _, name = place.rpartition(".")
    known = set(getattr(import_module(module), name).class_trait_names(config=True))
    gone = set(adapter.TRAITS[place]) - known
    assert not gone, (f"nbgrader's {name} no longer has the setting {sorted(gone)}, which "
                      "course/nbgrader_config.py gives.")


def test_late_penalties_are_asked_for_as_they_are() -> None:
    from nbgrader.plugins import LateSubmissionPlugin
    from nbgrader.preprocessors import AssignLatePenalties

    asked = list(inspect.signature(LateSubmissionPlugin.late_submission_penalty).parameters)
    assert asked == ["self", "student_id", "score", "total_seconds_late"], (
        f"nbgrader's late penalty is now asked with {asked}. {LOOK}")
    assert hasattr(AssignLatePenalties, "init_plugin"), (
        f"nbgrader's late penalty is no longer made by init_plugin. {LOOK}")
    text = inspect.getsource(AssignLatePenalties._check_late_penalty)
    assert "return 0" in text, f"nbgrader's limits of a late penalty have changed. {LOOK}"
    assert "return notebook.score" in text


@pytest.mark.slow
def test_the_gradebooks_own_interface_has_what_is_called(tmp_path: Path) -> None:
    put_scripts_on_path()
    book = adapter.open_gradebook(f"sqlite:///{tmp_path / 'gradebook.db'}", "")
    try:
        for name in ("engine", "db", "find_notebook", "close", "course_id"):
            assert hasattr(book, name), f"nbgrader's Gradebook no longer has {name}. {LOOK}"
        made = set(sa.inspect(book.engine).get_table_names())
        assert set(adapter.COLUMNS) <= made
    finally:
        book.close()


def test_times_are_read_as_the_exchange_writes_them() -> None:
    read = adapter.parse_time("2031-03-01 12:00:00.000000 UTC")
    assert (str(read), read.tzinfo) == ("2031-03-01 12:00:00", None), (
        f"nbgrader now reads a time as {read!r}. {LOOK}")


def test_the_package_says_which_nbgrader_it_was_tried_with() -> None:
    told = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))
    (line,) = [one for one in told["project"]["optional-dependencies"]["class"]
               if one.startswith("nbgrader")]
    assert "<" in line, "nbgrader has no upper bound in pyproject.toml"
