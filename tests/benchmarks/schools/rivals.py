"""Other ways to say which idea a learner holds, side by side with ours; used by the benchmark only.

Naive Bayes and logistic regression learn from a thousand of the kit's own learners of the same
form: no class of real learners is labeled. Nearest ideal response and DINA need no labels.
"""
from __future__ import annotations

import random
from collections.abc import Callable, Mapping, Sequence
from functools import cache
from itertools import combinations

import numpy as np
import numpy.typing as npt

from acidbase_lib.classroom.diagnosis.diagnosis import states
from acidbase_lib.classroom.diagnosis.observation import Observation
from tests.benchmarks.classifiers import dina, nearest

from .kit import IDEAS, KitLearner
from .sitting import Sheet, sit

Named = Mapping[str, float]
Rows = npt.NDArray[np.float64]
TRAINED_ON = 1000
HOLDS = 0.6  # the same certainty from which ours names


def by_states(way: Callable[..., list[tuple[str, ...]]]) -> Callable[..., list[Named]]:
    """Return a way of the other benchmark as one of this one: it names without a certainty."""
    def method(sheets: Sequence[Sheet], ideas: Sequence[str]) -> list[Named]:
        return [dict.fromkeys(held, 1.0) for held in way([s.seen for s in _whole(sheets)],
                                                         states(tuple(ideas)))]
    return method


def naive_bayes(sheets: Sequence[Sheet], ideas: Sequence[str]) -> list[Named]:
    """Each idea against its absence, every answer taken for independent of the others."""
    known, rows, held = _trained(sheets[0].form)
    given = _rows(sheets, known)
    found: list[dict[str, float]] = [{} for _ in sheets]
    for at, idea in enumerate(IDEAS):
        yes = held[:, at] == 1
        on = (rows[yes].sum(0) + 0.5) / (yes.sum() + 1)
        off = (rows[~yes].sum(0) + 0.5) / ((~yes).sum() + 1)
        odds = given @ np.log(on / off) + np.log(yes.mean() / (1 - yes.mean()))
        _name(found, idea, 1 / (1 + np.exp(-np.clip(odds, -50, 50))))
    return list(found)


def logistic(sheets: Sequence[Sheet], ideas: Sequence[str], rounds: int = 300) -> list[Named]:
    """Each idea against its absence by ridge logistic regression on every word given."""
    known, rows, held = _trained(sheets[0].form)
    x, given = _with_one(rows), _with_one(_rows(sheets, known))
    weights = np.zeros((x.shape[1], len(IDEAS)))
    for _ in range(rounds):  # gradient ascent: the answers are 0 or 1
        chance = 1 / (1 + np.exp(-np.clip(x @ weights, -50, 50)))
        weights += 2.0 * (x.T @ (held - chance) / len(x) - 0.002 * weights)
    told = 1 / (1 + np.exp(-np.clip(given @ weights, -50, 50)))
    found: list[dict[str, float]] = [{} for _ in sheets]
    for at, idea in enumerate(IDEAS):
        _name(found, idea, told[:, at])
    return list(found)


def _name(found: Sequence[dict[str, float]], idea: str, chances: Rows) -> None:
    for one, chance in zip(found, chances, strict=True):
        if chance >= HOLDS:
            one[idea] = float(chance)


@cache
def _trained(form: tuple[str, int]) -> tuple[tuple[tuple[str, str, str], ...], Rows, Rows]:
    """The answers of the kit's own learners of a form, and what they hold."""
    dice = random.Random(f"trained/{form}")
    every = [frozenset[str](), *(frozenset({idea}) for idea in IDEAS),
             *map(frozenset, combinations(IDEAS, 2))]
    sheets = []
    for n in range(TRAINED_ON):
        size = (0, 1, 0, 1, 2, 0, 1, 0, 1, 2)[n % 10]
        held = dice.choice([one for one in every if len(one) == size])
        sheets.append(sit(KitLearner(held, "", random.Random(dice.random())), *form, dice))
    known = tuple(sorted({word for sheet in sheets for word in _words(sheet.seen)}))
    return known, _rows(sheets, known), np.array(
        [[float(idea in sheet.holds) for idea in IDEAS] for sheet in sheets])


def _words(seen: Sequence[Observation]) -> list[tuple[str, str, str]]:
    return [(o.question, o.field, str(o.given)) for o in seen]


def _rows(sheets: Sequence[Sheet], known: Sequence[tuple[str, str, str]]) -> Rows:
    place = {word: at for at, word in enumerate(known)}
    rows = np.zeros((len(sheets), len(known)))
    for at, sheet in enumerate(sheets):
        rows[at, [place[word] for word in _words(sheet.seen) if word in place]] = 1
    return rows


def _with_one(rows: Rows) -> Rows:
    return np.hstack([rows, np.ones((len(rows), 1))])


def _whole(sheets: Sequence[Sheet]) -> Sequence[Sheet]:
    """The sheets, if everybody answered all: DINA compares answers by their place.

    Raises
    ------
    ValueError
        If somebody left a line out.
    """
    if len({len(sheet.seen) for sheet in sheets}) > 1:
        raise ValueError("These ways need whole sheets: somebody left a line out.")
    return sheets


RIVALS = {"nearest ideal response": by_states(nearest), "DINA by EM": by_states(dina),
          "naive Bayes": naive_bayes, "logistic regression": logistic}
