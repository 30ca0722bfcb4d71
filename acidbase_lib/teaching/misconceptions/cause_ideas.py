"""Wrong ideas about causes: each remembers a cause as a learner would who holds it."""
from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import replace
from types import MappingProxyType
from typing import TYPE_CHECKING, Final, TypeAlias

from acidbase_lib.reading.disorders import (
    METABOLIC_ACIDOSIS,
    METABOLIC_ALKALOSIS,
    RESPIRATORY_ACIDOSIS,
    RESPIRATORY_ALKALOSIS,
)

if TYPE_CHECKING:
    from acidbase_lib.teaching.patients.causes import Cause

Recall: TypeAlias = "Callable[[Cause], Cause]"

_OTHER_BREATHING: Final = {RESPIRATORY_ACIDOSIS: RESPIRATORY_ALKALOSIS,
                           RESPIRATORY_ALKALOSIS: RESPIRATORY_ACIDOSIS}


def losses_swapped(cause: Cause) -> Cause:
    """Vomiting is thought to leave acid behind, and diarrhea to leave base."""
    if cause.loses == "stomach juice":
        return replace(cause, disorder=METABOLIC_ACIDOSIS, chloride="high", gap="normal")
    if cause.loses == "bowel juice":
        return replace(cause, disorder=METABOLIC_ALKALOSIS, chloride="low", gap="normal")
    return cause


def potassium_by_ph_alone(cause: Cause) -> Cause:
    """Every acidosis is thought to raise potassium and every alkalosis to lower it."""
    return replace(cause, potassium="high" if cause.disorder.endswith("acidosis") else "low")


def every_acidosis_high_gap(cause: Cause) -> Cause:
    """Every metabolic acidosis is thought to come from an added acid."""
    if cause.disorder != METABOLIC_ACIDOSIS:
        return cause
    return replace(cause, gap="high", chloride="normal")


def store_by_level(cause: Cause) -> Cause:
    """The potassium in the blood is thought to show how much the body holds, and will hold."""
    return replace(cause, store=cause.potassium, insulin=cause.insulin and "little change")


def breathing_swapped(cause: Cause) -> Cause:
    """Too little breathing is thought to make alkalosis, and too much acidosis."""
    return replace(cause, disorder=_OTHER_BREATHING.get(cause.disorder, cause.disorder))


RECALLS: Final[Mapping[str, Recall]] = MappingProxyType({
    "vomiting and diarrhea swapped": losses_swapped,
    "potassium told by the pH alone": potassium_by_ph_alone,
    "every metabolic acidosis has a high gap": every_acidosis_high_gap,
    "blood potassium taken for the body's store": store_by_level,
    "too little and too much breathing swapped": breathing_swapped,
})
