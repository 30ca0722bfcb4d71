"""Simulated learners with planted ideas, on items chosen from the units' own candidates."""
from __future__ import annotations

import random
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import combinations

import numpy as np
import numpy.typing as npt

from acidbase_lib.classroom.diagnosis import Observation, State, observe, states
from acidbase_lib.teaching.exercises import Exercise, Mark, Part
from acidbase_lib.teaching.questions import load_plan
from acidbase_lib.teaching.recipes import candidates
from acidbase_lib.teaching.sitting import choose_items

#: The ideas about reading a gas; those about oxygen, causes and the bedside have their own units.
IDEAS = (
    "directions swapped", "sides swapped", "compensated with an abnormal pH",
    "partial taken for full", "partial taken for uncompensated", "both off means partial",
    "normal pH means normal", "side of a normal pH ignored", "bicarbonate range wrong",
    "PaCO2 range wrong", "PaCO2 sign reversed", "PaCO2 decides everything",
    "bicarbonate decides everything", "shortcut trusted where it is silent",
    "second disorder never looked for",
)
UNITS = ("02_primary_disorder", "03_compensation", "04_beyond_the_shortcut", "08_sitting")
POOL, SIZE = 300, 12


def pool(size: int = POOL) -> list[Exercise]:
    """Candidates of the units' forms that ask about these ideas, each under a name of its own."""
    made: list[Exercise] = []
    form = 0
    while len(made) < size:
        form += 1
        for unit in UNITS:
            made += [replace(e, id=f"{unit[:2]}-{form}-{e.id}-{pick}")
                     for slot in candidates(load_plan(unit), form)
                     for pick, e in enumerate(slot) if _fits(e)]
    return sorted(random.Random(1).sample(made, size), key=lambda e: e.id)


def _fits(e: Exercise) -> bool:
    """Whether words are chosen for an answer, and one of the ideas would choose another."""
    key = e.key or {}
    return bool(key) and all(f.kind == "one" for f in e.fields) and any(
        value != key.get(name) for i in IDEAS for name, value in e.predicted.get(i, {}).items())


def chosen(items: Sequence[Exercise], ideas: Sequence[str] = IDEAS) -> list[Exercise]:
    """The twelve that tell the ideas apart best."""
    return list(choose_items(items, SIZE, ideas))


def at_random(items: Sequence[Exercise], seed: int) -> list[Exercise]:
    """As many, drawn blindly."""
    return random.Random(seed).sample(list(items), SIZE)


@dataclass(frozen=True, slots=True)
class Asked:
    """A sitting: its answers with the key given, and the words offered for each."""

    observations: tuple[Observation, ...]
    words: tuple[tuple[str, ...], ...]

    @classmethod
    def of(cls, exercises: Sequence[Exercise], ideas: Sequence[str] = IDEAS) -> Asked:
        """Keep of each exercise what the ideas in question would answer."""
        known: Mapping[str, Exercise] = {
            e.id: replace(e, predicted={i: a for i, a in e.predicted.items() if i in ideas})
            for e in exercises}
        seen = observe(known, [Mark(e.id, e.points, e.points, "answered", tuple(
            Part(f.name, (e.key or {})[f.name], (e.key or {})[f.name], True) for f in e.fields))
            for e in known.values()])
        words = {(e.id, f.name): f.words for e in known.values() for f in e.fields}
        return cls(seen, tuple(tuple(words[o.question, o.field]) for o in seen))

    def answered(self, held: State, slip: float, dice: random.Random) -> list[Observation]:
        """What a learner in this state writes; a slip falls on any other word alike."""
        given = []
        for o, words in zip(self.observations, self.words, strict=True):
            ideal = o.ideal(held)
            value = dice.choice(ideal) if ideal else dice.choice(words)
            if dice.random() < slip:
                value = dice.choice([w for w in words if w != value])
            given.append(replace(o, given=value))
        return given

    def guessed(self, dice: random.Random) -> list[Observation]:
        """What somebody writes who guesses every answer."""
        return [replace(o, given=dice.choice(words))
                for o, words in zip(self.observations, self.words, strict=True)]


def without(learner: Sequence[Observation], idea: str) -> list[Observation]:
    """The same answers where an idea is not on the list."""
    return [replace(o, predicted={k: v for k, v in o.predicted.items() if k != idea})
            for o in learner]


def pairs() -> tuple[State, ...]:
    """Every two ideas."""
    return tuple(combinations(IDEAS, 2))


def chosen_by_exchange(items: Sequence[Exercise], at_once: int = 2) -> list[Exercise]:
    """Twelve chosen against pairs of ideas as well, exchanging one at a time until none helps.

    Two explanations of one or no idea weigh 1, of which one holds a pair 0.1, both 0.02.
    """
    held = states(IDEAS, at_once)
    upper = np.triu_indices(len(held), 1)
    apart = np.array([_apart(Asked.of([e]), held)[upper] for e in items], np.float32)
    single = np.array([len(state) < 2 for state in held])
    weight = np.array([0.02, 0.1, 1.0])[single[upper[0]].astype(int) + single[upper[1]]]

    def risk(total: npt.NDArray[np.float32]) -> npt.NDArray[np.float64]:
        return np.asarray((weight * np.exp2(-total)).sum(-1))

    taken: list[int] = []
    improved = True
    while improved:
        before = float(risk(apart[taken].sum(0))) if len(taken) == SIZE else np.inf
        for place in range(SIZE):
            others = taken[:place] + taken[place + 1:]
            told = risk(apart[others].sum(0) + apart)
            told[others] = np.inf
            taken[place:place + 1] = [int(told.argmin())]
        improved = float(risk(apart[taken].sum(0))) < before * (1 - 1e-6)
    return [items[i] for i in sorted(taken)]


def _apart(asked: Asked, held: Sequence[State]) -> npt.NDArray[np.float64]:
    """For every two states, in how many of the answers they differ; sharing one of two is half."""
    total = np.zeros((len(held), len(held)))
    for o in asked.observations:
        ideals = [frozenset(map(str, o.ideal(state))) for state in held]
        kinds = list(dict.fromkeys(ideals))
        table = np.array([[1 - len(a & b) / max(len(a), len(b)) if a and b else 0.0
                           for b in kinds] for a in kinds])
        at = [kinds.index(ideal) for ideal in ideals]
        total += table[np.ix_(at, at)]
    return total
