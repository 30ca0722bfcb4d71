"""How well a rule of the learner's own, on nobody's list, explains the answers."""
from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Sequence
from functools import lru_cache
from math import exp, lgamma, log

from acidbase_lib.teaching.questions.fields import Value

from .observation import HeldIdeas, Observation, same

#: Slip rates over which the sum runs in place of an integral.
SLIPS = (0.01, 0.03, 0.06, 0.10, 0.15, 0.20, 0.30)
#: How often answers to what looks alike follow a rule of one's own, and not the usual reading.
RULED = 0.3
#: How often such a learner also holds one idea of the list.
BESIDES = 0.3
#: How often a kind of line is not mastered, and the shares of it that are missed then.
WEAK = 0.2
GUESSES = (0.3, 0.5, 0.7)


def own_rule_fit(seen: Sequence[Observation], ideas: Sequence[str],
                 slip: tuple[float, float]) -> float:
    """Log probability of the answers where the learner follows a rule that nobody listed.

    Parameters
    ----------
    seen : sequence of Observation
        One learner's answers.
    ideas : sequence of str
        The ideas of the list: the own rule may stand beside one of them.
    slip : (float, float)
        Beta distribution of the slip rate.

    Notes
    -----
    Slips fall anywhere; a rule repeats itself. Answers to the same thing asked with the same
    expected answer form a group. In each group the learner either answers as expected, with slips,
    or by a rule of their own, whose wrong word is unknown but comes back: the group's counts then
    follow a Dirichlet-multinomial distribution with weight 1 on the expected word and 1 spread over
    the others. Our own model; measured on planted classes.
    """
    bases: list[HeldIdeas] = [(), *((idea,) for idea in ideas)]
    alone = log(1 - BESIDES if ideas else 1.0)
    beside = log(BESIDES / max(1, len(ideas)))
    return log_sum((beside if base else alone) + _from(seen, base, slip) for base in bases)


def weak_lines_fit(seen: Sequence[Observation], slip: tuple[float, float]) -> float:
    """Log probability of the answers where some kinds of line are half guessed, the others known.

    Which lines is unknown; their misses fall anywhere and do not come back.
    """
    groups: dict[str, list[Observation]] = {}
    for o in seen:
        groups.setdefault(o.asks, []).append(o)
    total = list(slip_weights(slip))
    for group in groups.values():
        missed = [o for o in group if not same(o.given, o.key)]
        hits = len(group) - len(missed)
        spread = -sum(log(max(1, o.choices - 1)) for o in missed)
        guessed = log_sum(log(1 / len(GUESSES)) + hits * log(1 - rate) + len(missed) * log(rate)
                          for rate in GUESSES)
        for at, rate in enumerate(SLIPS):
            known = hits * log(1 - rate) + len(missed) * log(rate)
            total[at] += spread + log_sum((log(1 - WEAK) + known, log(WEAK) + guessed))
    return log_sum(total)


def _from(seen: Sequence[Observation], base: HeldIdeas, slip: tuple[float, float]) -> float:
    groups: dict[tuple[str, str], list[tuple[Value, Value, int]]] = {}
    for o in seen:
        expected = (o.ideal(base) or (o.key,))[0]
        groups.setdefault((o.asks, str(expected)), []).append((o.given, expected, o.choices))
    total = list(slip_weights(slip))
    for group in groups.values():
        missed = [(str(given), choices) for given, expected, choices in group
                  if not same(given, expected)]
        hits = len(group) - len(missed)
        spread = -sum(log(max(1, choices - 1)) for _, choices in missed)
        ruled = log(RULED) + _by_rule(hits, Counter(word for word, _ in missed), group[0][2])
        for at, rate in enumerate(SLIPS):
            slipped = hits * log(1 - rate) + len(missed) * log(rate) + spread
            total[at] += log_sum((log(1 - RULED) + slipped, ruled))
    return log_sum(total)


def _by_rule(hits: int, missed: Counter[str], choices: int) -> float:
    """Log probability of a group's counts under a rule that comes back."""
    share = 1.0 / max(1, choices - 1)
    return (lgamma(2.0) - lgamma(2.0 + hits + missed.total()) + lgamma(1.0 + hits)
            + sum(lgamma(share + count) - lgamma(share) for count in missed.values()))


@lru_cache(maxsize=8)
def slip_weights(slip: tuple[float, float]) -> tuple[float, ...]:
    """Log weight of each slip rate: the Beta density times half the way to its neighbors."""
    a, b = slip
    edges = (SLIPS[0], *SLIPS, SLIPS[-1])
    weights = [rate ** (a - 1) * (1 - rate) ** (b - 1) * (edges[at + 2] - edges[at])
               for at, rate in enumerate(SLIPS)]
    return tuple(log(weight / sum(weights)) for weight in weights)


def log_sum(logs: Iterable[float]) -> float:
    terms = list(logs)
    top = max(terms)
    return top + log(sum(exp(term - top) for term in terms))
