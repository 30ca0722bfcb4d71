"""When a skill is due again: from how its answers went, by the FSRS model of forgetting."""
from __future__ import annotations

from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from functools import cache
from typing import TYPE_CHECKING, Any, Final

from .record import Answer
from .sure import SURE

if TYPE_CHECKING:
    from fsrs import Card, Rating, Scheduler

HOLDS: Final = 0.9  # a skill is due when it is likely to be remembered in less than this share
LONGEST: Final = 120  # between two times of one skill: a term [days]
UNSURE: Final = SURE[1:]


@cache
def _scheduler() -> Scheduler:
    """The library's model, loaded when the first answer is kept: a page that opens needs none.

    A skill comes as a fresh patient each time, so that there are no steps of minutes; a sitting
    brings back by itself what was missed in it. No chance in the dates: a learner is told them.
    """
    from fsrs import Scheduler

    return Scheduler(desired_retention=HOLDS, learning_steps=(), relearning_steps=(),
                     maximum_interval=LONGEST, enable_fuzzing=False)


@dataclass(frozen=True, slots=True)
class Held:
    """How well a skill is held.

    Attributes
    ----------
    stability : float
        After how long it is remembered with a chance of 0.9. [days]
    difficulty : float
        From 1 to 10.
    last : datetime
        When it was last answered.
    right : bool
        Whether it was right then.
    """

    stability: float
    difficulty: float
    last: datetime
    right: bool

    @property
    def due(self) -> datetime:
        """When it is to come again: after its stability, in whole days, at least one."""
        return self.last + timedelta(days=min(max(round(self.stability), 1), LONGEST))

    def chance(self, now: datetime) -> float:
        """How likely it is remembered now. [share of 1]"""
        return float(_scheduler().get_card_retrievability(_card_of(self), current_datetime=now))


def rating_of(answer: Answer) -> Rating:
    """Right and sure is good; right after a hint, unsure or by a guess is hard; wrong is again."""
    from fsrs import Rating

    if not answer.right:
        return Rating.Again
    return Rating.Hard if answer.hinted or answer.sure in UNSURE else Rating.Good


def after(held: Held | None, answer: Answer) -> Held:
    """How a skill is held after one more answer.

    Notes
    -----
    The model's formulas and default weights are the library's (``fsrs``); an answer dated before
    the last one, as a wrong clock may give, counts as given at the same time.
    """
    when = max(answer.when, held.last) if held else answer.when
    card, _ = _scheduler().review_card(_card_of(held), rating_of(answer), when.astimezone(UTC))
    assert card.stability is not None
    assert card.difficulty is not None
    return Held(card.stability, card.difficulty, when, answer.right)


def model_as_data() -> dict[str, Any]:
    """The model as plain data: its weights, and what this room decides, for a page of its own."""
    return {"weights": list(_scheduler().parameters), "longest": LONGEST, "unsure": list(UNSURE)}


def _card_of(held: Held | None) -> Card:
    from fsrs import Card, State

    if held is None:
        return Card(card_id=1)
    return Card(1, State.Review, None, held.stability, held.difficulty, held.due,
                held.last.astimezone(UTC))
