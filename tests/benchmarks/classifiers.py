"""Two published ways to classify learners, as rivals for the diagnosis; used by the benchmark only.

Nearest ideal response: Wang, Chiu & Köhn 2022, nonparametric classification for multiple-choice
items. Bug-type DINA by expectation–maximization: after Junker & Sijtsma 2001 and Kuo, Chen & de la
Torre 2016. Both from memory of the method, not yet checked against the papers.
"""
from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import numpy.typing as npt

from acidbase_lib.classroom.diagnosis.observation import HeldIdeas, Observation, same

Learner = Sequence[Observation]


def nearest(
    learners: Sequence[Learner], states: Sequence[HeldIdeas], seed: int = 1
) -> list[HeldIdeas]:
    """The state whose ideal answers differ from the given ones in the fewest places.

    Ties go to the fewest ideas, then to chance.
    """
    dice = np.random.default_rng(seed)
    found = []
    for learner in learners:
        far = np.array([sum(not any(same(o.given, x) for x in o.ideal(state)) for o in learner)
                        + 0.01 * len(state) for state in states])
        found.append(states[int(dice.choice(np.flatnonzero(far == far.min())))])
    return found


def dina(
    learners: Sequence[Learner], states: Sequence[HeldIdeas], rounds: int = 60
) -> list[HeldIdeas]:
    """The likeliest state, slips and guesses fitted to the class, from right and wrong alone."""
    right = np.array([[same(o.given, o.key) for o in learner] for learner in learners], float)
    would = np.array([[all(same(x, o.key) for x in o.ideal(state)) and bool(o.ideal(state))
                       for o in learners[0]] for state in states], float)
    slip = np.full(right.shape[1], 0.1)
    guess = np.full(right.shape[1], 0.1)
    prior = np.full(len(states), 1 / len(states))
    for _ in range(rounds):
        held = _held(right, would, slip, guess, prior)
        prior = (held.sum(0) + 0.01) / (held.sum() + 0.01 * len(states))
        expected = held @ would  # learners x answers: chance to be in a state that answers rightly
        slip = _share((expected * (1 - right)).sum(0), expected.sum(0))
        guess = _share(((1 - expected) * right).sum(0), (1 - expected).sum(0))
    return [states[int(k)] for k in _held(right, would, slip, guess, prior).argmax(1)]


def _held(right: npt.NDArray[np.float64], would: npt.NDArray[np.float64],
          slip: npt.NDArray[np.float64], guess: npt.NDArray[np.float64],
          prior: npt.NDArray[np.float64]) -> npt.NDArray[np.float64]:
    """Posterior of every state for every learner."""
    chance = would * (1 - slip) + (1 - would) * guess
    score = right @ np.log(chance).T + (1 - right) @ np.log(1 - chance).T + np.log(prior)
    held = np.exp(score - score.max(1, keepdims=True))
    return np.asarray(held / held.sum(1, keepdims=True))


def _share(part: npt.NDArray[np.float64], whole: npt.NDArray[np.float64],
           ) -> npt.NDArray[np.float64]:
    """A share with one tenth as its starting guess, kept away from 0 and above one half."""
    return np.clip((part + 0.2) / (whole + 2.0), 0.01, 0.45)
