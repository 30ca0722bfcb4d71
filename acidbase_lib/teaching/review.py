"""What a check cell says of an answer: complete, what is missing, what was not understood."""
from __future__ import annotations

from collections.abc import Iterator

from acidbase_lib.teaching.questions.answer_text import ChartAnswer

from .worded import worded


def status(answer: ChartAnswer) -> Iterator[str]:
    """Say what was recorded, what is missing and what was not understood."""
    if answer.blank:
        yield worded("Not answered yet.")
        return
    for problem in answer.problems:
        yield problem.sentence
    if answer.missing:
        yield worded("Still to answer: {lines}.", lines=", ".join(answer.missing))
    if answer.complete:
        yield worded("Complete, and kept in the cell above. Save the notebook before you leave.")
