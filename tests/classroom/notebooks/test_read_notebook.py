"""A learner's file is read within limits, and says why when it cannot be."""
from __future__ import annotations

import json
import os
from pathlib import Path
from typing import Any

import pytest

from acidbase_lib.classroom.notebooks.read_notebook import (
    FileLimits,
    UnreadableNotebookError,
    chart_cells,
    is_blank,
    parse_notebook,
    read_file,
    text_of,
)


def notebook(*cells: Any, **more: Any) -> bytes:
    return json.dumps({"cells": list(cells), "metadata": {}, "nbformat": 4, "nbformat_minor": 5}
                      | more).encode()


def chart(text: Any, **metadata: Any) -> dict[str, Any]:
    return {"cell_type": "code", "source": text, "metadata": metadata, "outputs": []}


@pytest.mark.parametrize(("data", "why"), [
    (b"\xff\xfe\x00notebook", "not UTF-8"),
    (b'{"cells": [', "not JSON"),
    (b"<!DOCTYPE html><html></html>", "web page"),
    (b"[" * 100_000 + b"]" * 100_000, "nested too deeply"),
    (b'{"cells": ' + b"[" * 100_000 + b"]" * 100_000 + b"}", "nested too deeply"),
    (b"[1, 2]", "not a notebook"),
    (b'{"cells": {"a": 1}, "nbformat": 4}', "not a notebook"),
    (b'{"worksheets": [], "nbformat": 3}', "format 3"),
    (notebook(nbformat="four"), "format four"),
    (b'{"nbformat": 4}', "no list of cells"),
    (b"9" * 5_000, "not JSON"),
])
def test_a_file_that_is_no_notebook_says_why(data: bytes, why: str) -> None:
    with pytest.raises(UnreadableNotebookError, match=why):
        parse_notebook(data)


def test_a_notebook_with_a_byte_order_mark_is_read() -> None:
    assert parse_notebook(b"\xef\xbb\xbf" + notebook())["cells"] == []


def test_too_many_cells_are_refused_with_the_limit() -> None:
    with pytest.raises(UnreadableNotebookError, match="3 cells; at most 2 are read"):
        parse_notebook(notebook({}, {}, {}), FileLimits(cells=2))


def test_a_file_is_read_up_to_its_limit(tmp_path: Path) -> None:
    path = tmp_path / "a.ipynb"
    path.write_bytes(b"x" * 100)
    assert len(read_file(path, FileLimits(size=100))) == 100
    with pytest.raises(UnreadableNotebookError, match=r"Clear the notebook's outputs"):
        read_file(path, FileLimits(size=99))


def test_an_empty_or_absent_file_says_so(tmp_path: Path) -> None:
    (tmp_path / "a.ipynb").write_text(" \n")
    with pytest.raises(UnreadableNotebookError, match="is empty"):
        read_file(tmp_path / "a.ipynb")
    with pytest.raises(UnreadableNotebookError, match="is not there"):
        read_file(tmp_path / "b.ipynb")


def test_links_folders_and_pipes_are_not_read(tmp_path: Path) -> None:
    """A pipe would keep the marker waiting; a link could show someone else's file."""
    (tmp_path / "real.ipynb").write_bytes(notebook())
    (tmp_path / "link.ipynb").symlink_to(tmp_path / "real.ipynb")
    (tmp_path / "folder.ipynb").mkdir()
    os.mkfifo(tmp_path / "pipe.ipynb")
    for name, why in (("link", "is a link"), ("folder", "not a file"),
                      ("pipe", "not a file")):
        with pytest.raises(UnreadableNotebookError, match=why):
            read_file(tmp_path / f"{name}.ipynb")


@pytest.mark.parametrize(("source", "text"), [
    ("pH: low", "pH: low"),
    (["pH: ", "low"], "pH: low"),
    ("a\r\nb", "a\nb"),
    ("a\ud800b\x00c", "a\ufffdb\ufffdc"),  # neither a file nor a database can hold these
    (7, None), (["a", 7], None), (None, None), ({"a": 1}, None),
])
def test_a_cells_text_can_always_be_stored(source: Any, text: str | None) -> None:
    assert text_of({"source": source}) == text


def test_chart_cells_are_named_by_their_first_line_or_their_grade_id() -> None:
    cells = chart_cells(parse_notebook(notebook(
        chart("%%chart q1-1\npH: low"),
        chart("\n  %%chart q1-2 answer: B\n"),
        chart("pH: low", nbgrader={"grade_id": "q1-3-answer"}),
        chart("%%chart q1-5\n", nbgrader={"grade_id": "q1-4-answer"}),
        chart("print(1)"), "not a cell", chart(7), chart("x", nbgrader="broken"))))
    assert [(c.question, c.named_by) for c in cells] == [
        ("q1-1", "first line"), ("q1-2", "first line"), ("q1-3", "grade id"),
        ("q1-5", "first line")]


@pytest.mark.parametrize(("text", "blank"), [
    ("%%chart q1\npH:\nbicarbonate:  \n", True), ("%%chart q1", True), ("", True),
    ("%%chart q1\n# a note\npH:", True), ("%%chart q1\npH: low", False),
    ("%%chart q1\nacidosis", False),
])
def test_blank_means_field_names_only(text: str, blank: bool) -> None:
    assert is_blank(text) is blank
