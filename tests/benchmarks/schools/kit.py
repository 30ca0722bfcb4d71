"""The kit's own learners: they answer as the list of ideas says, with slips. No independent maker.

Beside those of other makers they show how much of a figure comes from knowing the list.
"""
from __future__ import annotations

import random
from collections.abc import Iterator
from dataclasses import dataclass, field
from typing import Any

from .forms import form_of
from .items import RIGHT, SLIP, Item

IDEAS = (
    "directions swapped", "sides swapped", "compensated with an abnormal pH",
    "partial taken for full", "partial taken for uncompensated", "both off means partial",
    "normal pH means normal", "side of a normal pH ignored", "bicarbonate range wrong",
    "PaCO2 range wrong", "PaCO2 sign reversed", "PaCO2 decides everything",
    "bicarbonate decides everything", "shortcut trusted where it is silent",
    "second disorder never looked for",
)


@dataclass(frozen=True, slots=True)
class KitLearner:
    """One who answers as a program of the list does."""

    holds: frozenset[str]
    kind: str
    dice: random.Random = field(repr=False)
    slip: float = 0.10

    def answer(self, item: Item) -> dict[str, Any]:
        """Return the answers of the ideas held; where two differ, one of them."""
        unit, _, seed = item.form.partition("/")
        exercise = form_of(unit, int(seed)).exercises[item.question]
        given: dict[str, Any] = {}
        for name in item.words:
            said = [word for idea in sorted(self.holds)
                    if (word := exercise.predicted.get(idea, {}).get(name)) is not None
                    and word != (exercise.key or {}).get(name)]
            given[name] = SLIP if self.dice.random() < self.slip else (
                self.dice.choice(said) if said else RIGHT)
        return given


def learners(seed: int, count: int) -> Iterator[KitLearner]:
    """Yield four in ten without an idea, four with one, two with two."""
    dice = random.Random(seed)
    for n in range(count):
        size = (0, 1, 0, 1, 2, 0, 1, 0, 1, 2)[n % 10]
        yield KitLearner(frozenset(dice.sample(IDEAS, size)),
                         ("sound", "one idea", "two ideas")[size], random.Random(dice.random()))
