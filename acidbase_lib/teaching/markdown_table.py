"""A table as Markdown for a prompt, with a line above that names it."""
from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import Final

TABLE: Final = "Table:"  # begins the line that names the table below it


def markdown_table(caption: str, columns: Sequence[str], rows: Iterable[Sequence[str]]) -> str:
    """Return a table whose first column names its rows; the others are set to the right.

    Examples
    --------
    >>> print(markdown_table("A gas", ("number", "result"), [("pH", "7.28")]))
    Table: A gas
    <BLANKLINE>
    | number | result |
    |:--|--:|
    | pH | 7.28 |
    """
    lines = [f"{TABLE} {caption}", "", _row(columns), "|:--|" + "--:|" * (len(columns) - 1)]
    return "\n".join([*lines, *(_row(row) for row in rows)])


def _row(cells: Sequence[str]) -> str:
    return "| " + " | ".join(cells) + " |"
