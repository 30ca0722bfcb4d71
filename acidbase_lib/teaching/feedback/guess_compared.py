"""What is said of an answer that counts for nothing: what was thought beside what holds."""
from __future__ import annotations

from collections.abc import Iterator

from acidbase_lib.teaching.questions.answer_text import ChartAnswer
from acidbase_lib.teaching.questions.exercise import Exercise, shown


def counts_for_nothing(exercise: Exercise) -> bool:
    """Whether a lesson asks this beside its questions: a guess, or a few words of one's own."""
    return exercise.kind == "first thought" and exercise.points == 0


def verdict_beside(exercise: Exercise, answer: ChartAnswer) -> str:
    """Return the line above: whether a guess holds, or that words of one's own were kept."""
    if exercise.key is None:
        return "Kept. Hold your words against the lines below."
    if all(answer.values.get(name) == key for name, key in exercise.key.items()):
        return "Right: your guess holds."
    return "Not right yet, and that is what a guess is for. See below what holds."


def lines_beside(exercise: Exercise, answer: ChartAnswer) -> Iterator[str]:
    """Yield the guess, what holds, and why."""
    for name, key in (exercise.key or {}).items():
        given = answer.values.get(name)
        yield f"Your guess: {shown(exercise, name, given).rstrip('.') or 'none'}."
        yield f"What holds: {shown(exercise, name, key).rstrip('.')}."
    yield from exercise.because
