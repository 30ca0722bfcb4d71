"""Wrong ideas about the expected response, as small programs beside those of `misreadings`."""
from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import replace
from types import MappingProxyType
from typing import Final

from acidbase_lib.reading.disorders import (
    AS_EXPECTED,
    METABOLIC_ACIDOSIS,
    METABOLIC_ALKALOSIS,
    MORE,
    RESPIRATORY_ACIDOSIS,
    RESPIRATORY_ALKALOSIS,
)

from .beliefs import Beliefs, SeenGas

HELPER_IN_RANGE: Final = "helper expected in its range"
_MOVED_BY: Final[Mapping[tuple[str, str], str]] = MappingProxyType({
    ("PaCO2", "high"): RESPIRATORY_ACIDOSIS, ("PaCO2", "low"): RESPIRATORY_ALKALOSIS,
    ("HCO3", "high"): METABOLIC_ALKALOSIS, ("HCO3", "low"): METABOLIC_ACIDOSIS,
})


def helper_in_range(seen: SeenGas) -> Beliefs:
    """The value that answers is thought to belong in its usual range, whatever it answers."""
    sound, reading = seen.sound, seen.reading
    if reading.expected is None or reading.lead is None:
        return sound
    quantity = reading.expected.quantity
    state = sound.paco2 if quantity == "PaCO2" else sound.hco3
    if state == "normal":
        return replace(sound, processes=(reading.lead,), response=AS_EXPECTED)
    return replace(sound, processes=(reading.lead, _MOVED_BY[quantity, state]), response=MORE)


RESPONSE_PROGRAMS: Final[Mapping[str, Callable[[SeenGas], Beliefs]]] = MappingProxyType({
    HELPER_IN_RANGE: helper_in_range,
})
