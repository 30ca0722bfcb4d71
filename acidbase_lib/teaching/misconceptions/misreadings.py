"""Wrong readings as small programs: each answers as a learner would who holds one wrong idea."""
from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import replace
from types import MappingProxyType
from typing import Final

from acidbase_lib.physiology.henderson_hasselbalch import hydrogen_ion
from acidbase_lib.physiology.quantities import QUANTITIES
from acidbase_lib.physiology.units import mmhg_to_kpa
from acidbase_lib.reading.disorders import (
    FULL,
    METABOLIC_ACIDOSIS,
    METABOLIC_ALKALOSIS,
    NORMAL,
    PARTIAL,
    PARTS,
    RESPIRATORY_ACIDOSIS,
    RESPIRATORY_ALKALOSIS,
    UNCOMPENSATED,
    RangeState,
)
from acidbase_lib.reading.interpretation import interpret
from acidbase_lib.reading.nursing_label import nursing_label
from acidbase_lib.reading.value_range import Range

from .beliefs import NONE, Beliefs, SeenGas, beliefs_of
from .misreadings_oxygen import OXYGEN_PROGRAMS
from .misreadings_ranges import RANGE_PROGRAMS
from .misreadings_response import RESPONSE_PROGRAMS

_PH_STATE: Final = {"low": "acidemia", "normal": "normal", "high": "alkalemia"}
_FLIPPED: Final[Mapping[RangeState, RangeState]] = {
    "low": "high",
    "normal": "normal",
    "high": "low",
}

#: The ranges that two of the wrong ideas read by.
WIDE_HCO3: Final = Range(18, 30)
WIDE_PACO2: Final = Range(30, 50)


Program = Callable[[SeenGas], Beliefs]


# --- the names and sides ------------------------------------------------------------------------

def directions_swapped(seen: SeenGas) -> Beliefs:
    """Same direction is called respiratory, opposite is called metabolic."""
    return _renamed(seen.sound, {"respiratory": "metabolic", "metabolic": "respiratory"})


def sides_swapped(seen: SeenGas) -> Beliefs:
    """A low pH is called alkaline, a high one acid."""
    sound = seen.sound
    side = {"acid": "alkaline", "alkaline": "acid"}.get(sound.side, NONE)
    limits = QUANTITIES["ph"]  # a pH at the edge of life has no mirror image that could be read
    mirror = min(max(2 * seen.reading.settings.midline - seen.gas.ph, limits.low), limits.high)
    mirrored = round(hydrogen_ion(mirror))
    return replace(_renamed(sound, {"acidosis": "alkalosis", "alkalosis": "acidosis"}), side=side,
                   hydrogen_ion=mirrored)


def paco2_sign_reversed(seen: SeenGas) -> Beliefs:
    """Carbon dioxide is thought to be alkaline, so its push is read the wrong way round."""
    sound = seen.sound
    if "normal" in (sound.ph, sound.paco2):
        return sound
    thought = _label(sound.ph, seen, _FLIPPED[sound.paco2], sound.hco3)
    if thought is None:  # neither value seems to push this way: not breathing, so metabolic
        name = METABOLIC_ACIDOSIS if sound.ph == "low" else METABOLIC_ALKALOSIS
        return _named(sound, name, PARTIAL)
    return _named(sound, *thought)


def paco2_decides(seen: SeenGas) -> Beliefs:
    """A high PaCO2 is respiratory acidosis, a low one respiratory alkalosis, whatever the pH."""
    sound = seen.sound
    name = {"high": RESPIRATORY_ACIDOSIS, "low": RESPIRATORY_ALKALOSIS}.get(sound.paco2)
    return sound if name is None else _named(sound, name, _how_far(sound.ph, sound.hco3))


def bicarbonate_decides(seen: SeenGas) -> Beliefs:
    """A low bicarbonate is metabolic acidosis, a high one metabolic alkalosis, whatever the pH."""
    sound = seen.sound
    name = {"low": METABOLIC_ACIDOSIS, "high": METABOLIC_ALKALOSIS}.get(sound.hco3)
    return sound if name is None else _named(sound, name, _how_far(sound.ph, sound.paco2))


