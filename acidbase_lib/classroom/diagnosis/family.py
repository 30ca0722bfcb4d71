"""How well an idea explains the answers where it has variants and is applied now and then."""
from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from functools import lru_cache
from math import log
from typing import Final

from acidbase_lib.teaching.questions.fields import Value

from .observation import HeldIdeas, Observation, same
from .own_rule import SLIPS, log_sum, slip_weights

#: In what share of answers a holder applies an idea, and how often that share is met.
APPLIED: Final = ((0.97, 0.75), (0.75, 0.20), (0.50, 0.05))
#: How often an idea reaches a line of the chart at all: a holder may know the line another way.
REACHES: Final = 0.93
#: How often a holder answers by the list's own program; the rest is shared by the other variants.
AS_LISTED: Final = 0.5
#: So many ideas, those that explain most alone, are tried two at a time.
TRIED_TOGETHER: Final = 7
#: So many variants of each of them, those that explain most alone.
VARIANTS_TOGETHER: Final = 3



@dataclass(frozen=True, slots=True)
class _Swayed:
    """Where a reading sways answers, where it was answered so, and where it leaves one guessing."""

    sways: int
    hits: int
    guesses: int
    said: tuple[Value | None, ...]


class Families:
    """Log probability of a learner's answers under ideas, each a family of variants.

    Parameters
    ----------
    seen : sequence of Observation
        One learner's answers.
    ideas : sequence of str
        The ideas considered.
    slip : (float, float)
        Beta distribution of the slip rate.

    Notes
    -----
    A holder has one variant. An answer that it sways follows it with a chance that is the same for
    the whole sitting and unknown, or is answered soundly; slips fall anywhere. Each kind of line
    follows the idea or, more rarely, is answered soundly throughout. Chance of application, lines
    and variant are summed over. In the family of DINA models with attribute-level application; our
    own weights, tuned on simulated learners of one maker who had not seen the programs.
    """

    def __init__(self, seen: Sequence[Observation], ideas: Sequence[str],
                 slip: tuple[float, float]) -> None:
        self._weights = tuple(weight + log(share) for weight in slip_weights(slip)
                              for _, share in APPLIED)
        self._all = (1 << len(seen)) - 1
        self._right = _bits(o.given == o.key or same(o.given, o.key) for o in seen)
        lines: dict[tuple[str, int], int] = {}
        for place, o in enumerate(seen):
            at = (_line(o), o.choices)
            lines[at] = lines.get(at, 0) | 1 << place
        self._lines = [(mask, choices) for (_, choices), mask in lines.items()]
        self._spread = -sum(log(max(1, o.choices - 1)) for place, o in enumerate(seen)
                            if not self._right >> place & 1)
        self._readings = {idea: list(_readings(seen, idea)) for idea in ideas}
        self.best: dict[str, int] = {}
        self._rank: dict[str, list[int]] = {}
        self._prior: dict[str, list[float]] = {}

    def sound(self) -> float:
        """Return the log probability where nothing is held."""
        return self._of(0, 0, 0)

    def one(self, idea: str) -> float:
        """Return the log probability where one idea is held, over its variants."""
        readings = self._readings[idea]
        others = len(readings) - 1
        fits = [self._of(r.sways, r.hits, r.guesses) + log(
            1.0 if not others else AS_LISTED if not at else (1 - AS_LISTED) / others)
            for at, r in enumerate(readings)]
        self._rank[idea] = sorted(range(len(fits)), key=lambda at: -fits[at])[:VARIANTS_TOGETHER]
        self._prior[idea] = [log(1.0 if not others else AS_LISTED if not at else
                                 (1 - AS_LISTED) / others) for at in range(len(fits))]
        self.best[idea] = self._rank[idea][0]
        return log_sum(fits)

    def several(self, state: HeldIdeas) -> float:
        """Return the log probability where ideas are held together, in variants that fit together.

        Call `one` of each first.
        """
        chosen = [self.best[idea] for idea in state]
        top = self._together(state, chosen)
        for place, idea in enumerate(state):
            for at in self._rank[idea]:
                other = [*chosen[:place], at, *chosen[place + 1:]]
                if other != chosen and (fit := self._together(state, other)) > top:
                    top, chosen = fit, other
        return top

    def _together(self, state: HeldIdeas, chosen: Sequence[int]) -> float:
        held = [self._readings[idea][at] for idea, at in zip(state, chosen, strict=True)]
        prior = sum(self._prior[idea][at] for idea, at in zip(state, chosen, strict=True))
        sways = hits = guesses = differ = 0
        for at, one in enumerate(held):
            for other in held[:at]:
                differ |= _differ(one, other)
            sways |= one.sways
            hits |= one.hits
            guesses |= one.guesses
        return prior + self._of(sways, hits, guesses & ~sways) - (
            log(2) * (hits & differ).bit_count())

    def answers_that_tell(self, idea: str) -> int:
        """Return how many answers were given as the idea's likeliest variant would give them."""
        return self._readings[idea][self.best[idea]].hits.bit_count()

    def _of(self, sways: int, hits: int, guesses: int) -> float:
        right = self._right
        plain = self._all & ~sways & ~guesses
        total = list(self._weights)
        known, missed = (plain & right).bit_count(), (plain & ~right).bit_count()
        for at, more in enumerate(_plain(known, missed)):
            total[at] += more
        spread = self._spread
        for mask, choices in self._lines:
            here = sways & mask
            if guesses & mask:
                spread -= (guesses & mask).bit_count() * log(choices)
                spread += (guesses & mask & ~right).bit_count() * log(max(1, choices - 1))
            if not here:
                continue
            hit = (here & hits).bit_count()
            sound = (here & right).bit_count()
            for at, more in enumerate(_swayed(hit, sound, here.bit_count() - hit - sound,
                                              max(2, choices))):
                total[at] += more
        return log_sum(total) + spread


