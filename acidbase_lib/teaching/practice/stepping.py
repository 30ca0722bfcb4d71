"""How many right answers in a row raise a step, so that guessing does not lead to the top."""
from __future__ import annotations

from functools import cache
from typing import Final

DOWN: Final = 2  # wrong answers in a row that lower the step
SITTING: Final = 40  # patients in a long sitting
BY_GUESSING: Final = 0.02  # of such sittings, the share that may end at the top by guessing alone


@cache
def rights_needed(guess: float, steps: int) -> int:
    """The fewest right answers in a row that keep guessers from the top.

    Parameters
    ----------
    guess : float
        How often a guess is right. [share of 1]
    steps : int
        How many steps there are.

    Examples
    --------
    >>> rights_needed(1 / 2, 3), rights_needed(1 / 4, 4)
    (6, 3)
    """
    return next(needed for needed in range(2, SITTING + 1)
                if chance_of_top(guess, needed, steps) <= BY_GUESSING)


def chance_of_top(right: float, needed: int, steps: int, patients: int = SITTING) -> float:
    """The chance to have reached the top step within so many patients, worked out exactly.

    Parameters
    ----------
    right : float
        How often an answer is right, each time anew. [share of 1]
    needed : int
        Right answers in a row that raise the step; `DOWN` wrong ones lower it.
    steps, patients : int
        How many steps there are, and how many patients are read.

    Notes
    -----
    A chain over (step, answers in a row); the top holds whoever has reached it.
    """
    top = steps - 1
    at: dict[tuple[int, int], float] = {(0, 0): 1.0}
    for _ in range(patients):
        after: dict[tuple[int, int], float] = {}
        for (step, row), chance in at.items():
            if step == top:
                after[step, 0] = after.get((step, 0), 0.0) + chance
                continue
            for was_right, share in ((True, right), (False, 1 - right)):
                place = moved(step, row, was_right, needed, top)
                after[place] = after.get(place, 0.0) + chance * share
        at = after
    return sum(chance for (step, _), chance in at.items() if step == top)


def moved(step: int, row: int, right: bool, needed: int, top: int) -> tuple[int, int]:
    """Where one answer leads: the step, and the answers in a row, below zero where wrong."""
    row = max(row, 0) + 1 if right else min(row, 0) - 1
    if row >= needed and step < top:
        return step + 1, 0
    if row <= -DOWN and step > 0:
        return step - 1, 0
    return step, max(-DOWN, min(row, needed))