def shortcut_only(seen: SeenGas) -> Beliefs:
    """Only pH and bicarbonate are read; where they say nothing, nothing is thought to be wrong."""
    sound = seen.sound
    if "normal" in (sound.ph, sound.hco3):
        return _named(sound, NORMAL, NONE)
    if sound.disorder is not None and len(PARTS[sound.disorder]) > 1:
        return _named(sound, PARTS[sound.disorder][1], UNCOMPENSATED)
    return sound


# --- compensation -------------------------------------------------------------------------------

def compensated_anyway(seen: SeenGas) -> Beliefs:
    """Every disorder is thought to be compensated: the pH is not asked."""
    sound = seen.sound
    return sound if sound.compensation == NONE else replace(sound, compensation=FULL)


def partial_for_full(seen: SeenGas) -> Beliefs:
    """The helper has moved, so the job is thought to be done."""
    return _changed(seen.sound, {PARTIAL: FULL})


def partial_for_none(seen: SeenGas) -> Beliefs:
    """The pH is off, so nothing is thought to have answered."""
    return _changed(seen.sound, {PARTIAL: UNCOMPENSATED})


def both_off_is_partial(seen: SeenGas) -> Beliefs:
    """Two values off are always called partial compensation."""
    sound = seen.sound
    if "normal" in (sound.paco2, sound.hco3) or sound.disorder is None:
        return sound
    return _named(sound, PARTS[sound.disorder][0], PARTIAL)


def normal_ph_is_normal(seen: SeenGas) -> Beliefs:
    """A pH in range is thought to mean that all is well."""
    sound = seen.sound
    return _named(sound, NORMAL, NONE) if sound.ph == "normal" else sound


def side_ignored(seen: SeenGas) -> Beliefs:
    """A fully compensated gas is named from PaCO2; the side of 7.40 is not looked at."""
    sound = seen.sound
    if sound.ph != "normal" or "normal" in (sound.paco2, sound.hco3):
        return sound
    name = RESPIRATORY_ACIDOSIS if sound.paco2 == "high" else RESPIRATORY_ALKALOSIS
    return _named(sound, name, FULL)


# --- ranges and units ---------------------------------------------------------------------------

def wide_bicarbonate(seen: SeenGas) -> Beliefs:
    """Bicarbonate is judged by 18–30 mmol/L."""
    sound = seen.sound
    return _judged(seen, sound.paco2, WIDE_HCO3.state(seen.gas.hco3))


def wide_paco2(seen: SeenGas) -> Beliefs:
    """PaCO2 is judged by 30–50 mmHg."""
    return _judged(seen, WIDE_PACO2.state(seen.gas.paco2), seen.sound.hco3)


def kpa_for_mmhg(seen: SeenGas) -> Beliefs:
    """A PaCO2 printed in kPa is judged by the range in mmHg, so it always seems low."""
    if seen.shown != "kPa":
        return seen.sound
    number = mmhg_to_kpa(seen.gas.paco2)
    return _judged(seen, seen.reading.settings.paco2.state(number), seen.sound.hco3)


# --- what is left out ---------------------------------------------------------------------------

def second_never_sought(seen: SeenGas) -> Beliefs:
    """The first name is the last: one process, answered as it should be."""
    sound = seen.sound
    if len(sound.processes) < 2:
        return sound
    if sound.disorder is not None and len(PARTS[sound.disorder]) > 1:
        return _named(sound, PARTS[sound.disorder][0], UNCOMPENSATED)
    return replace(sound, processes=sound.processes[:1], response="as expected")


def gap_never_worked_out(seen: SeenGas) -> Beliefs:
    """Sodium and chloride are not looked at: the gap is taken for normal."""
    sound = seen.sound
    if sound.gap != "high":
        return sound
    plain = replace(seen.gas, sodium=None, chloride=None)
    without = beliefs_of(interpret(plain, seen.reading.settings))
    return replace(without, gap="normal")


def oxygen_names(seen: SeenGas) -> Beliefs:
    """A low PaO2 is thought to be respiratory acidosis."""
    sound, pao2 = seen.sound, seen.gas.pao2
    if pao2 is None or seen.reading.settings.pao2.state(pao2) != "low":
        return sound
    far = UNCOMPENSATED if sound.compensation == NONE else sound.compensation
    return _named(sound, RESPIRATORY_ACIDOSIS, far)


