"""What is said of an answer that counts for nothing: what was thought beside what holds."""
from __future__ import annotations

from collections.abc import Iterator

from acidbase_lib.teaching.questions.answer_text import ChartAnswer
from acidbase_lib.teaching.questions.exercise import Exercise, shown
from acidbase_lib.teaching.worded import worded


def counts_for_nothing(exercise: Exercise) -> bool:
    """Whether a lesson asks this beside its questions: a guess, or a few words of one's own."""
    return exercise.kind == "first thought" and exercise.points == 0


def verdict_beside(exercise: Exercise, answer: ChartAnswer) -> str:
    """Return the line above: whether a guess holds, or that words of one's own were kept."""
    if exercise.key is None:
        return worded("Kept. Hold your words against the lines below.")
    if holds(exercise, answer):
        return worded("Right: your guess holds.")
    return worded("Not right yet, and that is what a guess is for. See below what holds.")


def holds(exercise: Exercise, answer: ChartAnswer) -> bool:
    """Whether a guess is right; words of one's own are neither."""
    return exercise.key is not None and all(
        answer.values.get(name) == key for name, key in exercise.key.items())


def lines_beside(exercise: Exercise, answer: ChartAnswer) -> Iterator[str]:
    """Yield the guess, what holds, and why."""
    for name, key in (exercise.key or {}).items():
        given = answer.values.get(name)
        yield worded("Your guess: {option}.", option=shown(exercise, name, given).rstrip(".")
                     or worded("none"))
        yield worded("What holds: {option}.", option=shown(exercise, name, key).rstrip("."))
    yield from exercise.because
