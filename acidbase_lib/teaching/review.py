"""What is said of an answer in a unit's own cells: whether it is complete, and how it fared."""
from __future__ import annotations

from collections.abc import Iterator

from acidbase_lib.teaching.questions.answer_text import ChartAnswer
from acidbase_lib.teaching.questions.exercise import Exercise, Mark, Part, shown
from acidbase_lib.teaching.questions.which_try import what_counted


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
        lines.append(f"{part.field}: {_at_first(exercise, result, part)}you answered {given}. " + (
            "Right." if part.right else
            f"Not right. Right is: {shown(exercise, part.field, part.key).rstrip('.')}."))
    free = " Any complete answer counts." if exercise.kind == "first thought" else ""
    counted = what_counted(result)
    lines.append(f"{result.points:g} of {result.maximum:g}.{free}{counted and ' '}{counted}")
    lines.extend(exercise.because)
    hints = {name for part in result.first_parts for name in part.suggests[:1]}
    lines.extend(MISCONCEPTIONS[name].suggests for name in sorted(hints))
    return lines


def _at_first(exercise: Exercise, result: Mark, part: Part) -> str:
    """What the first try said of a line, where it was another answer."""
    before = {} if result.first is None else {p.field: p.given for p in result.first.parts}
    if part.field not in before or before[part.field] == part.given:
        return ""
    given = (shown(exercise, part.field, before[part.field]) or "nothing").rstrip(".")
    return f"at first {given}; in the end "