PROGRAMS: Final[Mapping[str, Program]] = MappingProxyType({
    "directions swapped": directions_swapped,
    "sides swapped": sides_swapped,
    "compensated with an abnormal pH": compensated_anyway,
    "partial taken for full": partial_for_full,
    "partial taken for uncompensated": partial_for_none,
    "both off means partial": both_off_is_partial,
    "normal pH means normal": normal_ph_is_normal,
    "side of a normal pH ignored": side_ignored,
    "bicarbonate range wrong": wide_bicarbonate,
    "PaCO2 range wrong": wide_paco2,
    "PaCO2 sign reversed": paco2_sign_reversed,
    "PaCO2 decides everything": paco2_decides,
    "bicarbonate decides everything": bicarbonate_decides,
    "shortcut trusted where it is silent": shortcut_only,
    "second disorder never looked for": second_never_sought,
    "kPa read as mmHg": kpa_for_mmhg,
    "oxygen names the disorder": oxygen_names,
    "anion gap never worked out": gap_never_worked_out,
    **RANGE_PROGRAMS,
    **RESPONSE_PROGRAMS,
    **OXYGEN_PROGRAMS,
})


# --- how a learner goes on from a wrong step ----------------------------------------------------

def _named(beliefs: Beliefs, disorder: str, compensation: str) -> Beliefs:
    """The same numbers under another name."""
    if disorder == beliefs.disorder and compensation == beliefs.compensation:
        return beliefs
    parts = PARTS[disorder]
    return replace(beliefs, disorder=disorder, compensation=NONE if len(parts) != 1
                   else compensation, processes=parts,
                   response="as expected" if parts else NONE)


def _changed(beliefs: Beliefs, words: Mapping[str, str]) -> Beliefs:
    return replace(beliefs, compensation=words.get(beliefs.compensation, beliefs.compensation))


def _renamed(beliefs: Beliefs, words: Mapping[str, str]) -> Beliefs:
    """Every name with some of its words exchanged; a mixed name keeps its order."""
    def swap(name: str) -> str:
        return " ".join(words.get(word, word) for word in name.split())

    disorder = beliefs.disorder
    mixed = disorder is not None and disorder.startswith("mixed")
    if disorder is not None and not (mixed and "respiratory" in words):
        disorder = swap(disorder)
    return replace(beliefs, disorder=disorder, processes=tuple(map(swap, beliefs.processes)))


def _how_far(ph: RangeState, helper: RangeState) -> str:
    """Compensation as the ranges give it, whatever the cause is thought to be."""
    if ph == "normal":
        return FULL
    return UNCOMPENSATED if helper == "normal" else PARTIAL


def _label(
    ph: RangeState, seen: SeenGas, paco2: RangeState, hco3: RangeState
) -> tuple[str, str] | None:
    """The name that the nursing rules give for these states; None where they give none."""
    label = nursing_label(_PH_STATE[ph], seen.reading.side, paco2, hco3)  # type: ignore[arg-type]
    if label.text == NORMAL:
        return NORMAL, NONE
    return (label.primary, label.compensation or NONE) if label.primary else None


def _judged(seen: SeenGas, paco2: RangeState, hco3: RangeState) -> Beliefs:
    """The reading that follows from states judged by another range.

    Where the rules then give no name, a learner who must answer takes the value that seems to
    be off as the cause, or calls the gas normal when nothing does.
    """
    sound = seen.sound
    if (paco2, hco3) == (sound.paco2, sound.hco3):
        return sound
    thought = _label(sound.ph, seen, paco2, hco3)
    if thought is None:
        off = [kind for kind, state in (("respiratory", paco2), ("metabolic", hco3))
               if state != "normal"]
        end = "acidosis" if sound.side == "acid" else "alkalosis"
        if len(off) == 1 and sound.side != NONE:
            thought = f"{off[0]} {end}", _how_far(sound.ph, "normal")
        elif len(off) == 2 and sound.disorder is not None:
            thought = sound.disorder, sound.compensation
    if thought is None:
        return replace(sound, paco2=paco2, hco3=hco3, disorder=None, compensation=NONE,
                       processes=(), response=NONE)
    return replace(_named(sound, *thought), paco2=paco2, hco3=hco3)
