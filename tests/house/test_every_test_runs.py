"""The quick loop leaves tests out; the README's command and .ci/run leave out none of them."""
from __future__ import annotations

import ast
import re
import shlex
import tomllib
from itertools import pairwise, product
from pathlib import Path

import pytest

REPOSITORY = Path(__file__).parents[2]
TESTS = REPOSITORY / "tests"
SETTINGS = tomllib.loads((REPOSITORY / "pyproject.toml").read_text(encoding="utf-8"))
PYTEST = SETTINGS["tool"]["pytest"]["ini_options"]
MARKERS = tuple(line.partition(":")[0] for line in PYTEST["markers"])


def chosen_by(words: list[str]) -> str:
    """The expression after the last -m of a pytest command."""
    return [after for word, after in pairwise(words) if word == "-m"][-1]


QUICK = chosen_by(shlex.split(PYTEST["addopts"]))
README = chosen_by(shlex.split(re.findall(
    r"^python3 -m venv .*pytest.*$", (REPOSITORY / "README.md").read_text(encoding="utf-8"),
    re.MULTILINE)[0]))
#: Each pytest command of .ci/run that runs tests: what it chooses, and where it looks.
CI = [(chosen_by(words), [word for word in words if word.startswith("tests/")])
      for line in (REPOSITORY / ".ci" / "run").read_text(encoding="utf-8").splitlines()
      if line.startswith("pytest") and "--nbval" not in line for words in [shlex.split(line)]]


def runs(expression: str, marks: dict[str, bool]) -> bool:
    """Whether a test with these markers is chosen; the expressions are Python's own."""
    return bool(eval(expression, {}, dict(marks)))


def every_mix() -> list[dict[str, bool]]:
    """Every set of markers that a test may bear."""
    return [dict(zip(MARKERS, mix, strict=True)) for mix in product([True, False],
                                                                    repeat=len(MARKERS))]


def test_the_quick_loop_is_the_readme_s_command_without_what_is_slow() -> None:
    for marks in every_mix():
        assert runs(QUICK, marks) == (runs(README, marks) and not marks["slow"])


def test_whatever_needs_no_browser_and_no_server_is_run_by_the_readme_s_command() -> None:
    """Only what takes minutes is left to be run by hand."""
    for marks in every_mix():
        if not marks["long"] and not marks["browser"] and not marks["services"]:
            assert runs(README, marks)


def test_every_other_test_is_run_by_ci() -> None:
    for marks in every_mix():
        if not marks["long"]:
            assert runs(README, marks) or any(runs(chosen, marks) for chosen, _ in CI), marks


def test_ci_looks_wherever_such_a_test_stands() -> None:
    """A folder's conftest marks all in it; other files mark themselves."""
    for marker in ("browser", "services"):
        looked = [REPOSITORY / place for chosen, places in CI
                  if runs(chosen, dict.fromkeys(MARKERS, False) | {marker: True})
                  for place in places]
        for path in TESTS.rglob("*.py"):
            if path.name.startswith("test_") and f"mark.{marker}" in path.read_text("utf-8") and (
                    path != Path(__file__)):
                assert any(path.is_relative_to(place) for place in looked), (marker, path)
        for path in TESTS.rglob("conftest.py"):
            if f"add_marker(pytest.mark.{marker})" in path.read_text("utf-8"):
                assert any(place.is_relative_to(path.parent) for place in looked), (marker, path)


@pytest.mark.slow
def test_every_marker_in_use_is_known() -> None:
    """A misspelled marker would leave a slow test in the quick loop."""
    used = {node.attr for path in TESTS.rglob("*.py")
            for node in ast.walk(ast.parse(path.read_text("utf-8")))
            if isinstance(node, ast.Attribute) and ast.unparse(node.value) == "pytest.mark"}
    assert used - {"parametrize", "skipif", "skip", "xfail", "usefixtures", "filterwarnings"} <= (
        set(MARKERS))


def test_no_two_files_of_tests_share_a_name() -> None:
    """One name twice stops the whole collection, but only where both are collected."""
    names = [path.name for path in TESTS.rglob("test_*.py")]
    assert sorted({name for name in names if names.count(name) > 1}) == []
