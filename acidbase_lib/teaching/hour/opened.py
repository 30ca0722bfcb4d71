"""The practice that a topic's name opens; each is loaded only when it is asked for."""
from __future__ import annotations

from acidbase_lib.teaching.practice.run import PracticeScreen


def open_practice(topic: str) -> PracticeScreen:
    """Open practice without end.

    Parameters
    ----------
    topic : str
        A name in ``TOPICS``, "clinical priority" or "an hour at the bedside".

    Raises
    ------
    ValueError
        If there is no such topic; the message lists those there are.
    """
    if topic == "clinical priority":
        from acidbase_lib.teaching.practice.bedside import ScenePractice

        return ScenePractice()
    if topic == "an hour at the bedside":
        from .screen import HourPractice

        return HourPractice()
    from acidbase_lib.teaching.practice.endless import Practice

    return Practice(topic)
