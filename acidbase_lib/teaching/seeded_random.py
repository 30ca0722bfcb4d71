"""Random choices that come out the same on every machine and every Python version."""
from __future__ import annotations

from collections.abc import Iterable, Sequence
from hashlib import sha256
from random import Random
from typing import TypeVar

T = TypeVar("T")


class SeededRandom:
    """A stream of choices from one seed.

    Only ``random.Random(whole number).random()`` is used below: the one call whose numbers
    Python promises to keep. A text is made a number by SHA-256.

    Parameters
    ----------
    seed : int or str
        The same seed gives the same choices, everywhere.

    Raises
    ------
    ValueError
        The seed is neither a whole number nor a text.

    Examples
    --------
    >>> Draw("unit 2").pick(["a", "b", "c"]) == Draw("unit 2").pick(["a", "b", "c"])
    True
    """

    __slots__ = ("_random", "seed")

    def __init__(self, seed: int | str) -> None:
        if isinstance(seed, bool) or not isinstance(seed, int | str):
            raise ValueError(f"A seed is a whole number or a text, not {seed!r}.")
        self.seed = seed
        self._random = Random(_number(seed)).random

    def branch(self, name: str) -> SeededRandom:
        """Return a stream of its own, so that one more draw here moves nothing there."""
        return SeededRandom(f"{type(self.seed).__name__}:{self.seed}/{name}")

    def chance(self, share: float) -> bool:
        """Return True in this share of draws."""
        return self._random() < share

    def between(self, low: float, high: float) -> float:
        """Return a number from `low` to `high`, every one as likely."""
        return low + (high - low) * self._random()

    def whole(self, low: int, high: int) -> int:
        """Return a whole number from `low` to `high`, both included."""
        return low + int((high - low + 1) * self._random())

    def normal(self, center: float, deviation: float) -> float:
        """Return a number scattered about `center`; never further than six deviations.

        The sum of twelve even draws: additions only, so no mathematics library can differ.
        """
        draw, total = self._random, 0.0
        for _ in range(12):  # no `sum`: from Python 3.12 on it rounds otherwise
            total += draw()
        return center + deviation * (total - 6.0)

    def pick(self, items: Sequence[T]) -> T:
        """Return one of the items, every one as likely."""
        if not items:
            raise ValueError("There is nothing to pick from.")
        return items[int(len(items) * self._random())]

    def shuffled(self, items: Iterable[T]) -> list[T]:
        """Return the items in a new order (Fisher and Yates)."""
        mixed = list(items)
        for last in range(len(mixed) - 1, 0, -1):
            other = int((last + 1) * self._random())
            mixed[last], mixed[other] = mixed[other], mixed[last]
        return mixed

    def spread(self, count: int, places: int) -> list[int]:
        """Return `count` places out of `places`, each used as often as the others, shuffled.

        Where `count` is no multiple of `places`, chance says which are used once more.
        """
        rounds = -(-count // places)
        dealt = [place for _ in range(rounds) for place in self.shuffled(range(places))]
        return self.shuffled(dealt[:count])


def _number(seed: int | str) -> int:
    if isinstance(seed, int) and seed >= 0:
        return seed
    return int.from_bytes(sha256(str(seed).encode()).digest()[:8], "big")
