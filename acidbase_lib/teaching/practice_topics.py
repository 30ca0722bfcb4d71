"""What can be practiced without end: topics as data, each in steps from clear to hard."""
from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from types import MappingProxyType
from typing import Any

from acidbase_lib.reading.blood_gas import BloodGas
from acidbase_lib.reading.disorders import (
    DISORDERS,
    METABOLIC_ACIDOSIS,
    PARTIAL,
    UNCOMPENSATED,
)
from acidbase_lib.reading.strike_out import strike_out

from .direction_place import direction_steps, place_of
from .misconceptions import Beliefs
from .readers import disorder_of

Wish = Mapping[str, Any]


@dataclass(frozen=True, slots=True)
class Step:
    """One step of difficulty: what a learner is told about it, and what patients it brings."""

    says: str
    wishes: tuple[Wish, ...]


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
    steps : tuple of Step
        From clear to hard.
    believe : callable
        From what a reader believes of a gas to the choice that reader would make.
    explain : callable
        From a gas to the steps that lead to its reading.
    falls : callable
        From a gas and a wrong choice to why that choice is struck out.
    """

    name: str
    question: str
    choices: tuple[str, ...]
    steps: tuple[Step, ...]
    believe: Callable[[Beliefs], str | None]
    explain: Callable[[BloodGas], tuple[str, ...]]
    falls: Callable[[BloodGas, str], str]


def by_direction(gas: BloodGas) -> tuple[str, ...]:
    """The steps of the direction rule: pH, bicarbonate, PaCO2."""
    return direction_steps(place_of(gas.ph, gas.paco2, gas.hco3))


def struck_out(gas: BloodGas, choice: str) -> str:
    """Why a choice falls."""
    return strike_out(gas, [choice])[0].because


def _answered(disorder: str, **more: Any) -> Wish:
    """A disorder old enough for the other organ to have answered: all three numbers have moved."""
    chronic = {"chronic": True} if disorder.startswith("respiratory") else {}
    return MappingProxyType({"disorder": disorder, "compensation": PARTIAL, **chronic, **more})


def _unanswered(disorder: str, **more: Any) -> Wish:
    """A disorder to which the other organ has not answered: one number is still in range."""
    return MappingProxyType({"disorder": disorder, "compensation": UNCOMPENSATED, **more})


_FAR = tuple(_answered(disorder, severity="severe") for disorder in DISORDERS)
_NEARER = (_answered(METABOLIC_ACIDOSIS, severity="mild"),
           *(_answered(disorder, severity="moderate")
             for disorder in DISORDERS if disorder != METABOLIC_ACIDOSIS))
_ONE_IN_RANGE = (_unanswered(METABOLIC_ACIDOSIS, severity="mild"),
                 *(_unanswered(disorder) for disorder in DISORDERS
                   if disorder != METABOLIC_ACIDOSIS))
_AT_THE_EDGE = tuple(wish for disorder in DISORDERS
                     for wish in (_answered(disorder, borderline=True),
                                  _unanswered(disorder, borderline=True)))

PRIMARY_DISORDER = Topic(
    name="primary disorder",
    question="Which disorder does this gas show?",
    choices=DISORDERS,
    steps=(
        Step("All three numbers lie far from their ranges.", _FAR),
        Step("The numbers lie closer to their ranges.", _NEARER),
        Step("One number is still in range, so the two-number rule may be silent.", _ONE_IN_RANGE),
        Step("Some numbers lie right at the edge of a range.", _AT_THE_EDGE),
    ),
    believe=disorder_of,
    explain=by_direction,
    falls=struck_out,
)

TOPICS: Mapping[str, Topic] = MappingProxyType({
    topic.name: topic for topic in (PRIMARY_DISORDER,)
})
