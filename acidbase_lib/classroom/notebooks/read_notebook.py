"""Chart cells out of a notebook file: the file is read as data, within limits, and never run."""
from __future__ import annotations

import json
import os
import re
import stat
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

ANSWER = "-answer"  # a chart cell's grade id is its question's id with this behind it
_FIRST_LINE = re.compile(r"\s*%%chart[ \t]+(\S+)[^\n]*(?:\n|$)")
BESIDE = re.compile(r"\s*+(?:#|%%|how sure\s*+:)", re.IGNORECASE)  # no part of any answer
_HARD_TO_STORE = re.compile("[\ud800-\udfff\x00-\x08\x0b\x0c\x0e-\x1f\x7f]")


@dataclass(frozen=True, slots=True)
class FileLimits:
    """What a notebook may be at most before it is left unmarked.

    Parameters
    ----------
    size : int
        Length of the file. [bytes]
    cells : int
        Number of cells.
    chart : int
        Length of one chart cell. [characters]
    parts : int
        Lists, tables and members of them in the file, by their marks: what decides how much
        memory it takes.
    """

    size: int = 20_000_000
    cells: int = 2_000
    chart: int = 20_000
    parts: int = 1_000_000


LIMITS = FileLimits()


class UnreadableNotebookError(ValueError):
    """A file that cannot be read as a notebook; the text says why and what to do about it."""


@dataclass(frozen=True, slots=True)
class ChartCell:
    """One cell that holds an answer, as the learner left it."""

    question: str
    text: str
    position: int
    cell_id: str | None
    grade_id: str | None
    named_by: str  # "first line" or "grade id"


def read_file(path: str | Path, limits: FileLimits = LIMITS) -> bytes:
    """Return a file's bytes, or say why it is not one to be marked.

    Parameters
    ----------
    path : str or Path
        A learner's notebook.
    limits : FileLimits
        The longest file that is read.

    Returns
    -------
    bytes

    Raises
    ------
    UnreadableNotebookError
        If the file is missing, is a link, a folder or a device, is empty or is too large.
    """
    name = Path(path).name
    try:
        # O_NONBLOCK: a named pipe would keep the marker waiting for ever;
        # O_BINARY: without it Windows would end a file at its first Ctrl-Z
        handle = os.open(path, os.O_RDONLY | getattr(os, "O_NOFOLLOW", 0)
                         | getattr(os, "O_NONBLOCK", 0) | getattr(os, "O_BINARY", 0))
    except FileNotFoundError:
        raise UnreadableNotebookError(f"{name} is not there. Ask the learner to hand it in.") \
            from None
    except OSError as error:
        if Path(path).is_symlink():
            raise UnreadableNotebookError(
                f"{name} is a link to another file, not a notebook. "
                "Links are not followed: ask for the file itself.") from None
        raise UnreadableNotebookError(f"{name} cannot be opened ({error.strerror}). "
                                      "Check the file's permissions.") from None
    facts = os.fstat(handle)
    if not stat.S_ISREG(facts.st_mode):
        os.close(handle)
        raise UnreadableNotebookError(f"{name} is a folder or a device, not a file. "
                                      "Put the learner's .ipynb file in its place.")
    with os.fdopen(handle, "rb") as file:
        if facts.st_size > limits.size:
            raise UnreadableNotebookError(_too_large(name, facts.st_size, limits))
        data = file.read(limits.size + 1)
    if len(data) > limits.size:
        raise UnreadableNotebookError(_too_large(name, len(data), limits))
    if not data.strip():
        raise UnreadableNotebookError(f"{name} is empty. The upload was probably cut off: "
                                      "ask the learner to hand it in again.")
    return data


