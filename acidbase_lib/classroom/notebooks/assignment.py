"""An assignment as the instructor wrote it: its cells, what each is for and what it is worth."""
from __future__ import annotations

import hashlib
import json
import re
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from functools import cached_property
from pathlib import Path
from typing import Any, Literal

from acidbase_lib.teaching.questions.first_try import without_first_try

from .read_notebook import (
    ANSWER,
    BESIDE,
    UnreadableNotebookError,
    cell_id_of,
    cells_of,
    is_blank,
    parse_notebook,
    question_of,
    read_file,
    text_of,
)

Role = Literal["answer", "check", "locked", "task", "free"]
_SETUP = re.compile(r"(?:^|-)setup(?:$|-)")  # locked cells named so run before any check cell
WRITTEN_STUB = "YOUR ANSWER HERE"  # what stands in a written answer that nobody has given yet
CODE_STUB = "# YOUR CODE HERE\nraise NotImplementedError()"  # and in a code answer
_FIELD = re.compile(r"^([^\s:#][^:]*:)")


class SourceError(ValueError):
    """The instructor's own notebook cannot be marked with; the text says what to mend."""


@dataclass(frozen=True, slots=True)
class SourceCell:
    """One cell of the instructor's notebook.

    ``text`` is what the marker uses (answers blank, hidden tests in place), ``released`` what
    the learner was given, ``solution`` what the instructor answered.
    """

    kind: str
    role: Role
    text: str
    released: str
    name: str | None = None
    question: str | None = None
    points: float | None = None
    cell_id: str | None = None
    metadata: str = "{}"
    solution: str | None = None

    @property
    def by_hand(self) -> bool:
        """True where a person marks this cell."""
        return self.points is not None and self.role in {"answer", "task"}

    def checksum(self) -> str:
        """Return the fingerprint that nbgrader keeps of a cell."""
        return checksum(self, self.text)


@dataclass(frozen=True)
class AssignmentSource:
    """Everything the marker needs to know of one assignment; plain data, safe to send away.

    Parameters
    ----------
    name : str
        The assignment's and its folder's name.
    notebook : str
        The notebook's name without ``.ipynb``.
    cells : tuple of SourceCell
        In order.
    metadata : str
        The notebook's metadata as JSON.
    minor : int
        The notebook format's second number.
    folder : str, optional
        Where the source lies; a unit's own question file is looked for there.
    as_written : bool
        False where the released version differs, so that the solutions may not fit it.
    """

    name: str
    notebook: str
    cells: tuple[SourceCell, ...]
    metadata: str = "{}"
    minor: int = 5
    folder: str | None = None
    as_written: bool = True

    @classmethod
    def from_file(cls, path: str | Path, name: str | None = None) -> AssignmentSource:
        """Read the instructor's notebook.

        Raises
        ------
        SourceError
            If the file cannot be read or cannot be marked with.
        """
        path = Path(path)
        try:
            notebook = parse_notebook(read_file(path))
        except UnreadableNotebookError as error:
            raise SourceError(f"The instructor's notebook {path} cannot be used. {error}") \
                from None
        source = cls.from_notebook(notebook, name or path.parent.name, path.stem)
        return replace(source, folder=str(path.parent.resolve()))

    @classmethod
    def from_notebook(cls, notebook: Mapping[str, Any], name: str,
                      notebook_name: str | None = None) -> AssignmentSource:
        """Take the instructor's notebook apart."""
        cells = tuple(_source_cell(cell, position) for position, cell in cells_of(notebook))
        names = [cell.name for cell in cells if cell.name]
        for twice in sorted({n for n in names if names.count(n) > 1}):
            raise SourceError(f"{name}: two cells of the source are called {twice!r}. "
                              "Give each its own grade id.")
        if not any(cell.points is not None for cell in cells):
            raise SourceError(f"{name}: no cell of the source is worth any points. "
                              "Is this the notebook from solutions/, not the release?")
        return cls(name, notebook_name or name, cells, json.dumps(notebook.get("metadata", {})),
                   int(notebook.get("nbformat_minor", 5)))

    @cached_property
    def by_name(self) -> Mapping[str, SourceCell]:
        """The cells that nbgrader knows, by grade id."""
        return {cell.name: cell for cell in self.cells if cell.name}

    @cached_property
    def answers(self) -> Mapping[str, SourceCell]:
        """The chart cells, by question."""
        return {cell.question: cell for cell in self.cells
                if cell.role == "answer" and cell.question}

    @cached_property
    def holds_code(self) -> bool:
        """True where some answer is code to be run, not a chart to be read."""
        return any(cell.role == "answer" and cell.kind == "code" and cell.question is None
                   for cell in self.cells)

    @property
    def maximum(self) -> float:
        """The most that can be earned."""
        return float(sum(cell.points or 0.0 for cell in self.cells))

    @cached_property
    def digest(self) -> str:
        """A short name for exactly this source."""
        text = json.dumps([[c.name, c.kind, c.text, c.points] for c in self.cells])
        return hashlib.sha256(text.encode("utf-8", "replace")).hexdigest()[:16]

    def as_released(self, kept: Mapping[str, tuple[str, float | None]]) -> AssignmentSource:
        """Return the source with the cells that the gradebook holds: text and points by name."""
        def settled(cell: SourceCell) -> SourceCell:
            if cell.name is None or cell.name not in kept:
                return cell
            text, points = kept[cell.name]
            if text == cell.text and points == cell.points:
                return cell
            return replace(cell, text=text, points=points, released=without_hidden_tests(text))
        cells = tuple(settled(cell) for cell in self.cells)
        reworded = {str(new.name).removesuffix("-prompt") for new, old in zip(cells, self.cells,
                    strict=True) if new.text != old.text and str(new.name).endswith("-prompt")}
        # an answer to another wording is no key to the released one
        cells = tuple(replace(cell, solution=None) if cell.question in reworded else cell
                      for cell in cells)
        return self if cells == self.cells else replace(self, cells=cells, as_written=False)

    def code_to_run(self) -> Iterable[SourceCell]:
        """Yield the setup cells."""
        return (cell for cell in self.cells if cell.kind == "code" and cell.role == "locked"
                and _SETUP.search(cell.name or ""))


