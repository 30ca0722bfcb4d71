"""The practice that a topic's name opens; each is loaded only when it is asked for."""
from __future__ import annotations

from .run import BEDSIDE_HOUR, CLINICAL_PRIORITY, PracticeScreen


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
    if topic == CLINICAL_PRIORITY:
        from .bedside import ScenePractice

        return ScenePractice()
    if topic == BEDSIDE_HOUR:
        from .hour import HourPractice

        return HourPractice()
    from .endless import Practice

    return Practice(topic)
