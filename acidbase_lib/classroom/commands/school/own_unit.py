"""A school's own unit for a command: its questions, packed, and the notebook that asks them."""
from __future__ import annotations

import argparse
import textwrap
from typing import Any

from acidbase_lib.teaching.unit import open_unit

DOUBTS = 10  # of a unit that are printed on the way


def own_questions(asked: argparse.Namespace) -> str:
    """Return the questions of a school's own unit, packed; "" for a unit of the kit.

    What the check of them doubts is printed on the way.

    Raises
    ------
    SchoolError
        The file cannot be a unit.
    """
    school = getattr(asked, "school", None)
    if school is None or (plan := school.plan(asked.unit)) is None:
        return ""
    from acidbase_lib.classroom.school.look_over import doubts_of

    for doubt in (found := doubts_of(school.files[asked.unit]))[:DOUBTS]:
        print(textwrap.fill(f"The check doubts {asked.unit}, {doubt}", 100,
                            subsequent_indent="  "))
    if len(found) > DOUBTS:
        print(f"  and {len(found) - DOUBTS} more: acidbase audit {school.files[asked.unit]}")
    return str(plan.carried)


def own_notebook(unit_id: str, questions: str, as_lesson: bool) -> Any:
    """Return the notebook that a form of a school's own unit is written from."""
    from acidbase_lib.classroom.notebooks.own_lesson import own_lesson, own_template

    unit = open_unit(unit_id, questions=questions)
    return own_lesson(unit) if as_lesson else own_template(unit.title)
