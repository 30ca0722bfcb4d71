"""What a kernel knows of the front end that asked: which cell, and whether anyone reads it."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any


def request_of(shell: Any) -> Mapping[str, Any]:
    """Return the message that asked for this run; empty outside a kernel."""
    # The kernel that runs in a browser keeps it in its kernel, not in its shell.
    ask = getattr(shell, "get_parent", None) or getattr(
        getattr(shell, "kernel", None), "get_parent", None
    )
    return (ask() if ask else None) or {}


def names_its_cells(request: Mapping[str, Any]) -> bool:
    """True for a front end of the Jupyter family; others give no cell id, or an address."""
    cell = cell_of(request)
    return bool(cell) and ":" not in cell


def cell_of(request: Mapping[str, Any]) -> str:
    """Return the id of the cell that asked; empty where the front end does not say."""
    return str(request.get("metadata", {}).get("cellId") or "")


def has_reader(request: Mapping[str, Any]) -> bool:
    """True where a person sits at the front end: it names its cells, or it can be asked."""
    return bool(cell_of(request) or request.get("content", {}).get("allow_stdin"))


def window_of(request: Mapping[str, Any]) -> str:
    """Return which window or tab of a browser asked; empty where the front end does not say."""
    return str(request.get("header", {}).get("session") or "")
