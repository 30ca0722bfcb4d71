"""An oxygen reading in steps, as a reader who believes so would write it, and why it is right."""
from __future__ import annotations

from typing import Final

from acidbase_lib.physiology.oxygen_grades import gradient_limit
from acidbase_lib.physiology.oxygenation import alveolar_po2, inspired_po2
from acidbase_lib.reading.blood_gas import BloodGas
from acidbase_lib.reading.kilopascal import bare_pressure, kpa_first, pressure
from acidbase_lib.reading.settings_in_force import in_force
from acidbase_lib.teaching.misconceptions.catalog import SOUND, Beliefs

from .printed_numbers import range_in_school_unit
from .reading_steps import disorder_of

_FAILURE = {"none": "no respiratory failure", "type 1": "respiratory failure type 1",
            "type 2": "respiratory failure type 2"}
#: Failure begins below it, on room air (BTS oxygen guideline 2017: 8 kPa). [mmHg]
FAILURE_PAO2: Final = 60.0


def oxygen_steps(beliefs: Beliefs, gas: BloodGas) -> tuple[str, ...]:
    """Return an oxygen reading as a learner would write it down, one belief a step."""
    oxygen = beliefs.oxygen
    if oxygen is None:
        return ()
    name = disorder_of(beliefs) or "no single disorder"
    named = "normal" if name == "normal" else name
    steps = [f"The pH is {gas.ph:.2f} and PaCO2 is {pressure(gas.paco2)}. Acid–base: {named}.",
             f"PaO2 is {pressure(gas.pao2 or 0)}: {oxygen.state}.",
             _failure_step(beliefs, gas)]
    if oxygen.gradient is not None:
        steps.append(f"The A–a gradient is {pressure(oxygen.gradient)}"
                     + (f": {oxygen.width} for this age." if oxygen.width else "."))
    return tuple(steps)


def _failure_step(beliefs: Beliefs, gas: BloodGas) -> str:
    """PaO2 says whether there is failure, PaCO2 only which type: type 1 has a low PaCO2 too."""
    failure = beliefs.oxygen.failure if beliefs.oxygen else "none"
    if gas.pao2 is None or gas.pao2 >= FAILURE_PAO2:
        return f"PaO2 is not below {pressure(FAILURE_PAO2)}: {_FAILURE[failure]}."
    high = "high" if beliefs.paco2 == "high" else "not high"
    return f"PaO2 is below {pressure(FAILURE_PAO2)} and PaCO2 is {high}: {_FAILURE[failure]}."


def first_oxygen_slip(written: Beliefs, mine: Beliefs, gas: BloodGas) -> int | None:
    """Return the first step of a written oxygen reading that I would not have written, from 1."""
    pairs = zip(oxygen_steps(written, gas), oxygen_steps(mine, gas), strict=True)
    return next((n for n, (theirs, ours) in enumerate(pairs, start=1) if theirs != ours), None)


def oxygen_because(gas: BloodGas) -> tuple[str, ...]:
    """Why the sound oxygen reading is right: PaO2, the failure, and the gradient or the ratio."""
    beliefs = SOUND.read(gas)
    oxygen = beliefs.oxygen
    if oxygen is None:
        return ()
    where = "on room air" if gas.fio2 is not None and gas.fio2 <= 0.215 else (
        f"on {100 * (gas.fio2 or 0):.0f} % oxygen")
    pao2, usual = gas.pao2 or 0, in_force().pao2
    span = range_in_school_unit(usual) if kpa_first() else usual
    limits = [_limit(limit) for limit in (FAILURE_PAO2, 45)]
    said = [f"PaO2 {pressure(pao2)} {where} is {oxygen.state}; the range is {span}.",
            f"PaO2 {_limit(pao2)} and PaCO2 {pressure(gas.paco2)}: "
            f"{_FAILURE[oxygen.failure]}. Failure means PaO2 below {limits[0]}; type 2 also means "
            f"PaCO2 above {limits[1]} (BTS guideline 2017)."]
    if oxygen.gradient is not None and gas.fio2 is not None:
        inspired = inspired_po2(gas.fio2, barometric_pressure=gas.barometric_pressure)
        alveolar = alveolar_po2(gas.paco2, gas.fio2, barometric_pressure=gas.barometric_pressure)
        text = (f"Inspired {bare_pressure(inspired)}, less {bare_pressure(gas.paco2)} / 0.8, "
                f"leaves {bare_pressure(alveolar)} in the alveoli; less PaO2 "
                f"{bare_pressure(pao2)} is a gradient of {pressure(oxygen.gradient)}")
        if gas.age is not None and oxygen.width:
            text += (f": {oxygen.width} at {gas.age:.0f}, where the limit is about "
                     f"{_limit(gradient_limit(gas.age))} (common practice)")
        said.append(text + ".")
    elif oxygen.ratio is not None:
        said.append(f"PaO2 divided by the inspired fraction is {pressure(oxygen.ratio)}.")
    return tuple(said)


def _limit(mmhg: float) -> str:
    """A limit beside a pressure: its unit is told again only where it takes two."""
    return pressure(mmhg) if kpa_first() else f"{mmhg:.0f}"
