"""What can be practiced without end: topics as data, each in steps from clear to hard."""
from __future__ import annotations

from collections.abc import Mapping
from types import MappingProxyType
from typing import Any

from acidbase_lib.reading.blood_gas import BloodGas
from acidbase_lib.reading.disorders import (
    DISORDERS,
    METABOLIC_ACIDOSIS,
    NORMAL,
    PARTIAL,
    RESPIRATORY_ALKALOSIS,
    UNCOMPENSATED,
)
from acidbase_lib.reading.strike_out import strike_out
from acidbase_lib.teaching.explanations.direction import direction_steps, map_point_of
from acidbase_lib.teaching.explanations.reading_steps import disorder_of
from acidbase_lib.teaching.explanations.state_lines import state_because
from acidbase_lib.teaching.misconceptions.catalog import SOUND, Beliefs

from .oxygen import CAUSES, OXYGEN
from .response import COMPENSATION, ONE_OR_TWO
from .topic import PracticeStep, RequestWords, Topic


def by_direction(gas: BloodGas) -> tuple[str, ...]:
    """The steps of the direction rule: pH, bicarbonate, PaCO2."""
    return direction_steps(map_point_of(gas.ph, gas.paco2, gas.hco3))


def struck_out(gas: BloodGas, choice: str) -> str:
    """Why a choice falls."""
    return strike_out(gas, [choice])[0].because


def _answered(disorder: str, **more: Any) -> RequestWords:
    """A disorder old enough for the other organ to have answered: all three numbers have moved."""
    chronic = {"chronic": True} if disorder.startswith("respiratory") else {}
    return MappingProxyType({"disorder": disorder, "compensation": PARTIAL, **chronic, **more})


def _unanswered(disorder: str, **more: Any) -> RequestWords:
    """A disorder to which the other organ has not answered: one number is still in range."""
    return MappingProxyType({"disorder": disorder, "compensation": UNCOMPENSATED, **more})


# days of fast breathing do not bring PaCO2 below 20, so the far alkalosis is an acute one
_FAR = (*(_answered(disorder, severity="severe") for disorder in DISORDERS
          if disorder != RESPIRATORY_ALKALOSIS),
        _answered(RESPIRATORY_ALKALOSIS, severity="severe", chronic=False))
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
        PracticeStep("All three numbers lie far from their ranges.", _FAR),
        PracticeStep("The numbers lie closer to their ranges.", _NEARER),
        PracticeStep(
            "One number is still in range, so the direction rule may give no name.", _ONE_IN_RANGE
        ),
        PracticeStep("Some numbers lie right at the edge of a range.", _AT_THE_EDGE),
    ),
    believe=disorder_of,
    explain=by_direction,
    falls=struck_out,
)

_COUNTS = ("all three in range", "one out of range", "two out of range",
           "all three out of range")


def how_many_out(beliefs: Beliefs) -> str:
    """How many of the three numbers are thought to lie outside their range."""
    return _COUNTS[sum(state != "normal" for state in (beliefs.ph, beliefs.paco2, beliefs.hco3))]


def each_in_both_units(gas: BloodGas) -> tuple[str, ...]:
    """Where each number lies, the pressure in both units."""
    mmhg, kpa = (state_because(SOUND.read(gas), gas, unit) for unit in ("mmHg", "kPa"))
    return mmhg[0], mmhg[1], f"In kPa: {kpa[1]}", mmhg[2]


def counted_otherwise(gas: BloodGas, choice: str) -> str:
    """Which numbers are out of range, where another count was given."""
    beliefs = SOUND.read(gas)
    out = [name for name, state in (("pH", beliefs.ph), ("PaCO2", beliefs.paco2),
                                    ("bicarbonate", beliefs.hco3)) if state != "normal"]
    verb = "are" if len(out) > 1 else "is"
    return f"{' and '.join(out) or 'none of the three'} {verb} out of range."


_NORMAL: RequestWords = MappingProxyType({"disorder": NORMAL})
_SEVERAL = (_NORMAL, *_NEARER, *(_unanswered(disorder) for disorder in DISORDERS
                                 if disorder.startswith("respiratory")))
IN_RANGE_OR_NOT = Topic(
    name="in range or not",
    question="How many of the three numbers lie outside the usual range?",
    choices=tuple(count for count in _COUNTS if count != "one out of range"),
    steps=(
        PracticeStep("No range is printed: recall it. A number that is out of range is far out.",
                     (_NORMAL, *_FAR)),
        PracticeStep("The numbers lie closer to their ranges.", _SEVERAL),
        PracticeStep("PaCO2 is printed in kPa.", _SEVERAL, "kPa"),
        PracticeStep(
            "PaCO2 is in kPa, and some numbers lie right at the edge.", _AT_THE_EDGE, "kPa"
        ),
    ),
    believe=how_many_out,
    explain=each_in_both_units,
    falls=counted_otherwise,
    ranges=False,
)

TOPICS: Mapping[str, Topic] = MappingProxyType({
    topic.name: topic for topic in (PRIMARY_DISORDER, IN_RANGE_OR_NOT, COMPENSATION, ONE_OR_TWO,
                                    OXYGEN, CAUSES)
})
