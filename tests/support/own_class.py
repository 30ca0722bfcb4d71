"""A class in which everybody has numbers of their own, and what they hand in."""
from __future__ import annotations

import json
from collections.abc import Mapping
from pathlib import Path
from typing import Any

from acidbase_lib.classroom.commands.form import read_template
from acidbase_lib.classroom.notebooks.for_each import MadeForEach, write_for_each
from acidbase_lib.classroom.notebooks.own_numbers import OwnNumbers
from acidbase_lib.classroom.released_course import template_of
from acidbase_lib.teaching.questions.answer_text import write_chart
from acidbase_lib.teaching.questions.exercise import Exercise

UNIT, SEED = "02_primary_disorder", 7
NAME = f"{UNIT}_form_{SEED}"


def make_class(out: Path, people: Mapping[str, str], unit: str = UNIT, **more: Any) -> MadeForEach:
    """Write own numbers for some people."""
    return write_for_each(unit, SEED, people, out, read_template(template_of(unit)), **more)


def file_of(made: MadeForEach, learner: str) -> Path:
    """The notebook that was made for one of them."""
    return next(made.folder.glob(f"{learner}_*.ipynb"))


def seen_by(made: MadeForEach, learner: str) -> dict[str, Exercise]:
    """What a learner is asked, as their notebook numbers it."""
    sheet = OwnNumbers(made.numbers).sheet(learner)
    assert sheet is not None
    return sheet.as_seen


def filled(path: Path, answers: Mapping[str, Mapping[str, Any]],
           exercises: Mapping[str, Exercise]) -> bytes:
    """A notebook with answers in it, by the numbers that stand in it."""
    notebook = json.loads(path.read_text("utf-8"))
    for cell in notebook["cells"]:
        name = cell["metadata"].get("nbgrader", {}).get("grade_id", "")
        question = name.removesuffix("-answer")
        if question != name and question in answers:
            exercise = exercises[question]
            cell["source"] = write_chart(question, exercise.fields, answers[question])
    return json.dumps(notebook).encode()


def right(exercises: Mapping[str, Exercise], idea: str = "") -> dict[str, Mapping[str, Any]]:
    """Every right answer, or what a learner holding an idea answers."""
    return {name: exercise.predicted.get(idea, exercise.key) if idea else exercise.key
            for name, exercise in exercises.items() if exercise.key is not None}


def hand_in(out: Path, name: str, learner: str, data: bytes) -> None:
    """Put a file where the course collects it."""
    place = out / "grading" / "submitted" / learner / name
    place.mkdir(parents=True, exist_ok=True)
    (place / f"{name}.ipynb").write_bytes(data)
