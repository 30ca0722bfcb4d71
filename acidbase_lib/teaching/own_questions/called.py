"""Which plan a notebook's setup cell calls for; a school's own loads only where there is one."""
from __future__ import annotations

from pathlib import Path

from acidbase_lib.teaching.questions.question_file import UnitPlan, load_plan


def plan_called(unit_id: str, folder: Path | None = None, questions: str = "") -> UnitPlan:
    """Return the plan of the kit's own unit, or of the questions that a notebook carries."""
    if not questions:
        return load_plan(unit_id, folder)
    from .carried import carried_plan

    return carried_plan(unit_id, questions)
