"""The practice that a topic's name opens, the hour at the bedside among them."""
from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from acidbase_lib.teaching.memory.remembered import Remembered
    from acidbase_lib.teaching.practice.run import PracticeScreen


def open_practice(topic: str, memory: Remembered | None = None) -> PracticeScreen:
    """Open practice without end.

    Parameters
    ----------
    topic : str
        A name in ``TOPICS``, "clinical priority" or "an hour at the bedside".
    memory : Remembered, optional
        The learner's record; nothing is remembered of an hour.

    Raises
    ------
    ValueError
        If there is no such topic; the message lists those there are.
    """
    if topic == "an hour at the bedside":
        from .screen import HourPractice

        return HourPractice()
    from acidbase_lib.teaching.practice.begin import begin

    return begin(topic, memory)