@lru_cache(maxsize=4096)
def _plain(right: int, wrong: int) -> tuple[float, ...]:
    """Log probability of answers that nothing sways, for each slip rate and application."""
    return tuple(right * log(1 - slip) + wrong * log(slip) for slip in SLIPS for _ in APPLIED)


@lru_cache(maxsize=65536)
def _swayed(hits: int, sound: int, other: int, choices: int) -> tuple[float, ...]:
    """The same of one kind of line's swayed answers; wrong ones are spread over the choices."""
    found = []
    for slip in SLIPS:
        away = hits * log(slip) + sound * log(1 - slip) + other * log(slip)
        for applied, _ in APPLIED:
            follows = applied * (1 - slip)
            on = (hits * log(follows * (choices - 1) + (1 - applied) * slip)
                  + sound * log((1 - applied) * (1 - slip) + applied * slip / (choices - 1))
                  + other * log(slip))
            found.append(log_sum((log(REACHES) + on, log(1 - REACHES) + away)))
    return tuple(found)


def _readings(seen: Sequence[Observation], idea: str) -> Iterator[_Swayed]:
    """Every variant of an idea, the list's own first; those that sway nothing more are left out."""
    variants = max((len(o.variants.get(idea, ())) for o in seen), default=0)
    kept: list[tuple[Value | None, ...]] = []
    for at in range(variants + 1):
        said = tuple(_said(o, idea, at) for o in seen)
        if said in kept:
            continue
        kept.append(said)
        sways = hits = guesses = 0
        for place, (word, o) in enumerate(zip(said, seen, strict=True)):
            if word is None:
                guesses |= 1 << place
            elif word is not o.key and not same(word, o.key):
                sways |= 1 << place
                if same(word, o.given):
                    hits |= 1 << place
        yield _Swayed(sways, hits, guesses, said)


def _said(o: Observation, idea: str, at: int) -> Value | None:
    if at:
        variants = o.variants.get(idea, ())
        if at <= len(variants):
            return variants[at - 1]
    return o.predicted.get(idea, o.key)


def _differ(one: _Swayed, other: _Swayed) -> int:
    """Where both sway an answer, and not the same way."""
    left, differ = one.sways & other.sways, 0
    while left:
        bit = left & -left
        at = bit.bit_length() - 1
        if not same(one.said[at], other.said[at]):
            differ |= bit
        left ^= bit
    return differ


def _line(o: Observation) -> str:
    """Lines that ask the same thing; options behind letters together."""
    return o.asks if ": " in o.asks or " / " in o.asks else "options"


def _bits(truths: Iterable[bool]) -> int:
    return sum(1 << at for at, true in enumerate(truths) if true)