def blank_chart(text: str) -> str:
    """Return a chart cell with its field names and nothing after them.

    A line that begins with a space goes on from the line above and is left out.

    Examples
    --------
    >>> print(blank_chart("%%chart q1\\npH: low\\nwhy: it is\\n  below 7.35"))
    %%chart q1
    pH:
    why:
    """
    first, *rest = text.strip("\n").split("\n")
    fields = [match[1] for line in rest if (match := _FIELD.match(line))
              and not BESIDE.match(line)]
    return "\n".join([first.rstrip(), *fields])


def without_hidden_tests(text: str) -> str:
    """Return a check cell as the learner is given it, cut where nbgrader cuts it."""
    kept, hidden = [], False
    for line in text.split("\n"):
        if "BEGIN HIDDEN TESTS" in line:
            hidden = True
        elif "END HIDDEN TESTS" in line:
            hidden = False
        elif not hidden:
            kept.append(line)
    return "\n".join(kept)


def without_solution(text: str) -> str:
    """Return a code answer as the learner is given it, cut where nbgrader cuts it."""
    if "BEGIN SOLUTION" not in text:
        return CODE_STUB
    kept, hidden = [], False
    for line in text.split("\n"):
        if "BEGIN SOLUTION" in line:
            hidden = True
            indent = line[:len(line) - len(line.lstrip())]
            kept += [indent + stub for stub in CODE_STUB.split("\n")]
        elif "END SOLUTION" in line:
            hidden = False
        elif not hidden:
            kept.append(line)
    return "\n".join(kept)


def checksum(cell: SourceCell, text: str) -> str:
    """Return nbgrader's fingerprint of a cell that holds ``text``."""
    grade, solution = cell.points is not None and cell.role != "task", cell.role == "answer"
    locked = not solution and (grade or cell.role == "locked")
    parts = [text, cell.kind, str(grade), str(solution), str(locked), str(cell.name)]
    if grade:
        parts.append(str(cell.points))
    return hashlib.md5("".join(parts).encode("utf-8", "replace"),
                       usedforsecurity=False).hexdigest()


def nbgrader_metadata(cell: SourceCell) -> dict[str, Any]:
    """Return the metadata that nbgrader expects on a cell it knows."""
    data: dict[str, Any] = {
        "grade": cell.points is not None and cell.role != "task", "grade_id": cell.name,
        "locked": cell.role in {"locked", "check"}, "solution": cell.role == "answer",
        "task": cell.role == "task", "schema_version": 3, "cell_type": cell.kind,
        "checksum": cell.checksum()}
    if cell.points is not None:
        data["points"] = cell.points
    return data


def _source_cell(cell: Mapping[str, Any], position: int) -> SourceCell:
    text = text_of(cell)
    if text is None:
        raise SourceError(f"Cell {position + 1} of the source holds no text.")
    metadata = cell.get("metadata") or {}
    note = metadata.get("nbgrader") or {}
    rest = json.dumps({k: v for k, v in metadata.items() if k != "nbgrader"})
    kind, cell_id = str(cell.get("cell_type")), cell_id_of(cell)
    name = note.get("grade_id")
    grade, solution = bool(note.get("grade")), bool(note.get("solution"))
    if not (grade or solution or note.get("locked") or note.get("task")):
        return SourceCell(kind, "free", text, text, cell_id=cell_id, metadata=rest)
    if not name:
        raise SourceError(f"Cell {position + 1} of the source is marked for nbgrader but has no "
                          "grade id.")
    points = float(note.get("points", 0)) if grade or note.get("task") else None
    if solution:
        question = question_of(text)
        if question is not None and name != f"{question}{ANSWER}":
            raise SourceError(f"The chart cell of {question} is called {name}; "
                              f"its grade id must be {question}{ANSWER}.")
        if kind == "code" and question is None:
            blank, own = without_solution(text), text
        else:
            blank = blank_chart(text) if question else WRITTEN_STUB
            own = "" if question is None or is_blank(text) else without_first_try(text)
        return SourceCell(kind, "answer", blank, blank, name, question, points, cell_id, rest,
                          own or None)
    role: Role = "task" if note.get("task") else "check" if grade else "locked"
    return SourceCell(kind, role, text, without_hidden_tests(text), name, None, points, cell_id,
                      rest)
