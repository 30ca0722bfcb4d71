"""A real JupyterHub on the loopback address, for tests marked `services`; what is missing fails."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest
from school_hub import Hub, school_hub

HERE = Path(__file__).parent


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """Everything in this folder needs services of its own."""
    for item in items:
        if HERE in Path(item.path).parents:
            item.add_marker(pytest.mark.services)


@pytest.fixture(scope="session")
def hub() -> Iterator[Hub]:
    """A hub set up and started by the Hosting page's own blocks, in a fresh copy."""
    with school_hub() as made:
        print("\naccounts of their own" if made.own_accounts else "\nno accounts could be made: "
              "everyone is one system user")
        made.said = made.administrator("as the administrator, there")
        made.write_local()
        made.start_hub()
        yield made
