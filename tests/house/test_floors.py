"""Imports run downward only: classroom, teaching, reading, physiology."""
from __future__ import annotations

import ast
from pathlib import Path

import pytest

LIBRARY = Path(__file__).parents[2] / "acidbase_lib"
FLOOR = {"physiology": 0, "reading": 1, "teaching": 2, "classroom": 3}
FILES = sorted(path for floor in FLOOR for path in (LIBRARY / floor).rglob("*.py"))
LEARNER_FLOORS = ("physiology", "reading", "teaching")
HEAVY = {"numpy", "pandas", "matplotlib", "nbgrader", "nbformat", "nbconvert", "jinja2", "rich",
         "scipy", "sqlalchemy"}
HEAVY_ALLOWED = {"reading/tables/interpret_table.py", "reading/tables/shortcut_map.py",
                 "reading/tables_edges.py", "reading/tables_gaps.py", "reading/tables_populations.py",
                 "reading/table_urgency.py"}


def floor_of(path: Path) -> str:
    return path.relative_to(LIBRARY).parts[0]


def modules_imported_by(path: Path) -> set[str]:
    """Every module a file imports, relative imports written out in full."""
    package = ("acidbase_lib", *path.relative_to(LIBRARY).parent.parts)
    found: set[str] = set()
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if isinstance(node, ast.Import):
            found |= {alias.name for alias in node.names}
        elif isinstance(node, ast.ImportFrom):
            base = package[: len(package) - node.level + 1] if node.level else ()
            stem = ".".join([*base, *([node.module] if node.module else [])])
            found |= {stem} | {f"{stem}.{alias.name}" for alias in node.names}
    return found


def floors_imported_by(path: Path) -> set[str]:
    return {parts[1] for name in modules_imported_by(path)
            if (parts := name.split("."))[0] == "acidbase_lib" and len(parts) > 1
            and parts[1] in FLOOR}


@pytest.mark.parametrize("path", FILES, ids=lambda p: str(p.relative_to(LIBRARY)))
def test_a_room_imports_only_from_its_floor_or_below(path: Path) -> None:
    for floor in floors_imported_by(path):
        assert FLOOR[floor] <= FLOOR[floor_of(path)], f"{path.name} may not import {floor}"


@pytest.mark.parametrize("path", FILES, ids=lambda p: str(p.relative_to(LIBRARY)))
def test_the_learners_half_is_plain_python(path: Path) -> None:
    if floor_of(path) not in LEARNER_FLOORS or str(path.relative_to(LIBRARY)) in HEAVY_ALLOWED:
        return
    heavy = {name.split(".")[0] for name in modules_imported_by(path)} & HEAVY
    assert not heavy, f"{path.name} costs a learner {heavy}"


@pytest.mark.parametrize("path", FILES, ids=lambda p: str(p.relative_to(LIBRARY)))
def test_a_room_says_what_it_is_in_one_line(path: Path) -> None:
    doc = ast.get_docstring(ast.parse(path.read_text(encoding="utf-8")))
    assert doc, f"{path.name} has no docstring"
    assert len(doc.splitlines()[0]) <= 100


@pytest.mark.parametrize("path", FILES, ids=lambda p: str(p.relative_to(LIBRARY)))
def test_a_room_is_no_longer_than_three_hundred_lines(path: Path) -> None:
    assert len(path.read_text(encoding="utf-8").splitlines()) <= 300


def test_every_floor_has_rooms() -> None:
    assert {floor_of(path) for path in FILES} == set(FLOOR)
