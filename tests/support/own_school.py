"""A school's folder with a unit of six questions, one of each kind, written out for tests."""
from __future__ import annotations

import json
from pathlib import Path

from acidbase_lib.classroom.marking.own_notebook import unit_of
from acidbase_lib.teaching.questions.answer_text import write_chart

WARD_ROUND = """\
title: Ward round

ranges: pH 7.35-7.45, PaCO2 35-45 mmHg, HCO3 22-26 mmol/L

1. Mr. Adair, 71, has had COPD for ten years. His morning gas:
pH 7.30, PaCO2 62 mmHg, HCO3 30 mmol/L. How do you read it?
A. partially compensated respiratory acidosis
B. partially compensated metabolic acidosis
C. uncompensated respiratory acidosis
right: A
because: The pH is low and PaCO2 pushes that way.
because B: PaCO2 is high: a push of the lungs.
because C: Bicarbonate has left its range.
suggests B: directions swapped

2. {patient}

{gas: partially compensated metabolic acidosis, moderate}

Which of these hold for this gas?
A. The pH is low.
B. The bicarbonate is low.
C. The PaCO2 is high.
right: A, B
because C: Breathing has answered.

3. Sodium is 140, chloride 100, bicarbonate 14 mmol/L. What is the anion gap?
number: 26 mmol/L, within 1
because: 140 - 100 - 14 = 26

4. Put these in order, from the lowest pH to the highest.
A. pH 7.52
B. pH 7.21
C. pH 7.40
order: B, C, A

5. {gas: uncompensated respiratory alkalosis}
Is each number low, normal or high?
line: pH = low / normal / high (right)
line: PaCO2 = low (right) / normal / high
line: bicarbonate = low / normal (right) / high

6. {gas: normal}
Tell the provider in two sentences what you see.
write: The gas is normal. I would tell the provider so.
looks for: names the pH
looks for: says that nothing is wrong
points: 3
"""


def make_school(folder: Path, questions: str = WARD_ROUND, settings: str = "") -> Path:
    """Write a school's folder with the unit ward_round."""
    (folder / "questions").mkdir(parents=True)
    (folder / "school.toml").write_text('name = "Harbor Lane School"\n', encoding="utf-8")
    (folder / "questions" / "ward_round.txt").write_text(questions, encoding="utf-8")
    if settings:
        (folder / "settings.toml").write_text(settings, encoding="utf-8")
    return folder


def hand_in(notebook: Path, out: Path, right: bool = True) -> None:
    """Answer every question of a notebook, all rightly or all otherwise."""
    read = json.loads(notebook.read_text(encoding="utf-8"))
    unit = unit_of(read)
    for cell in read["cells"]:
        name = cell["metadata"].get("nbgrader", {}).get("grade_id") or ""
        if name.endswith("-answer"):
            asked = unit.exercise(name.removesuffix("-answer"))
            key = dict(asked.key or {"answer": "The gas is normal."})
            if not right and asked.kind == "choose one":
                key = dict(asked.predicted["directions swapped"])
            elif not right and asked.kind == "number":
                key = {"answer": 12.0}
            cell["source"] = write_chart(asked.id, asked.fields, key)
    out.parent.mkdir(exist_ok=True)
    out.write_text(json.dumps(read), encoding="utf-8")
