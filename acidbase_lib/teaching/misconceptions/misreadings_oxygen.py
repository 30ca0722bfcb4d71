"""Wrong readings of oxygen and of the anion gap, as small programs."""
from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import replace
from types import MappingProxyType
from typing import Final

from acidbase_lib.physiology.oxygenation import inspired_po2

from .beliefs import Beliefs, SeenGas
from .oxygen_beliefs import NO_FAILURE

Program = Callable[[SeenGas], Beliefs]

_ROOM_AIR: Final = 0.21
_SWAPPED: Final = {"type 1": "type 2", "type 2": "type 1"}
_FAILURE_PAO2: Final = 60.0  # taken for the lower end of the range [mmHg]


def failure_types_swapped(seen: SeenGas) -> Beliefs:
    """Type 1 is thought to be the one with carbon dioxide."""
    sound, oxygen = seen.sound, seen.sound.oxygen
    if oxygen is None or oxygen.failure == NO_FAILURE:
        return sound
    return replace(sound, oxygen=replace(oxygen, failure=_SWAPPED[oxygen.failure]))


def low_only_below_sixty(seen: SeenGas) -> Beliefs:
    """The limit of failure is taken for the end of the range: 60 and above is called normal."""
    sound, oxygen, pao2 = seen.sound, seen.sound.oxygen, seen.gas.pao2
    if oxygen is None or pao2 is None or oxygen.state != "low" or pao2 < _FAILURE_PAO2:
        return sound
    return replace(sound, oxygen=replace(oxygen, state="normal"))


def inspired_ignored(seen: SeenGas) -> Beliefs:
    """PaO2 is judged as if everybody breathed room air."""
    sound, oxygen, pao2 = seen.sound, seen.sound.oxygen, seen.gas.pao2
    if oxygen is None or oxygen.ratio is None or pao2 is None:
        return sound
    return replace(sound, oxygen=replace(oxygen, ratio=pao2 / _ROOM_AIR))


def inspired_for_alveolar(seen: SeenGas) -> Beliefs:
    """PaO2 is taken from the inspired oxygen: carbon dioxide's share of the alveoli is left out."""
    sound, oxygen, gas = seen.sound, seen.sound.oxygen, seen.gas
    if oxygen is None or oxygen.gradient is None or gas.pao2 is None or gas.fio2 is None:
        return sound
    inspired = inspired_po2(gas.fio2, barometric_pressure=gas.barometric_pressure)
    # carbon dioxide's share is far above any limit for age, so the gradient always looks wide
    return replace(sound, oxygen=replace(oxygen, gradient=inspired - gas.pao2,
                                         width=oxygen.width and "wide"))


def bicarbonate_left_out(seen: SeenGas) -> Beliefs:
    """Sodium minus chloride is called the gap, so it looks high in everybody."""
    sound, gas = seen.sound, seen.gas
    if gas.sodium is None or gas.chloride is None or sound.gap_value is None:
        return sound
    return replace(sound, gap="high", gap_value=gas.sodium - gas.chloride)


OXYGEN_PROGRAMS: Final[Mapping[str, Program]] = MappingProxyType({
    "failure types swapped": failure_types_swapped,
    "oxygen low only below 60": low_only_below_sixty,
    "inspired oxygen ignored": inspired_ignored,
    "inspired taken for alveolar": inspired_for_alveolar,
    "bicarbonate left out of the gap": bicarbonate_left_out,
})
