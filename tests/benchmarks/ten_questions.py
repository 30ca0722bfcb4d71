"""A unit of ten questions for the marking benchmark; a kernel can import it too."""
from __future__ import annotations

import copy
from dataclasses import replace
from types import MappingProxyType
from typing import Any

from acidbase_lib.teaching.questions.answer_text import write_chart
from acidbase_lib.teaching.questions.question_file import load_plan
from acidbase_lib.teaching.unit import Unit, _shell

UNIT = "02_primary_disorder"
QUESTIONS = 10
PICKS = "00300002"  # as the instructor's notebook has it


class TenQuestions(Unit):
    """Unit 02, with as many questions of its next form as make ten."""

    def __init__(self) -> None:
        super().__init__(load_plan(UNIT), 1)
        mine, more = list(Unit(load_plan(UNIT), 1, PICKS)), Unit(load_plan(UNIT), 2)
        mine += [replace(exercise, id=f"q9-{number}") for number, exercise in enumerate(more, 1)]
        self.exercises = MappingProxyType({one.id: one for one in mine[:QUESTIONS]})


def open_ten() -> TenQuestions:
    """Open the unit in a notebook or outside one."""
    unit = TenQuestions()
    if (shell := _shell()) is not None:
        from acidbase_lib.teaching.widgets.chart_cell import register

        register(shell, unit)
    return unit


def instructors_notebook(unit_02: dict[str, Any]) -> dict[str, Any]:
    """The unit's notebook as the instructor has it, made from that of unit 02."""
    notebook = copy.deepcopy(unit_02)
    named = {cell["metadata"].get("nbgrader", {}).get("grade_id"): cell
             for cell in notebook["cells"]}
    named["02-setup"]["source"] = "from ten_questions import open_ten\nunit = open_ten()"
    first = next(iter(open_ten().exercises))
    for exercise in open_ten():
        if f"{exercise.id}-answer" in named:
            continue
        for part, text in (("prompt", exercise.prompt),
                           ("answer", write_chart(exercise.id, exercise.fields, exercise.key)),
                           ("check", named[f"{first}-check"]["source"].replace(first,
                                                                               exercise.id))):
            cell = copy.deepcopy(named[f"{first}-{part}"])
            cell |= {"source": text, "id": f"{exercise.id}-{part}"}
            cell["metadata"]["nbgrader"]["grade_id"] = f"{exercise.id}-{part}"
            if part == "check":
                cell["metadata"]["nbgrader"]["points"] = exercise.points
            notebook["cells"].append(cell)
    return notebook