def parse_notebook(data: bytes, limits: FileLimits = LIMITS) -> dict[str, Any]:
    """Return a notebook's content, or say why the bytes are not a notebook.

    Raises
    ------
    UnreadableNotebookError
        If the text is not UTF-8, not JSON, nested too deeply, not a notebook of format 4,
        or has more cells than the limit.
    """
    if (parts := sum(map(data.count, (b"[", b"{", b",")))) > limits.parts:
        raise UnreadableNotebookError(
            f"The file holds {parts:,} lists, tables and members of them; at most "
            f"{limits.parts:,} are read. Clear the notebook's outputs, save it and hand it in "
            "again.")
    try:
        text = data.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        raise UnreadableNotebookError(
            f"The file is not UTF-8 text (byte {error.start:,}). It may be a zip, a PDF or a "
            "document with .ipynb at the end of its name: open it, and ask for the notebook.",
        ) from None
    try:
        notebook = json.loads(text)
    except RecursionError:
        raise UnreadableNotebookError(
            "The file's JSON is nested too deeply to be a notebook. "
            "Ask the learner to save the notebook again in Jupyter.") from None
    except ValueError as error:
        raise UnreadableNotebookError(_not_json(text, error)) from None
    if not isinstance(notebook, dict) or not isinstance(notebook.get("cells", 0), list):
        version = notebook.get("nbformat") if isinstance(notebook, dict) else None
        if isinstance(version, int) and version < 4:
            raise UnreadableNotebookError(
                f"This is a notebook of format {version}; format 4 is needed. "
                "Open it in Jupyter, save it, and hand in the saved file.")
        raise UnreadableNotebookError("The file is JSON but not a notebook: it has no list of "
                                      "cells. Ask the learner for the .ipynb file of this unit.")
    if notebook.get("nbformat") != 4:
        raise UnreadableNotebookError(
            f"This is a notebook of format {str(notebook.get('nbformat'))[:20]}; format 4 is "
            "needed. Open it in Jupyter, save it, and hand in the saved file.")
    if len(notebook["cells"]) > limits.cells:
        raise UnreadableNotebookError(
            f"The notebook has {len(notebook['cells']):,} cells; at most {limits.cells:,} are "
            "read. Ask the learner to start from a fresh copy of the unit.")
    return notebook


def cells_of(notebook: Mapping[str, Any]) -> Iterator[tuple[int, Mapping[str, Any]]]:
    """Yield each cell that is one at all, with its place in the notebook."""
    for position, cell in enumerate(notebook["cells"]):
        if isinstance(cell, dict):
            yield position, cell


def text_of(cell: Mapping[str, Any]) -> str | None:
    """Return a cell's source as one string that any file or database can hold, or None."""
    source = cell.get("source")
    if isinstance(source, list) and all(isinstance(line, str) for line in source):
        source = "".join(source)
    if not isinstance(source, str):
        return None
    return _HARD_TO_STORE.sub("\ufffd", source.replace("\r\n", "\n"))


def grade_id_of(cell: Mapping[str, Any]) -> str | None:
    """Return the name that nbgrader knows a cell by, where the cell still carries it."""
    metadata = cell.get("metadata")
    ours = metadata.get("nbgrader") if isinstance(metadata, dict) else None
    name = ours.get("grade_id") if isinstance(ours, dict) else None
    return name if isinstance(name, str) and name else None


def cell_id_of(cell: Mapping[str, Any]) -> str | None:
    """Return the identifier that Jupyter gave a cell, where it has one."""
    name = cell.get("id")
    return name if isinstance(name, str) and name else None


def question_of(text: str) -> str | None:
    """Return the question that a chart cell's first line names.

    Examples
    --------
    >>> question_of("%%chart q2-3\\npH: low")
    'q2-3'
    """
    match = _FIRST_LINE.match(text)
    return match[1] if match else None


def chart_cells(notebook: Mapping[str, Any]) -> tuple[ChartCell, ...]:
    """Return every chart cell of a notebook, in order, copies and strays included.

    A cell is named by its ``%%chart`` line, which is what ran when the learner ran it; where
    that line is gone, by the grade id in its metadata.
    """
    found = []
    for position, cell in cells_of(notebook):
        text = text_of(cell)
        if text is None:
            continue
        question, named_by = question_of(text), "first line"
        grade_id = grade_id_of(cell)
        if question is None and grade_id is not None and grade_id.endswith(ANSWER):
            question, named_by = grade_id.removesuffix(ANSWER), "grade id"
        if question is not None:
            found.append(ChartCell(question, text, position, cell_id_of(cell), grade_id, named_by))
    return tuple(found)


def is_blank(text: str) -> bool:
    """True where a chart cell holds field names only, or at most how sure somebody was."""
    lines = text.splitlines()
    answers = lines[1:] if question_of(text) else lines
    return not any(
        line.partition(":")[2].strip() if ":" in line else line.strip()
        for line in answers if not BESIDE.match(line))


def _too_large(name: str, size: int, limits: FileLimits) -> str:
    return (f"{name} is {size / 1e6:,.1f} MB; at most {limits.size / 1e6:,.0f} MB are read. "
            "Clear the notebook's outputs, save it and hand it in again.")


def _not_json(text: str, error: ValueError) -> str:
    start = text.lstrip()[:15].casefold()
    if start.startswith(("<!doctype", "<html", "<?xml")):
        return ("The file is a web page, not a notebook. The learner probably saved the page "
                "that shows the notebook: ask for the .ipynb file.")
    line = f" from line {error.lineno} on" if isinstance(error, json.JSONDecodeError) else ""
    return ("The file is not a whole notebook: it was cut off, or edited in another program "
            f"(not JSON{line}). "
            "Ask the learner to save it again in Jupyter and hand in the saved file.")
