"""What a topic of practice is made of: its question, its choices, and steps from clear to hard."""
from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Any

from acidbase_lib.reading.blood_gas import BloodGas
from acidbase_lib.teaching.misconceptions.catalog import Beliefs
from acidbase_lib.teaching.patients.cases import Case, draw_case

RequestWords = Mapping[str, Any]


@dataclass(frozen=True, slots=True)
class PracticeStep:
    """One step of difficulty: what a learner is told about it, and what patients it brings.

    `shown` is the unit in which the pressures are printed.
    """

    says: str
    wishes: tuple[RequestWords, ...]
    shown: str = "mmHg"


@dataclass(frozen=True, slots=True)
class Topic:
    """Something to practice.

    Parameters
    ----------
    name : str
        As typed: ``unit.practice("primary disorder")``.
    question : str
        What is asked of every patient.
    choices : tuple of str
        The answers offered, always in this order.
    steps : tuple of PracticeStep
        From clear to hard.
    believe : callable
        From what a reader believes of a gas to the choice that reader would make.
    explain : callable
        From a gas to the steps that lead to its reading.
    falls : callable
        From a gas and a wrong choice to why that choice is struck out.
    ranges : bool
        Whether the ranges stand beside the results.
    bring : callable
        Draws a patient from a wish and a seed.
    more : tuple of str
        Numbers shown beside pH, PaCO2 and bicarbonate.
    """

    name: str
    question: str
    choices: tuple[str, ...]
    steps: tuple[PracticeStep, ...]
    believe: Callable[[Beliefs], str | None]
    explain: Callable[[BloodGas], tuple[str, ...]]
    falls: Callable[[BloodGas, str], str]
    ranges: bool = True
    bring: Callable[..., Case] = draw_case
    more: tuple[str, ...] = ()
