"""One answer as evidence: what was given, what is right, what each idea would have answered."""
from __future__ import annotations

import dataclasses
from collections.abc import Mapping
from dataclasses import dataclass

from acidbase_lib.teaching.questions.fields import Value

HeldIdeas = tuple[str, ...]  # the ideas held at once; () is a sound reader


@dataclass(frozen=True, slots=True)
class Observation:
    """One answer: what was given, what is right, and what each idea would have answered.

    An idea that is not in `predicted` answers as the key does; one that is there with None
    believes what is not among the choices, so its holder can only guess. `asks` says what is asked:
    it is the same for every question that asks the same thing in the same words. `variants` are
    what other readings of an idea's name would answer; an idea without any has its program alone.
    """

    question: str
    field: str
    given: Value
    key: Value
    predicted: Mapping[str, Value | None]
    choices: int = 3
    asks: str = ""
    variants: Mapping[str, tuple[Value | None, ...]] = dataclasses.field(default_factory=dict)

    @property
    def telling(self) -> frozenset[str]:
        """The ideas that would answer this differently from the key."""
        return frozenset(idea for idea, answer in self.predicted.items()
                         if answer is not None and not same(answer, self.key))

    def ideal(self, state: HeldIdeas) -> tuple[Value, ...]:
        """What a learner in this state answers.

        Two ideas that disagree leave two answers open; none at all means that one guesses.
        """
        swayed: list[Value] = []
        guesses = False
        for idea in state:
            answer = self.predicted.get(idea, self.key)
            if answer is None:
                guesses = True
            elif not same(answer, self.key) and not any(same(answer, other) for other in swayed):
                swayed.append(answer)
        return tuple(swayed) or (() if guesses else (self.key,))


def same(one: Value | None, other: Value | None) -> bool:
    """Whether two answers are the same answer: words exactly, numbers within half a percent."""
    if isinstance(one, int | float) and isinstance(other, int | float):
        return abs(one - other) <= 0.005 * max(abs(one), abs(other), 1e-9)
    if isinstance(one, list | tuple) and isinstance(other, list | tuple):
        return tuple(one) == tuple(other)
    return bool(one == other)
