"""A small course and submissions to it, written out for the marking tests."""
from __future__ import annotations

import copy
import json
import shutil
from collections.abc import Callable, Mapping
from pathlib import Path
from typing import Any

from small_unit import EXERCISES

from acidbase_lib.classroom.notebooks.assignment import AssignmentSource

HERE = Path(__file__).parent
REPOSITORY = HERE.parents[1]

Notebook = dict[str, Any]

RIGHT = {
    "q1-1": "%%chart q1-1\npH: low\nbicarbonate: high\ndisorder: respiratory acidosis",
    "q1-2": "%%chart q1-2\nanswer: B",
    "q1-3": "%%chart q1-3\nsigns: drowsiness, flushed skin",
    "q1-4": "%%chart q1-4\nsteps: pH > PaCO2 > bicarbonate > name",
    "q1-5": "%%chart q1-5\nexpected PaCO2: 31 mmHg",
    "q1-6": "%%chart q1-6\nbecause: the lungs hold carbon dioxide back",
}
PROMPTS = {exercise.id: exercise.prompt for exercise in EXERCISES}
POINTS = {"q1-1": 3.0, "q1-2": 1.0, "q1-3": 2.0, "q1-4": 3.0, "q1-5": 1.0, "q1-6": 2.0}


def _cell(kind: str, name: str, text: str, **graded: Any) -> dict[str, Any]:
    told = {"grade": False, "solution": False, "locked": False, "task": False,
            "schema_version": 3, "grade_id": name} | graded
    cell: dict[str, Any] = {"cell_type": kind, "id": f"c-{name}", "source": text,
                            "metadata": {"nbgrader": told}}
    return cell | ({"outputs": [], "execution_count": None} if kind == "code" else {})


def small_source() -> Notebook:
    """The instructor's notebook of the small unit."""
    cells = [_cell("markdown", "01-goals", "# A small unit", locked=True),
             _cell("code", "01-setup", "from small_unit import open_small_unit\n"
                   "unit = open_small_unit()", locked=True)]
    for question, text in RIGHT.items():
        cells.append(_cell("markdown", f"{question}-prompt", PROMPTS[question], locked=True))
        if question == "q1-6":
            cells.append(_cell("code", "q1-6-answer", text, grade=True, solution=True, points=2.0))
            continue
        cells.append(_cell("code", f"{question}-answer", text, solution=True))
        key = ', key="B"' if question == "q1-2" else ""
        cells.append(_cell("code", f"{question}-check", f'unit.check("{question}")\n'
                           f'### BEGIN HIDDEN TESTS\nunit.mark("{question}"{key})\n'
                           "### END HIDDEN TESTS", grade=True, locked=True,
                           points=POINTS[question]))
    cells.append({"cell_type": "markdown", "id": "c-end", "metadata": {}, "source": "The end."})
    return {"cells": cells, "nbformat": 4, "nbformat_minor": 5,
            "metadata": {"kernelspec": {"name": "python3", "display_name": "Python 3",
                                        "language": "python"}}}


def released(source: AssignmentSource) -> Notebook:
    """What a learner is given: answers blank, hidden tests cut."""
    from acidbase_lib.classroom.marking.reading_lane import notebook_of

    texts = {c.name: c.released for c in source.cells if c.role == "answer" and c.name}
    notebook = notebook_of(source, texts, {}, "marked", ())
    del notebook["metadata"]["acidbase"]
    for cell, ours in zip(notebook["cells"], source.cells, strict=True):
        cell["source"] = ours.released
    return notebook


def answered(notebook: Notebook, answers: Mapping[str, str]) -> Notebook:
    """A learner's copy with chart cells filled in."""
    notebook = copy.deepcopy(notebook)
    for cell in notebook["cells"]:
        name = cell["metadata"].get("nbgrader", {}).get("grade_id", "")
        if name.removesuffix("-answer") in answers and name.endswith("-answer"):
            cell["source"] = answers[name.removesuffix("-answer")]
    return notebook


def find(notebook: Notebook, name: str) -> dict[str, Any]:
    """The cell of a notebook that nbgrader knows by this name."""
    return next(cell for cell in notebook["cells"]
                if cell["metadata"].get("nbgrader", {}).get("grade_id") == name)


HandIn = Callable[[str, Notebook | bytes], Path]


def make_course(root: Path, name: str, notebook: Notebook) -> Path:
    """A course on disk with one assignment."""
    (root / "course").mkdir(parents=True)
    shutil.copy(REPOSITORY / "course" / "nbgrader_config.py", root / "course")
    (root / "solutions" / name).mkdir(parents=True)
    (root / "solutions" / name / f"{name}.ipynb").write_text(json.dumps(notebook))
    return root


def hand_in_to(course: Path, learner: str, notebook: Notebook | bytes,
               assignment: str = "small") -> Path:
    """Put a learner's file where nbgrader collects it."""
    path = course / "grading" / "submitted" / learner / assignment / f"{assignment}.ipynb"
    path.parent.mkdir(parents=True, exist_ok=True)
    path.write_bytes(notebook if isinstance(notebook, bytes) else json.dumps(notebook).encode())
    return path
