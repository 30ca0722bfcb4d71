"""Results of learners who all have numbers of their own: told together, and to each in theirs."""
from __future__ import annotations

from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import replace
from pathlib import Path
from types import MappingProxyType
from typing import Any

from acidbase_lib.classroom.notebooks.own_numbers import OwnNumbers, numbers_beside
from acidbase_lib.classroom.phrases import number_of
from acidbase_lib.teaching.questions.exercise import Exercise, FirstMark, Mark, Part
from acidbase_lib.teaching.questions.fields import Field, Value

from .results import LearnerResult

Exercises = Mapping[str, Exercise]
SHOWN = 10  # learners of whom it is said at which number a question stands
SAMPLE = 20  # learners by whom it is judged which ideas a class's forms cannot tell apart


def with_own_numbers(results: Sequence[LearnerResult],
                     source: Path | None) -> tuple[LearnerResult, ...]:
    """Return the results with each learner's own numbers, where a sitting gave everybody others.

    Parameters
    ----------
    results : sequence of LearnerResult
        A sitting's.
    source : Path or None
        The instructor's notebook; None where it is no longer there.

    Raises
    ------
    SourceError
        The file that tells who has which numbers cannot be read.
    """
    beside = None if source is None else numbers_beside(source.parent)
    if beside is None:
        return tuple(results)
    numbers = OwnNumbers(beside)
    return tuple(replace(result, own=numbers.sheet(result.learner)) for result in results)


def as_numbered(result: LearnerResult, exercises: Exercises) -> tuple[LearnerResult, Exercises]:
    """Return a result and its exercises as the learner's own notebook numbers them."""
    if result.own is None:
        return result, exercises
    place = {slot: number for number, slot in result.own.slots.items()}
    marks = {place[mark.question]: replace(mark, question=place[mark.question])
             for mark in result.marks if mark.question in place}
    return (replace(
        result, marks=tuple(marks[one] for one in place.values() if one in marks),
        notes=tuple(replace(note, question=place.get(note.question, note.question))
                    for note in result.notes),
        comments={place.get(one, one): text for one, text in result.comments.items()},
        by_hand=frozenset(place.get(one, one) for one in result.by_hand)), result.own.as_seen)


def place_of(result: LearnerResult, question: str) -> str:
    """Return the number at which a question of everybody's stands in this learner's notebook."""
    slots = {} if result.own is None else result.own.slots
    return next((place for place, slot in slots.items() if slot == question), question)


def as_on_their_sheet(result: LearnerResult, questions: Sequence[str]) -> str:
    """Say questions by the numbers that this learner has them at, in the order of their sheet."""
    slots = [] if result.own is None else list(result.own.slots)
    places = [place_of(result, one) for one in questions]
    if result.own is None:
        return ", ".join(map(number_of, places))
    places.sort(key=lambda one: slots.index(one) if one in slots else len(slots))
    return f"{', '.join(map(number_of, places))} on their own sheet"


def question_at(result: LearnerResult, place: str) -> str:
    """Return the question of everybody's that stands at a number of this learner's notebook."""
    return place if result.own is None else result.own.slots.get(place, place)


def where_it_stands(results: Sequence[LearnerResult], question: str, learner: str = "") -> str:
    """Say which question is meant where everybody has an order of their own; else nothing."""
    of = [one for one in results if one.own is not None and learner in {"", one.learner}]
    if not of:
        return ""
    yours = f"{number_of(question)} in your notebook"
    if learner:
        return (f"That is {number_of(place_of(of[0], question))} on {learner}'s own sheet, and "
                f"{yours}.")
    other = [f"{one.learner} {number_of(place)}" for one in of
             if (place := place_of(one, question)) != question]
    more = f" and {len(other) - SHOWN} more" if len(other) > SHOWN else ""
    at = f" ({', '.join(other[:SHOWN])}{more})" if other else ""
    return (f"Everybody has an order of their own here: this is {yours}, and another number on "
            f"{len(other)} of {len(of)} sheets{at}. Where a learner told you the number, --void "
            "with --for reads it as on that learner's sheet.")


def in_words_of_all(result: LearnerResult, exercises: Exercises) -> tuple[LearnerResult, Exercises]:
    """Return a result and its exercises with each option by its text in place of its letter.

    "B" is another patient for everybody: only what stands beside it can be counted over a class.
    """
    if result.own is None:
        return result, exercises
    own = result.own.by_slot
    return (replace(result, marks=tuple(_mark_in_words(mark, own[mark.question])
                                        for mark in result.marks)),
            {question: _in_words(exercise) for question, exercise in own.items()})


def not_apart_for_most(marked: Sequence[LearnerResult], pairs_of: Any,
                       ) -> tuple[tuple[str, str, int], ...] | None:
    """Return the pairs of ideas that most learners' forms tell apart too rarely.

    None where everybody has the same numbers. `pairs_of` gives one form's pairs.
    """
    sample = [result.own.by_slot for result in marked[:SAMPLE] if result.own is not None]
    if not sample:
        return None
    found: Counter[tuple[str, str]] = Counter()
    fewest: dict[tuple[str, str], int] = {}
    for exercises in sample:
        for one, other, apart in pairs_of(exercises):
            found[one, other] += 1
            fewest[one, other] = min(apart, fewest.get((one, other), apart))
    return tuple((*pair, fewest[pair]) for pair, forms in found.items()
                 if 2 * forms > len(sample))


def _texts(field: Field) -> Mapping[str, str]:
    return {choice.word: choice.text for choice in field.choices if choice.text}


def _said(value: Value | None, texts: Mapping[str, str]) -> Value | None:
    if isinstance(value, tuple):
        return tuple(texts.get(word, word) for word in value)
    return texts.get(value, value) if isinstance(value, str) else value


def _in_words(exercise: Exercise) -> Exercise:
    texts = {field.name: _texts(field) for field in exercise.fields}

    def told(answers: Mapping[str, Any]) -> Mapping[str, Any]:
        return MappingProxyType({name: _said(value, texts.get(name, {}))
                                 for name, value in answers.items()})
    return replace(
        exercise, key=None if exercise.key is None else told(exercise.key),
        predicted={idea: told(answers) for idea, answers in exercise.predicted.items()})


def _mark_in_words(mark: Mark, exercise: Exercise) -> Mark:
    texts = {field.name: _texts(field) for field in exercise.fields}

    def told(parts: Sequence[Part]) -> tuple[Part, ...]:
        return tuple(replace(part, given=_said(part.given, texts.get(part.field, {})),
                             key=_said(part.key, texts.get(part.field, {}))) for part in parts)
    first: FirstMark | None = mark.first
    return replace(mark, parts=told(mark.parts),
                   first=None if first is None else replace(first, parts=told(first.parts)))
