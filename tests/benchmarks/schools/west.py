"""Maker west: learners who work step by step; a step may be a buggy one, forgotten, or guessed.

Each step reads what the steps before it wrote, so that an early error is carried along. A bug
stands in the place of one step. Memory lapses, more of them toward the end of the sitting; who has
forgotten a step falls back on a habit: the first or last option, the longest one, the word of the
line above, the bug itself. West is only for reporting.
"""
from __future__ import annotations

import random
from collections.abc import Callable, Iterator
from typing import Any, Final

from tests.benchmarks.schools.bedside import BEDSIDE_IDEAS, at_the_bedside
from tests.benchmarks.schools.items import Item
from tests.benchmarks.schools.made import (
    LINES,
    Gas,
    Lines,
    Made,
    Mind,
    answered,
    chance,
    drawn,
    guessed,
    number_of,
    slipped,
)
from tests.benchmarks.schools.west_steps import BUGS, UNLISTED, WIDE, worked

SHARES: Final = {"sound": 10, "slips": 14, "weak": 7, "partial mastery": 7, "tired": 4,
                 "unlisted": 8, "guesser": 2, "one idea": 28, "three quarters": 10,
                 "two ideas": 10}
HABITS: Final = {"first": 2, "last": 1, "longest": 2, "line above": 2, "any": 3}


def mind_of(ideas: tuple[str, ...], makeup: int, fires: Callable[[], bool],
            unlisted: bool = False) -> Mind:
    """Return a mind that works with the bugs that fire; lines as without any bug are left out."""
    fixed = random.Random(makeup)
    taste, strange = fixed.random(), fixed.choice(UNLISTED)
    edges = {idea: (fixed.uniform(*low), fixed.uniform(*high), fixed.random() < 0.5)
             for idea, (_, low, high) in WIDE.items()}
    usual = {"pH": (7.35, 7.45), "PaCO2": (35.0, 45.0), "bicarbonate": (22.0, 26.0)}

    def mind(gas: Gas) -> Lines:
        firing = [idea for idea in ideas if fires()]
        limits = dict(usual)
        for idea in firing:
            if idea in WIDE:
                value, (low, high, both) = WIDE[idea][0], edges[idea]
                limits[value] = (low, high) if both else (usual[value][0], high)
        bugs = tuple(BUGS[idea] for idea in firing) + ((strange,) if unlisted and fires() else ())
        own, plain = worked(gas, bugs, limits, taste), worked(gas, (), usual, taste)
        said = {"processes"} & {line for bug in bugs for line in bug}  # a count is written anyway
        return {line: word for line, word in own.items() if word != plain[line] or line in said}
    return mind


def learners(seed: int, count: int) -> Iterator[Made]:
    """Yield learners of gases: sound ones, weak ones, and holders of ideas."""
    for n in range(count):
        rng = chance("west", seed, n)
        kind = drawn(rng, SHARES)
        ideas: tuple[str, ...] = ()
        if kind in ("one idea", "three quarters"):
            ideas = (rng.choice(list(BUGS)),)
        elif kind == "two ideas":  # two bugs that stand in the place of different steps
            first = rng.choice(list(BUGS))
            ideas = first, rng.choice([i for i in BUGS if not set(BUGS[i]) & set(BUGS[first])
                                       and i != first])
        yield Made(frozenset(ideas), kind, _sitting(kind, ideas, ("west", seed, n), rng))


def bedside_learners(seed: int, count: int) -> Iterator[Made]:
    """Yield learners for unit 7."""
    for n in range(count):
        rng = chance("west bedside", seed, n)
        kind = drawn(rng, {"sound": 15, "slips": 25, "guesser": 2, "one idea": 40,
                           "three quarters": 18})
        idea = rng.choice(BEDSIDE_IDEAS) if kind in ("one idea", "three quarters") else ""
        use = 0.75 if kind == "three quarters" else rng.uniform(0.75, 1)
        rate = 0.0 if kind == "sound" else rng.uniform(0.03, 0.20)
        yield Made(frozenset({idea} - {""}), kind, at_the_bedside(
            ("west bedside", seed, n), idea, use, rate, blind=kind == "guesser"))


def _sitting(kind: str, ideas: tuple[str, ...], who: tuple[object, ...], rng: random.Random,
             ) -> Callable[[Item], dict[str, Any]]:
    use = 0.75 if kind == "three quarters" else rng.uniform(0.75, 1)
    makeup, habit = rng.getrandbits(64), drawn(rng, HABITS)
    lapse = {"sound": 0.0, "slips": 0.04, "weak": rng.uniform(0.3, 0.55), "tired": 0.02,
             }.get(kind, rng.uniform(0, 0.04))
    fatigue = {"sound": 0.0, "tired": rng.uniform(0.02, 0.05)}.get(kind, rng.uniform(0, 0.006))
    slip = rng.uniform(0.01, 0.12) if kind == "slips" else 0.0
    unknown = rng.sample(LINES[2:], 2) if kind == "partial mastery" else []

    def sits(item: Item) -> dict[str, Any]:
        at = chance(*who, item.form, item.question)
        if kind == "guesser":
            return guessed(item, item.kinds, at)
        tired = fatigue * (number_of(item) - 1)
        mind = mind_of(ideas, makeup, lambda: at.random() < use + tired,
                       unlisted=kind == "unlisted")
        answers = answered(item, mind, at)
        if ("helper expected in its range" in ideas and "expected PaCO2" in item.kinds
                and at.random() < use):
            answers["expected PaCO2"] = at.choice((35.0, 40.0, 45.0))
        lost = [name for name in answers if name in unknown or at.random() < lapse + tired]
        answers |= by_habit(item, answers, lost, habit, at)
        return slipped(item, answers, slip, at)
    return sits


def by_habit(item: Item, answers: dict[str, Any], lost: list[str], habit: str,
             rng: random.Random) -> dict[str, Any]:
    """Return what is written where a step was forgotten."""
    told: dict[str, Any] = {}
    for name in lost:
        words = item.words[name]
        texts = item.options.get(name, {})
        names = list(answers)
        above = answers[names[names.index(name) - 1]] if names.index(name) else None
        if item.kinds[name] != "one" or habit == "any" or rng.random() < 0.3:
            told |= guessed(item, [name], rng)
        elif habit == "line above" and above in words:
            told[name] = above
        elif habit == "longest":
            told[name] = max(words, key=lambda word: len(texts.get(word, word)))
        else:
            told[name] = words[-1] if habit == "last" else words[0]
    return told
