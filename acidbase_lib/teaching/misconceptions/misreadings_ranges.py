"""Wrong ideas about the numbers themselves: their scale, sample, range and origin."""
from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import replace
from types import MappingProxyType
from typing import Final

from acidbase_lib.reading.interpretation import interpret
from acidbase_lib.reading.settings_in_force import in_force

from .beliefs import Beliefs, SeenGas, beliefs_of

Program = Callable[[SeenGas], Beliefs]


def ph_scale_linear(seen: SeenGas) -> Beliefs:
    """A pH that falls by 4 in 100 is thought to mean 4 in 100 more hydrogen ions."""
    midline = seen.reading.settings.midline
    return replace(seen.sound, hydrogen_ion=round(40 * (1 + (midline - seen.gas.ph) / midline)))


def venous_as_arterial(seen: SeenGas) -> Beliefs:
    """A venous sample is judged by the arterial ranges."""
    if seen.gas.specimen != "venous":
        return seen.sound
    return beliefs_of(interpret(replace(seen.gas, specimen="arterial"), seen.reading.settings))


def one_range_everywhere(seen: SeenGas) -> Beliefs:
    """The ranges learned first are kept, whatever the report prints beside its numbers."""
    return beliefs_of(interpret(seen.gas, in_force()))


def bicarbonate_measured(seen: SeenGas) -> Beliefs:
    """The equation for pH is taken for what the analyzer does: bicarbonate in, pH out.

    Where the report says that its bicarbonate was worked out, the idea does not show.
    """
    if seen.gas.hco3_derived:
        return seen.sound
    sound = seen.sound
    return replace(sound, calculated=("pH", *(name for name in sound.calculated
                                              if name != "bicarbonate")))


RANGE_PROGRAMS: Final[Mapping[str, Program]] = MappingProxyType({
    "pH scale linear": ph_scale_linear,
    "venous read as arterial": venous_as_arterial,
    "one range for every laboratory": one_range_everywhere,
    "bicarbonate thought to be measured": bicarbonate_measured,
})
