"""What an instructor reads as a model: it is there, it is of this patient, and it acts."""
from __future__ import annotations

import re

import nbformat
import pytest
from lessons import SOLUTIONS

from acidbase_lib.teaching.patients.people_names import GROUPS, names

HELD = (name for group in (*GROUPS, "family", "more_family") for name in names()[group])
NAME = re.compile(rf"\b(?:{'|'.join(HELD)})\b")
UNITS = sorted(path.name for path in SOLUTIONS.iterdir() if path.is_dir())


def hand_marked(unit: str) -> dict[str, tuple[str, str]]:
    """Prompt and model answer of every question that a person marks."""
    cells = nbformat.read(SOLUTIONS / unit / f"{unit}.ipynb", as_version=4).cells
    by_id = {cell.metadata.get("nbgrader", {}).get("grade_id", ""): cell.source for cell in cells}
    return {name: (by_id[f"{name}-prompt"], by_id[f"{name}-answer"])
            for name in (key.removesuffix("-prompt") for key in by_id if key.endswith("-prompt"))
            if "Your instructor reads this one" in by_id[f"{name}-prompt"]}


@pytest.mark.parametrize("unit", UNITS)
def test_a_model_answer_is_there_and_names_nobody_else(unit: str):
    for name, (prompt, answer) in hand_marked(unit).items():
        text = answer.split("answer:", 1)[1].split("# rubric")[0]
        assert len(text.split()) >= 20, name
        assert set(NAME.findall(text)) <= set(NAME.findall(prompt)), name


def test_a_cause_in_plain_sight_is_put_right():
    """A bent tube is straightened before anything is explained (common practice)."""
    prompt, answer = hand_marked("04_beyond_the_shortcut")["q4-8"]
    assert "put right at the bedside" in prompt
    if "bent" in prompt:
        assert "straighten" in answer.split("# rubric")[0]
    assert "put right" in answer.split("# rubric")[1]
    assert not re.search(r"wait (?:for|until)", answer.split("# rubric")[0])
