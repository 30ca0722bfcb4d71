"""Fixtures of the marking tests: a small course on disk, and submissions to it."""
from __future__ import annotations

import shutil
from functools import partial
from pathlib import Path

import pytest
from handing_in import (
    RIGHT,
    HandIn,
    Notebook,
    answered,
    hand_in_to,
    make_course,
    released,
    small_source,
)

from acidbase_lib.classroom.notebooks.assignment import AssignmentSource


def pytest_configure(config: pytest.Config) -> None:
    """Name the marker of the tests that need a server or a cluster."""
    config.addinivalue_line("markers", "services: needs PostgreSQL, psycopg2 and dask; "
                                       "run by .ci/run with -m services")


@pytest.fixture(scope="session")
def source() -> AssignmentSource:
    """The small unit as the marker sees it."""
    return AssignmentSource.from_notebook(small_source(), "small")


@pytest.fixture
def blank(source: AssignmentSource) -> Notebook:
    """An untouched release."""
    return released(source)


@pytest.fixture
def right(blank: Notebook) -> Notebook:
    """A submission with every answer right."""
    return answered(blank, RIGHT)


@pytest.fixture(scope="session")
def _fresh_course(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A course whose gradebook knows the assignment; made once, copied for each test."""
    from acidbase_lib.classroom.gradebook.mark_class import mark_class

    root = make_course(tmp_path_factory.mktemp("fresh") / "school", "small", small_source())
    mark_class(root, "small")
    return root


@pytest.fixture
def course(_fresh_course: Path, tmp_path: Path) -> Path:
    """A course with nothing handed in yet."""
    return Path(shutil.copytree(_fresh_course, tmp_path / "school"))


@pytest.fixture
def hand_in(course: Path) -> HandIn:
    """Put a learner's file where nbgrader collects it."""
    return partial(hand_in_to, course)
