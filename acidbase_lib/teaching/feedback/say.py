"""Feedback on one answer: a verdict, a line for each line of it, an idea, hints and reasons."""
from __future__ import annotations

from dataclasses import dataclass

from acidbase_lib.teaching.misconceptions.catalog import MISCONCEPTIONS
from acidbase_lib.teaching.questions.answer_text import ChartAnswer
from acidbase_lib.teaching.questions.exercise import Exercise, Part, mark, shown

from .named_idea import named_idea


@dataclass(frozen=True, slots=True)
class LineFeedback:
    """What is said of one line of an answer.

    Attributes
    ----------
    field : str
        As printed before the colon.
    given : str
        As a person reads it; empty where nothing was given.
    right : bool or None
        None where nobody holds a key to this line.
    why : str
        Wrong: why the chosen option fails here. Right: why it holds.
    reading : str
        The step of this very gas or scene that settles the line; it may name the key.
    """

    field: str
    given: str
    right: bool | None
    why: str
    reading: str


@dataclass(frozen=True, slots=True)
class Feedback:
    """All that is said of one answer.

    Attributes
    ----------
    verdict : str
        Begins with "Right" or "Not right yet" wherever there is a key.
    idea : str or None
        A misconception's key, only if its program explains the whole answer.
    idea_says : str
        What to say of it; empty without one.
    hints : tuple of str
        In steps; the first never gives the key.
    reasons : tuple of str
        Up to four to choose from after an error, the right one among them.
    right_reason : int
        Its place among them.
    reading : tuple of str
        The whole reading of this gas or scene.
    """

    question: str
    verdict: str
    lines: tuple[LineFeedback, ...]
    idea: str | None
    idea_says: str
    hints: tuple[str, ...]
    reasons: tuple[str, ...]
    right_reason: int
    reading: tuple[str, ...]


def feedback_on(exercise: Exercise, answer: ChartAnswer) -> Feedback:
    """Return what is said of an answer to a question.

    Parameters
    ----------
    exercise : Exercise
        The question, as its recipe made it.
    answer : ChartAnswer
        What the answer cell says; lines that were not understood count as not given.
    """
    result = mark(exercise, answer)
    keyed = exercise.key is not None and exercise.kind != "rationale"
    lines = tuple(_line(exercise, part, keyed) for part in result.parts)
    idea = named_idea(exercise, answer.values) if keyed else None
    return Feedback(exercise.id, _verdict(lines, keyed), lines, idea,
                    MISCONCEPTIONS[idea].suggests if idea else "", (), (), 0, exercise.because)


def _verdict(lines: tuple[LineFeedback, ...], keyed: bool) -> str:
    if not keyed:
        return "Kept. No computed answer exists for this question."
    wrong = sum(not line.right for line in lines)
    if not wrong:
        return "Right."
    if len(lines) == 1:
        return "Not right yet."
    return f"Not right yet: {len(lines) - wrong} of {len(lines)} lines are right."


def _line(exercise: Exercise, part: Part, keyed: bool) -> LineFeedback:
    given = "" if part.given is None else shown(exercise, part.field, part.given).rstrip(".")
    return LineFeedback(part.field, given, part.right if keyed else None, "", "")
