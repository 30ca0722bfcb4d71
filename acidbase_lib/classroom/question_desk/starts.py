"""An example of each kind of question, to begin from; each names an invented person."""
from __future__ import annotations

from dataclasses import asdict
from typing import Any

from acidbase_lib.teaching.handwritten.blocks import read_blocks

from .fields import fields_of

_TEXTS = ("""\
1. {patient}
{gas: partially compensated metabolic acidosis, moderate}
How do you read this gas?
A. partially compensated metabolic acidosis
B. partially compensated respiratory acidosis
C. uncompensated metabolic acidosis
right: A
because: The pH and bicarbonate are low, so it is metabolic; PaCO2 has begun to answer.
because B: In a respiratory acidosis PaCO2 is high, and here it is low.
because C: PaCO2 has left its range, so the lungs have begun to answer.
suggests B: directions swapped
""", """\
1. {patient}
{gas: uncompensated respiratory acidosis, moderate}
Select every statement that is true of this gas.
A. The pH is low
B. PaCO2 is high
C. Bicarbonate is low
D. It is a metabolic disorder
right: A, B
because: Carbon dioxide is held back and lowers the pH; bicarbonate has not moved yet.
because C: Bicarbonate is inside its range.
because D: PaCO2 is what moved, so it is respiratory.
""", """\
1. You read a blood gas. Put the steps in order.
A. Name what is low, normal or high
B. Find which number fits the pH
C. See whether the other number has moved
order: A, B, C
because: The pH says acidosis or alkalosis; the number that fits it names the cause.
""", """\
1. Ms. Renner, 24: sodium 140 mmol/L, chloride 104 mmol/L, bicarbonate 12 mmol/L.
What is her anion gap, without potassium, in mmol/L?
number: 24 mmol/L, within 1
because: 140 - 104 - 12 = 24.
""", """\
1. {patient}
{gas: partially compensated metabolic acidosis, moderate}
Is each number low, normal or high?
line: pH = low (right) / normal / high
line: PaCO2 = low (right) / normal / high
line: bicarbonate = low (right) / normal / high
because: Bicarbonate and pH are low; breathing answers and lowers PaCO2.
""", """\
1. {patient}
{gas: uncompensated respiratory acidosis, moderate}
Write what you would say to the provider in your first call.
write: I am calling about a gas that worries me. The pH is low and PaCO2 is high.
write: I would like you to see this patient now.
looks for: names the patient and why the call is made
looks for: names the pH and PaCO2
looks for: says what is asked for
""")


def starts() -> dict[str, dict[str, Any]]:
    """Return the fields of an example of each kind."""
    found = {}
    for text in _TEXTS:
        given = asdict(fields_of(read_blocks(text).questions[0], text))
        found[given["kind"]] = {**given, "options": list(given["options"])}
    return found
