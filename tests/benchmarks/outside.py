"""Wrong ideas that are on nobody's list: what the diagnosis must not give another idea's name."""
from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import replace
from types import MappingProxyType

from acidbase_lib.reading.blood_gas import BloodGas
from acidbase_lib.reading.disorders import (
    FULL,
    MIXED_ACIDOSIS,
    MIXED_ALKALOSIS,
    NORMAL,
    PARTIAL,
    UNCOMPENSATED,
    RangeState,
)
from acidbase_lib.reading.value_range import Range
from acidbase_lib.teaching.misconceptions.beliefs import Beliefs
from acidbase_lib.teaching.misconceptions.catalog import SOUND

Program = Callable[[BloodGas], Beliefs]


def _named(sound: Beliefs, family: str, **other: object) -> Beliefs:
    side = "acidosis" if sound.side == "acid" else "alkalosis"
    return replace(sound, disorder=f"{family} {side}", **other)


def both_off_is_mixed(gas: BloodGas) -> Beliefs:
    """Two numbers off are two causes."""
    sound = SOUND.read(gas)
    if "normal" in (sound.paco2, sound.hco3):
        return sound
    name = MIXED_ACIDOSIS if sound.side == "acid" else MIXED_ALKALOSIS
    return replace(sound, disorder=name, compensation="none", processes=("one", "other"))


def words_turned_round(gas: BloodGas) -> Beliefs:
    """Full is what has not begun, and uncompensated is what is complete."""
    sound = SOUND.read(gas)
    turned = {FULL: UNCOMPENSATED, UNCOMPENSATED: FULL}
    return replace(sound, compensation=turned.get(sound.compensation, sound.compensation))


def narrow_ph(gas: BloodGas) -> Beliefs:
    """A pH is normal only from 7.38 to 7.42, so what is back in range is still on its way."""
    sound = SOUND.read(gas)
    state: RangeState = Range(7.38, 7.42).state(gas.ph)
    partial = sound.compensation == FULL and state != "normal"
    return replace(sound, ph=state, compensation=PARTIAL if partial else sound.compensation)


def wide_ph(gas: BloodGas) -> Beliefs:
    """A pH from 7.25 to 7.55 still counts as normal."""
    sound = SOUND.read(gas)
    state: RangeState = Range(7.25, 7.55).state(gas.ph)
    if state == sound.ph:
        return sound
    answered = "normal" not in (sound.paco2, sound.hco3) and sound.compensation == PARTIAL
    return replace(sound, ph=state, compensation=FULL if answered else sound.compensation)


def farther_off_names(gas: BloodGas) -> Beliefs:
    """The number that is farther from its middle, in percent, names the disorder."""
    sound = SOUND.read(gas)
    if sound.disorder in (None, NORMAL):
        return sound
    breathing, blood = abs(gas.paco2 / 40 - 1), abs(gas.hco3 / 24 - 1)
    return _named(sound, "respiratory" if breathing > blood else "metabolic")


def alkalosis_is_breathing(gas: BloodGas) -> Beliefs:
    """Whoever is alkaline has breathed too fast."""
    sound = SOUND.read(gas)
    known = sound.disorder not in (None, NORMAL)
    return _named(sound, "respiratory") if known and sound.side == "alkaline" else sound


def two_wherever_both_moved(gas: BloodGas) -> Beliefs:
    """Every number that is off is a process of its own."""
    sound = SOUND.read(gas)
    both = "normal" not in (sound.paco2, sound.hco3)
    return replace(sound, processes=("one", "other")) if both else sound


def nothing_answers_breathing(gas: BloodGas) -> Beliefs:
    """The kidneys never answer: what breathing did is always uncompensated."""
    sound = SOUND.read(gas)
    breathing = (sound.disorder or "").startswith("respiratory")
    return replace(sound, compensation=UNCOMPENSATED) if breathing else sound


OUTSIDE: Mapping[str, Program] = MappingProxyType({
    "both off is mixed": both_off_is_mixed,
    "full and uncompensated turned round": words_turned_round,
    "pH range too narrow": narrow_ph,
    "pH range too wide": wide_ph,
    "the number farther off names it": farther_off_names,
    "every alkalosis is breathing": alkalosis_is_breathing,
    "two processes wherever both moved": two_wherever_both_moved,
    "nothing answers breathing": nothing_answers_breathing,
})
