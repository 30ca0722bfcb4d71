"""How long a learner looks at a case; a long pause is no reading."""
from __future__ import annotations

from collections.abc import Callable
from time import monotonic
from typing import Final

PAUSE: Final = 300  # a longer look at one case tells nothing [s]


class LookedAt:
    """A quiet clock: no learner sees it run.

    Parameters
    ----------
    clock : callable, optional
        Tells the time. [s]
    """

    def __init__(self, clock: Callable[[], float] = monotonic) -> None:
        self._clock = clock
        self.begin()

    def begin(self) -> None:
        """A case is shown."""
        self._since = self._clock()

    def seconds(self) -> int:
        """How long it has been looked at, at least 1; 0 after a pause. [s]"""
        took = round(self._clock() - self._since)
        return max(1, took) if took <= PAUSE else 0
