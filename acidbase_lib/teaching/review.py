"""What is said of an answer in a unit's own cells: whether it is complete, and how it fared."""
from __future__ import annotations

from collections.abc import Iterator

from acidbase_lib.teaching.questions.answer_text import ChartAnswer
from acidbase_lib.teaching.questions.exercise import Exercise, Mark, shown


def status(answer: ChartAnswer) -> Iterator[str]:
    """Say what was recorded, what is missing and what was not understood."""
    if answer.blank:
        yield "Not answered yet."
        return
    for problem in answer.problems:
        yield problem.sentence
    if answer.missing:
        yield f"Still to answer: {', '.join(answer.missing)}."
    if answer.complete:
        yield "Complete, and kept in the cell above. Save the notebook before you leave."


def review_lines(exercise: Exercise, result: Mark) -> list[str]:
    """Say how an answer fared, why, and what a wrong one suggests."""
    from acidbase_lib.teaching.misconceptions.catalog import MISCONCEPTIONS

    if result.state == "blank":
        return ["Not answered yet. Answer first; then look here again."]
    lines = []
    for part in result.parts:
        given = (shown(exercise, part.field, part.given) or "nothing").rstrip(".")
        lines.append(f"{part.field}: you answered {given}. " + (
            "Right." if part.right else
            f"Not right: {shown(exercise, part.field, part.key).rstrip('.')}."))
    free = " Any complete answer counts." if exercise.kind == "first thought" else ""
    lines.append(f"{result.points:g} of {result.maximum:g}.{free}")
    lines.extend(exercise.because)
    hints = {name for part in result.parts for name in part.suggests[:1]}
    lines.extend(MISCONCEPTIONS[name].suggests for name in sorted(hints))
    return lines
