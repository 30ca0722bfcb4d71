"""How hard an hour is: how many different steps its road takes."""
from __future__ import annotations

from .case import HourCase
from .path import best


def hardness(case: HourCase) -> int:
    """How many different steps the road by the rules takes: our own count of how hard it is."""
    return len(set(best(case)[0]))
