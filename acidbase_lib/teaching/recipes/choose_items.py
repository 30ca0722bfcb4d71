"""Choose a sitting's items so that wrong ideas can be told apart from each other and from none."""
from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from itertools import accumulate, combinations
from math import fsum, sqrt
from operator import mul

from acidbase_lib.teaching.questions.exercise import Exercise
from acidbase_lib.teaching.questions.fields import Value

NONE = "none"  # a learner who holds no wrong idea
SLIP = 0.1  # how often a learner writes something else than they believe
CONFUSED = 2 * sqrt(SLIP * (1 - SLIP))  # Bhattacharyya coefficient of one yes-or-no answer

Pair = tuple[str, str]
Observed = tuple[tuple[str, Value | None], ...]


@dataclass(frozen=True, slots=True)
class Separation:
    """How many answers of a sitting tell each pair of ideas apart.

    Attributes
    ----------
    answers : mapping of (str, str) to int
        For each pair, the number of answers in which the two ideas differ.
    """

    answers: Mapping[Pair, int]

    def below(self, wanted: int) -> tuple[Pair, ...]:
        """Return the pairs that fewer than `wanted` answers tell apart."""
        return tuple(pair for pair, count in self.answers.items() if count < wanted)


def believed(exercise: Exercise, idea: str) -> Observed:
    """Return what a learner holding an idea answers, field by field."""
    key = exercise.key or {}
    answers = key if idea == NONE else exercise.predicted.get(idea, key)
    return tuple((field.name, answers.get(field.name)) for field in exercise.fields)


def separates(exercise: Exercise, pair: Pair) -> int:
    """Return in how many fields of an exercise two ideas answer differently.

    Where an idea finds no option of its own it has to guess, and tells nothing.
    """
    return _apart(believed(exercise, pair[0]), believed(exercise, pair[1]))


def separation(exercises: Iterable[Exercise], ideas: Sequence[str]) -> Separation:
    """Return the separation table of a sitting over "none" and the ideas given."""
    exercises = tuple(exercises)
    return Separation({pair: sum(separates(exercise, pair) for exercise in exercises)
                       for pair in combinations((NONE, *ideas), 2)})


def choose_sitting(slots: Sequence[Sequence[Exercise]], ideas: Sequence[str]) -> tuple[int, ...]:
    """Choose one candidate for each slot of a blueprint.

    Parameters
    ----------
    slots : sequence of sequences of Exercise
        The candidates of each slot: the same question with other patients, or other questions.
    ideas : sequence of str
        The misconceptions to be told apart.

    Returns
    -------
    tuple of int
        For each slot, the place of the chosen candidate.

    Notes
    -----
    Minimizes the sum over all pairs of ``CONFUSED ** (answers that separate them)``, a bound on
    the chance of taking one idea for another, by choosing greedily and then improving one slot at
    a time until no exchange helps. Ties go to the earlier candidate, so the choice is the same on
    every machine.
    """
    pairs = tuple(combinations((NONE, *ideas), 2))
    tables = [[_profile(exercise, pairs) for exercise in slot] for slot in slots]
    total = [0] * len(pairs)
    chosen: list[int] = []
    for table in tables:
        best = _best(table, total)
        chosen.append(best)
        total = _plus(total, table[best])
    improved = True
    while improved:
        improved = False
        for at, table in enumerate(tables):
            without = _minus(total, table[chosen[at]])
            best = _best(table, without)
            if _risk(_plus(without, table[best])) < _risk(total) - 1e-12:
                chosen[at], improved = best, True
                total = _plus(without, table[best])
    return tuple(chosen)


def _profile(exercise: Exercise, pairs: Sequence[Pair]) -> list[int]:
    answers = {idea: believed(exercise, idea) for pair in pairs for idea in pair}
    return [_apart(answers[one], answers[other]) for one, other in pairs]


def _apart(one: Observed, other: Observed) -> int:
    return sum(None not in (a, b) and a != b
               for (_, a), (_, b) in zip(one, other, strict=True))


def _risk(total: Sequence[int]) -> float:
    return fsum(_POWERS[min(count, 63)] for count in total)  # in any order, on any Python


def _best(table: Sequence[Sequence[int]], total: Sequence[int]) -> int:
    return min(range(len(table)), key=lambda i: (_risk(_plus(total, table[i])), i))


def _plus(total: Sequence[int], profile: Sequence[int]) -> list[int]:
    return [a + b for a, b in zip(total, profile, strict=True)]


def _minus(total: Sequence[int], profile: Sequence[int]) -> list[int]:
    return [a - b for a, b in zip(total, profile, strict=True)]


_POWERS = tuple(accumulate([CONFUSED] * 63, mul, initial=1.0))  # no power: processors round it
