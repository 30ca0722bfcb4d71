"""nbgrader's insides are touched in the adapter and in registration, and nowhere else."""
from __future__ import annotations

import ast
import re
from pathlib import Path

import pytest

pytestmark = pytest.mark.slow

LIBRARY = Path(__file__).parents[2] / "acidbase_lib"
ROOM = "classroom/gradebook"
# the adapter, by theme
INSIDE = {f"{ROOM}/{name}.py" for name in (
    "nbgrader_adapter/door", "nbgrader_adapter/guard", "nbgrader_adapter/reading",
    "nbgrader_adapter/writing", "registration")}
# nbgrader's public interface, which it documents for others to use
PUBLIC = {
    # a school's settings name its classes; converters and preprocessors are made to be built upon
    "classroom/nbgrader_parts.py": {"nbgrader.api", "nbgrader.converters",
                                    "nbgrader.exchange.default", "nbgrader.preprocessors"},
    # a server extension is loaded by its name and this function, on every Jupyter
    "classroom/hub/assignments_when_asked.py": {"nbgrader.server_extensions.assignment_list"},
    "classroom/hub/role_probe.py": {"nbgrader.apps"},
    "classroom/notebooks/build_course.py": {"nbgrader.apps"},
}
TABLES = ("student", "assignment", "notebook", "base_cell", "grade_cells", "task_cells",
          "solution_cells", "source_cell", "submitted_assignment", "submitted_notebook", "grade",
          "comment", "alembic_version")
SQL = re.compile(r"\b(?:FROM|JOIN|INTO|UPDATE|TABLE|ON)\s+\"?(" + "|".join(TABLES) + r")\b")
FILES = sorted(LIBRARY.rglob("*.py"))


def name_of(path: Path) -> str:
    return path.relative_to(LIBRARY).as_posix()


def imported(path: Path) -> set[str]:
    found: set[str] = set()
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if isinstance(node, ast.Import):
            found |= {alias.name for alias in node.names}
        elif isinstance(node, ast.ImportFrom) and node.module and not node.level:
            found.add(node.module)
    return found


def texts(path: Path) -> list[str]:
    """Every text of a module that is not a docstring of it."""
    tree = ast.parse(path.read_text(encoding="utf-8"))
    docs = {id(node.body[0].value) for node in ast.walk(tree)
            if isinstance(node, ast.Module | ast.ClassDef | ast.FunctionDef) and node.body
            and isinstance(node.body[0], ast.Expr)}
    return [node.value for node in ast.walk(tree) if isinstance(node, ast.Constant)
            and isinstance(node.value, str) and id(node) not in docs]


def test_only_the_adapter_imports_nbgrader_or_its_migrations() -> None:
    beyond = {name_of(path): sorted(used) for path in FILES if name_of(path) not in INSIDE
              and (used := {name for name in imported(path)
                            if name.split(".")[0] in {"nbgrader", "alembic"}}
                   - PUBLIC.get(name_of(path), set()))}
    assert not beyond, f"these reach into nbgrader past nbgrader_adapter: {beyond}"


def test_only_the_adapter_writes_sql_on_nbgraders_tables() -> None:
    found = {name_of(path): text[:80] for path in FILES if name_of(path) not in INSIDE
             for text in texts(path) if SQL.search(text)}
    assert not found, f"these hold SQL on nbgrader's tables: {found}"


def test_the_allowed_modules_are_there_and_use_what_they_are_allowed() -> None:
    there = {name_of(path): path for path in FILES}
    assert set(there) >= INSIDE
    for name, modules in PUBLIC.items():
        assert modules <= imported(there[name])
    assert any(SQL.search(text) for name in INSIDE for text in texts(there[name]))
