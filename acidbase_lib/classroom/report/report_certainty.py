"""The class report on certainty: who was sure and wrong at the first try, question by question."""
from __future__ import annotations

from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from acidbase_lib.teaching.questions.exercise import Exercise, Mark

from .report_questions import in_words, place_of
from .results import LearnerResult

MOST = 3  # more than three are more than one lesson mends
LEAST = 2  # one learner who was sure and wrong may have slipped
SURE = "sure"
_NOT_JUDGED = ("rationale", "first thought")  # a person reads it; nothing was taught yet


@dataclass(frozen=True, slots=True)
class Certainty:
    """How sure the learners were of one question, and how many were sure and wrong.

    Attributes
    ----------
    said : int
        Learners who answered and said how sure they were.
    sure : int
        Those who said "sure".
    sure_wrong : int
        Those who said "sure" and wrote a wrong line; a line left out is no claim.
    answered : str
        The wrong answer most of those gave, with its place; "" where no two gave the same.
    """

    question: str
    said: int
    sure: int
    sure_wrong: int
    answered: str


def certainties(marked: Sequence[LearnerResult], exercises: Mapping[str, Exercise],
                ) -> tuple[Certainty, ...]:
    """Return each question's certainty, in their order; a question nobody said it of is left out.

    It goes by first tries. One that was changed by hand says nothing.

    Parameters
    ----------
    marked : sequence of LearnerResult
        The learners whose submissions could be marked.
    exercises : mapping
        The sitting's exercises by question.
    """
    found = []
    for question, exercise in exercises.items():
        told = [mark for result in marked for mark in result.marks
                if mark.question == question and how_sure_first(mark) is not None]
        if exercise.key is None or exercise.kind in _NOT_JUDGED or not told:
            continue
        sure = [mark for mark in told if how_sure_first(mark) == SURE]
        wrong = [mark for mark in sure
                 if any(part.given is not None and not part.right for part in mark.first_parts)]
        found.append(Certainty(question, len(told), len(sure), len(wrong),
                               _commonest(exercise, wrong)))
    return tuple(found)


def how_sure_first(mark: Mark) -> str | None:
    """Return how sure a learner was at the first try; None where nobody knows or none was made."""
    if not any(part.given is not None for part in mark.first_parts):
        return None
    return mark.how_sure if mark.first is None else mark.first.how_sure


def most_worth(found: Sequence[Certainty]) -> tuple[Certainty, ...]:
    """Return the questions in which most learners were sure and wrong, three at most.

    Of equal numbers, the one first in which more of those who were sure were wrong.
    """
    ranked = sorted(found, key=lambda c: (-c.sure_wrong, -c.sure_wrong / max(c.sure, 1)))
    return tuple(one for one in ranked if one.sure_wrong >= LEAST)[:MOST]


def _commonest(exercise: Exercise, wrong: Sequence[Mark]) -> str:
    counted = Counter((part.field, part.given) for mark in wrong for part in mark.first_parts
                      if not part.right and part.given is not None)
    if not counted or counted.most_common(1)[0][1] < LEAST:
        return ""
    (field, given), _ = counted.most_common(1)[0]
    book = {exercise.id: exercise}
    answer = in_words(book, exercise.id, field, given)
    place = place_of(book, exercise.id, field)
    return f"{field}: {answer}" if "," in place else answer
