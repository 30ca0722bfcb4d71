"""How well one explanation fits a learner's answers, whatever the rate of slips."""
from __future__ import annotations

from collections.abc import Sequence
from math import lgamma, log

from .observation import HeldIdeas, Observation, same


def plain_fit(seen: Sequence[Observation], state: HeldIdeas, rate: tuple[float, float]) -> float:
    """Log probability of the answers in this state, the slip rate integrated out."""
    hits = misses = 0
    spread = 0.0
    for o in seen:
        ideal = o.ideal(state)
        if not ideal:
            spread -= log(o.choices)
        elif any(same(o.given, answer) for answer in ideal):
            hits += 1
            spread -= log(len(ideal))
        else:
            misses += 1
            spread -= log(max(1, o.choices - len(ideal)))
    return spread + _of_rate(hits, misses, rate)


def _of_rate(hits: int, misses: int, rate: tuple[float, float]) -> float:
    a, b = rate
    return _log_beta(a + misses, b + hits) - _log_beta(a, b)


def _log_beta(a: float, b: float) -> float:
    return lgamma(a) + lgamma(b) - lgamma(a + b)
