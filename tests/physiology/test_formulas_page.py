"""The table of formulas names every formula, and only sources, tests and rows that exist."""
from __future__ import annotations

import csv
import re
from functools import cache
from pathlib import Path

from for_each import for_each
from formulas import MODULES, formulas

from acidbase_lib.physiology.references import FROM_MEMORY, REFERENCES

TESTS = Path(__file__).parents[1]
PAGE = (TESTS / "published" / "README.md").read_text(encoding="utf-8")
ROWS = [[cell.strip() for cell in line.strip("|").split("|")]
        for line in PAGE.splitlines() if line.startswith("| `")]
MODULE_NAMES = {module.__name__.rpartition(".")[2] for module in MODULES}
IDS = [row[0].split("`")[1] for row in ROWS]


@cache
def rows_of(table: str) -> frozenset[str]:
    """The first column of a table in `tests/published`."""
    lines = (TESTS / "published" / table).read_text(encoding="utf-8").splitlines()
    read = csv.reader(line for line in lines if not line.startswith("#"))
    return frozenset(row[0] for row in read)


@cache
def sources_of_tests() -> str:
    files = (TESTS / "physiology").glob("*.py")
    return "\n".join(path.read_text(encoding="utf-8") for path in files)


def test_every_formula_has_a_row_and_every_row_a_formula() -> None:
    named = [name for row in ROWS for name in re.findall(r"`([\w.]+)`", row[0])]
    assert len(named) == len(set(named))
    assert {name for name in named if "." not in name} == {one.__name__ for one in formulas()}


@for_each(ROWS, named=lambda row: row[0])
def test_a_row_names_its_module_sources_tests_and_printed_rows(row: list[str]) -> None:
    formula, source, check, _ = row
    assert set(re.findall(r"\((\w+)\)", formula)) <= MODULE_NAMES
    keys = re.findall(r"\b[A-Z]\w*\d{4}\b", source)
    assert [key for key in keys if key not in REFERENCES] == []
    for test in re.findall(r"\btest_\w+", check):
        assert (TESTS / "physiology" / f"{test}.py").exists() or f"def {test}" in sources_of_tests()
    for table, told in re.findall(r"(\w+\.csv)([^;]*)", check):
        printed = re.findall(r"\b[A-Z]{2,}\w*\b", told)
        assert [one for one in printed if one not in rows_of(table)] == []


@for_each(ROWS, named=lambda row: row[0])
def test_what_is_from_memory_is_said_to_be(row: list[str]) -> None:
    keys = re.findall(r"\b[A-Z]\w*\d{4}\b", row[1])
    if any(REFERENCES[key].seen == FROM_MEMORY for key in keys):
        assert "from memory" in row[3]
