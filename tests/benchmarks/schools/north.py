"""Maker north: learners who follow rules, one of them wrong, in the ways its name leaves open.

An idea is a rule that replaces the sound one in a chart with a probability of the learner's own.
What the plain name does not settle is settled once for each learner: how wide a wrong range is,
what a mixed gas becomes, what happens where the direction rule is silent, whether the wrong line
carries into the next. North may be used for tuning.
"""
from __future__ import annotations

import random
from collections.abc import Callable, Iterator
from typing import Any, Final

from tests.benchmarks.schools.bedside import BEDSIDE_IDEAS, at_the_bedside
from tests.benchmarks.schools.items import Item
from tests.benchmarks.schools.made import (
    Gas,
    Lines,
    Made,
    Mind,
    answered,
    chance,
    drawn,
    guessed,
    slipped,
    textbook,
)
from tests.benchmarks.schools.north_rules import IDEAS, unlisted

SHARES: Final = {"sound": 10, "slips": 14, "weak": 8, "partial mastery": 8, "unlisted": 8,
                 "guesser": 2, "one idea": 30, "three quarters": 10, "two ideas": 10}
BEDSIDE_SHARES: Final = {"sound": 20, "slips": 20, "guesser": 2, "one idea": 40,
                         "three quarters": 18}


def mind_of(ideas: tuple[str, ...], rng: random.Random, used: Callable[[], bool]) -> Mind:
    """Return a mind that follows the rules of these ideas where they come to mind."""
    rules = [IDEAS[idea][1](rng) if idea in IDEAS else unlisted(rng) for idea in ideas]

    def mind(gas: Gas) -> Lines:
        sound, own = textbook(gas), {}
        for rule in rules:
            if used():
                own = rule(gas, sound) | own
        return own
    return mind


def learners(seed: int, count: int) -> Iterator[Made]:
    """Yield learners of gases: sound ones, weak ones, and holders of ideas."""
    for n in range(count):
        rng = chance("north", seed, n)
        kind = drawn(rng, SHARES)
        ideas: tuple[str, ...] = ()
        if kind in ("one idea", "three quarters"):
            ideas = (rng.choice(list(IDEAS)),)
        elif kind == "two ideas":
            first = rng.choice(list(IDEAS))
            ideas = first, rng.choice([i for i in IDEAS if IDEAS[i][0] != IDEAS[first][0]])
        yield Made(frozenset(ideas), kind, _sitting(kind, ideas, ("north", seed, n), rng))


def bedside_learners(seed: int, count: int) -> Iterator[Made]:
    """Yield learners for unit 7."""
    for n in range(count):
        rng = chance("north bedside", seed, n)
        kind = drawn(rng, BEDSIDE_SHARES)
        idea = rng.choice(BEDSIDE_IDEAS) if kind in ("one idea", "three quarters") else ""
        use = 0.75 if kind == "three quarters" else rng.uniform(0.6, 1)
        rate = 0.0 if kind == "sound" else rng.uniform(0.05, 0.20) if kind == "slips" else 0.04
        yield Made(frozenset({idea} - {""}), kind, at_the_bedside(
            ("north bedside", seed, n), idea, use, rate, blind=kind == "guesser"))


def _sitting(kind: str, ideas: tuple[str, ...], who: tuple[object, ...], rng: random.Random,
             ) -> Callable[[Item], dict[str, Any]]:
    use = 0.75 if kind == "three quarters" else rng.uniform(0.6, 1)
    rate = {"sound": 0.0, "slips": rng.uniform(0.05, 0.20), "weak": rng.uniform(0.25, 0.5),
            }.get(kind, rng.uniform(0, 0.08))
    poor = rng.sample(("direction", "disorder", "compensation", "processes", "answer"),
                      rng.randint(1, 2))
    rules = ("unlisted",) if kind == "unlisted" else ideas
    makeup = rng.getrandbits(64)

    def sits(item: Item) -> dict[str, Any]:
        at = chance(*who, item.form, item.question)
        if kind == "guesser":
            return guessed(item, item.kinds, at)
        mind = mind_of(rules, random.Random(makeup), lambda: at.random() < use)
        answers = answered(item, mind, at)
        if "helper expected in its range" in rules and at.random() < use:
            answers |= _tested_by_range(item)
        if kind == "partial mastery":
            answers |= guessed(item, [name for name in answers if name in poor], at)
        return slipped(item, answers, rate, at)
    return sits


def _tested_by_range(item: Item) -> dict[str, Any]:
    """Return what somebody writes who expects the helper where a healthy person has it."""
    return {name: 40.0 if "PaCO2" in name else 24.0
            for name, kind in item.kinds.items() if kind == "number" and name.startswith("expect")}
