"""Practice about oxygen and about causes: what the sample shows, and why."""
from __future__ import annotations

from collections.abc import Collection, Mapping
from types import MappingProxyType
from typing import Any, Final

from acidbase_lib.reading.blood_gas import BloodGas
from acidbase_lib.reading.disorders import (
    METABOLIC_ACIDOSIS,
    METABOLIC_ALKALOSIS,
    PARTIAL,
    RESPIRATORY_ACIDOSIS,
    RESPIRATORY_ALKALOSIS,
    UNCOMPENSATED,
)
from acidbase_lib.teaching.explanations.direction import direction_steps, map_point_of
from acidbase_lib.teaching.explanations.oxygen_steps import oxygen_because
from acidbase_lib.teaching.misconceptions.catalog import SOUND, Beliefs
from acidbase_lib.teaching.patients.cases import Case, CaseRequestError, draw_case
from acidbase_lib.teaching.patients.oxygen_cases import draw_oxygen_case, practice_stories
from acidbase_lib.teaching.patients.vignettes import practice_vignettes

from .topic import PracticeStep, Topic

ENOUGH: Final = "enough oxygen on room air"
LOW: Final = "low oxygen, no respiratory failure"
TYPE_1: Final = "respiratory failure, type 1"
TYPE_2: Final = "respiratory failure, type 2"
TREATED: Final = "a low PaO2/FiO2 on added oxygen"


def shown_by(beliefs: Beliefs) -> str | None:
    """What a reader says that a sample shows of oxygen."""
    oxygen = beliefs.oxygen
    if oxygen is None:
        return None
    if oxygen.gradient is None:  # not on room air
        return TREATED if oxygen.ratio is not None and oxygen.ratio <= 300 else ENOUGH
    named = {"type 1": TYPE_1, "type 2": TYPE_2}.get(oxygen.failure)
    return named or (LOW if oxygen.state == "low" else ENOUGH)


def _oxygen_falls(gas: BloodGas, choice: str) -> str:
    why = oxygen_because(gas)
    return why[2] if choice != TREATED and gas.fio2 and gas.fio2 > 0.215 else why[1]


def _bring(shows: str, seed: str, avoid: Collection[str] = ()) -> Case:
    return draw_oxygen_case(shows, seed, avoid=avoid, among=practice_stories()).case


def _shows(*words: str) -> tuple[Mapping[str, Any], ...]:
    return tuple(MappingProxyType({"shows": word}) for word in words)


OXYGEN = Topic(
    name="oxygen",
    question="What do the oxygen numbers show?",
    choices=(ENOUGH, LOW, TYPE_1, TYPE_2, TREATED),
    steps=(
        PracticeStep(
            "Everybody breathes room air. Failure or enough?", _shows("enough", "type 1", "type 2")
        ),
        PracticeStep(
            "Low oxygen without failure comes in.", _shows("enough", "low", "type 1", "type 2")
        ),
        PracticeStep(
            "Some breathe added oxygen: ask how much it takes.",
            _shows("treated", "low", "type 1", "type 2", "enough"),
        ),
    ),
    believe=shown_by,
    explain=oxygen_because,
    falls=_oxygen_falls,
    bring=_bring,
    more=("PaO2", "inspired oxygen"),
)

ACID_ADDED: Final = "metabolic acidosis with a high gap"
BASE_LOST: Final = "metabolic acidosis with a usual gap"


def _by_direction(gas: BloodGas) -> tuple[str, ...]:
    return direction_steps(map_point_of(gas.ph, gas.paco2, gas.hco3))


def cause_group(beliefs: Beliefs) -> str | None:
    """Which group of causes a reader would look in."""
    if beliefs.disorder == METABOLIC_ACIDOSIS:
        return ACID_ADDED if beliefs.gap == "high" else BASE_LOST
    return beliefs.disorder


def _gap_steps(gas: BloodGas) -> tuple[str, ...]:
    beliefs = SOUND.read(gas)
    steps = _by_direction(gas)
    if beliefs.disorder != METABOLIC_ACIDOSIS or beliefs.gap_value is None:
        return steps
    return (*steps, f"Sodium {gas.sodium:.0f} less chloride {gas.chloride:.0f} less bicarbonate "
            f"{gas.hco3:.0f} is a gap of {beliefs.gap_value:.0f}: {beliefs.gap}. The range used "
            "here is 8–16.")


def _gap_falls(gas: BloodGas, choice: str) -> str:
    if choice in (ACID_ADDED, BASE_LOST) and SOUND.read(gas).disorder == METABOLIC_ACIDOSIS:
        return _gap_steps(gas)[-1]
    return _by_direction(gas)[0]


def _salted(seed: str, **wish: Any) -> Case:
    """A case whose gap lies clear of its range's ends, so that rounding does not decide."""
    found = None
    for attempt in range(40):
        try:
            found = draw_case(**wish, electrolytes=True, seed=f"{seed}|{attempt}",
                         also=practice_vignettes())
        except CaseRequestError:
            continue  # these numbers suit no history; the next may
        gap = found.reading.anion_gap
        if gap is not None and not (15 <= gap.value <= 17 or 7 <= gap.value <= 8) and (
                abs(gap.used - gap.value) < 0.6):
            break
    if found is None:
        raise CaseRequestError(f"{wish} was not found in 40 tries.")
    return found


def _wished(disorder: str, compensation: str = PARTIAL, **more: Any) -> Mapping[str, Any]:
    return MappingProxyType({"disorder": disorder, "compensation": compensation, **more})


_ACID = tuple(_wished(METABOLIC_ACIDOSIS, severity=severity)
              for severity in ("mild", "moderate", "severe"))
_ALL = (*_ACID, _wished(METABOLIC_ALKALOSIS), _wished(RESPIRATORY_ACIDOSIS, chronic=True),
        _wished(RESPIRATORY_ALKALOSIS, UNCOMPENSATED))

CAUSES = Topic(
    name="causes",
    question="Where would you look for the cause?",
    choices=(ACID_ADDED, BASE_LOST, METABOLIC_ALKALOSIS, RESPIRATORY_ACIDOSIS,
             RESPIRATORY_ALKALOSIS),
    steps=(
        PracticeStep("A metabolic acidosis each time: work out the gap.", _ACID),
        PracticeStep("Any disorder may come.", _ALL),
    ),
    believe=cause_group,
    explain=_gap_steps,
    falls=_gap_falls,
    bring=_salted,
    more=("sodium", "chloride", "potassium"),
)
