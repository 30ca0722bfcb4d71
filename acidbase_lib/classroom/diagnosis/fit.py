"""How well each explanation fits a learner's answers, summed quickly over hundreds of them."""
from __future__ import annotations

from collections.abc import Iterable, Sequence
from math import lgamma, log

from acidbase_lib.teaching.questions.fields import Value

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


class Fit:
    """The same for states of up to two ideas, with a bit for each answer instead of a loop.

    Parameters
    ----------
    seen : sequence of Observation
        One learner's answers.
    ideas : sequence of str
        The ideas that a state may hold.
    """

    def __init__(self, seen: Sequence[Observation], ideas: Sequence[str]) -> None:
        self._seen = seen
        self._all = (1 << len(seen)) - 1
        self._key = _bits(same(o.given, o.key) for o in seen)
        self._sizes = [(_bits(o.choices == size for o in seen), size)
                       for size in sorted({o.choices for o in seen})]
        self._said: dict[str, list[Value | None]] = {}
        self._sways: dict[str, int] = {}
        self._hits: dict[str, int] = {}
        self._guesses: dict[str, int] = {}
        for idea in ideas:
            said = [o.predicted.get(idea, o.key) for o in seen]
            self._said[idea] = said
            self._guesses[idea] = _bits(answer is None for answer in said)
            self._sways[idea] = sways = _bits(
                answer is not None and not same(answer, o.key)
                for answer, o in zip(said, seen, strict=True))
            self._hits[idea] = sways & _bits(same(o.given, answer)
                                             for answer, o in zip(said, seen, strict=True))

    def of(self, state: HeldIdeas, rate: tuple[float, float]) -> float:
        """Return the log probability of the answers in a state."""
        if len(state) > 2:
            return plain_fit(self._seen, state, rate)
        sways = hits = guesses = 0
        for idea in state:
            sways |= self._sways[idea]
            hits |= self._hits[idea]
            guesses |= self._guesses[idea]
        guesses &= ~sways
        hits |= self._key & ~sways & ~guesses
        misses = self._all & ~guesses & ~hits
        two = self._differ(*state) if len(state) == 2 else 0
        spread = -log(2) * (hits & two).bit_count()
        for where, size in self._sizes:
            spread -= ((guesses & where).bit_count() * log(size)
                       + (misses & where & ~two).bit_count() * log(max(1, size - 1))
                       + (misses & where & two).bit_count() * log(max(1, size - 2)))
        return spread + _of_rate(hits.bit_count(), misses.bit_count(), rate)

    def _differ(self, one: str, other: str) -> int:
        """Where both ideas sway an answer, and not the same way."""
        left = self._sways[one] & self._sways[other]
        differ = 0
        while left:
            bit = left & -left
            at = bit.bit_length() - 1
            if not same(self._said[one][at], self._said[other][at]):
                differ |= bit
            left ^= bit
        return differ


def _bits(truths: Iterable[bool]) -> int:
    return sum(1 << at for at, true in enumerate(truths) if true)


def _of_rate(hits: int, misses: int, rate: tuple[float, float]) -> float:
    a, b = rate
    return _log_beta(a + misses, b + hits) - _log_beta(a, b)


def _log_beta(a: float, b: float) -> float:
    return lgamma(a) + lgamma(b) - lgamma(a + b)
