"""Simulated learners with planted ideas, on sittings that the kit itself chooses."""
from __future__ import annotations

import random
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from functools import cache
from itertools import combinations

from acidbase_lib.classroom.commands.form import choose_form, drawn_form
from acidbase_lib.classroom.diagnosis.diagnosis import observe
from acidbase_lib.classroom.diagnosis.observation import HeldIdeas, Observation
from acidbase_lib.teaching.questions.exercise import Exercise, Mark, Part
from acidbase_lib.teaching.recipes.book import candidates
from acidbase_lib.teaching.recipes.deal import PICKS
from acidbase_lib.teaching.recipes.parts import one_case
from acidbase_lib.teaching.recipes.whole_chart import charted
from acidbase_lib.teaching.seeded_random import SeededRandom

from .outside import OUTSIDE

#: The ideas about reading a gas; those about oxygen, causes and the bedside have their own units.
IDEAS = (
    "directions swapped", "sides swapped", "compensated with an abnormal pH",
    "partial taken for full", "partial taken for uncompensated", "both off means partial",
    "normal pH means normal", "side of a normal pH ignored", "bicarbonate range wrong",
    "PaCO2 range wrong", "PaCO2 sign reversed", "PaCO2 decides everything",
    "bicarbonate decides everything", "shortcut trusted where it is silent",
    "second disorder never looked for",
)
SITTING = "twelve_charts"
SIZE = 12


@cache
def pool(form: int) -> tuple[tuple[Exercise, ...], ...]:
    """The 300 candidates of a form: twelve questions, 25 patients each."""
    return tuple(tuple(slot) for slot in candidates(drawn_form(SITTING, form).plan, form))


@dataclass(frozen=True, slots=True)
class Asked:
    """A sitting: its answers with the key given, and the words offered for each."""

    observations: tuple[Observation, ...]
    words: tuple[tuple[str, ...], ...]
    outside: Mapping[str, tuple[str, ...]]  # what ideas that nobody listed would answer

    @classmethod
    def of(cls, exercises: Sequence[Exercise],
           outside: Mapping[str, tuple[str, ...]] | None = None) -> Asked:
        """Keep of each exercise what the ideas in question would answer."""
        fitting = [e for e in exercises if e.key and all(f.kind == "one" for f in e.fields)]
        known: Mapping[str, Exercise] = {
            e.id: replace(e, predicted={i: a for i, a in e.predicted.items() if i in IDEAS})
            for e in fitting}
        seen = observe(known, [Mark(e.id, e.points, e.points, "answered", tuple(
            Part(f.name, (e.key or {})[f.name], (e.key or {})[f.name], True) for f in e.fields))
            for e in known.values()])
        words = {(e.id, f.name): f.words for e in known.values() for f in e.fields}
        return cls(seen, tuple(words[o.question, o.field] for o in seen), outside or {})

    def answered(self, held: HeldIdeas, slip: float, dice: random.Random) -> list[Observation]:
        """What a learner in this state writes; a slip falls on any other word alike."""
        ideals = [o.ideal(held) or words
                  for o, words in zip(self.observations, self.words, strict=True)]
        return self._slipping([dice.choice(ideal) for ideal in ideals], slip, dice)

    def answered_outside(self, idea: str, slip: float, dice: random.Random) -> list[Observation]:
        """What a learner writes who holds an idea that nobody listed."""
        return self._slipping(self.outside[idea], slip, dice)

    def guessed(self, dice: random.Random) -> list[Observation]:
        """What somebody writes who guesses every answer."""
        return self._slipping([dice.choice(words) for words in self.words], 0.0, dice)

    def _slipping(self, thought: Sequence[object], slip: float, dice: random.Random,
                  ) -> list[Observation]:
        given = []
        for o, words, value in zip(self.observations, self.words, thought, strict=True):
            if dice.random() < slip:
                value = dice.choice([word for word in words if word != value])
            given.append(replace(o, given=value))
        return given


def chosen(form: int) -> Asked:
    """The kit's own sitting: one of 25 patients for each question, told apart best."""
    unit = choose_form(SITTING, form, IDEAS)
    return _asked(form, [PICKS.index(pick) for pick in unit.picks])


def at_random(form: int) -> Asked:
    """As many of the same candidates, drawn blindly."""
    dice = random.Random(form)
    return _asked(form, [dice.randrange(len(slot)) for slot in pool(form)])


def of_unit(unit_id: str, form: int) -> Asked:
    """A unit's own form, chosen for these ideas: only answers that are one word of several."""
    return Asked.of(list(choose_form(unit_id, form, IDEAS)))


def _asked(form: int, picks: Sequence[int]) -> Asked:
    plan = drawn_form(SITTING, form).plan
    gases = [one_case(question, SeededRandom(f"{plan.id}|{question.id}|{form}|{pick}")).gas
             for question, pick in zip(plan.questions, picks, strict=True)]
    exercises = [slot[pick] for slot, pick in zip(pool(form), picks, strict=True)]
    outside = {name: tuple(word for gas in gases for word in charted(program(gas)).values())
               for name, program in OUTSIDE.items()}
    return Asked.of(exercises, outside)


def without(learner: Sequence[Observation], idea: str) -> list[Observation]:
    """The same answers where an idea is not on the list."""
    return [replace(o, predicted={k: v for k, v in o.predicted.items() if k != idea})
            for o in learner]


def pairs() -> tuple[HeldIdeas, ...]:
    """Every two ideas."""
    return tuple(combinations(IDEAS, 2))
