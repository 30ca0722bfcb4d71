"""What a reader believes of the response: compensation in steps, the band, the second disorder."""
from __future__ import annotations

from acidbase_lib.reading.blood_gas import BloodGas
from acidbase_lib.reading.disorders import AS_EXPECTED
from acidbase_lib.reading.interpretation import interpret
from acidbase_lib.reading.kilopascal import pressure
from acidbase_lib.reading.settings_in_force import in_force
from acidbase_lib.teaching.misconceptions.catalog import Beliefs, Reader
from acidbase_lib.teaching.misconceptions.misreadings_response import HELPER_IN_RANGE

_NEVER_SOUGHT = "second disorder never looked for"
_SIDE = {"low": "acidemia", "high": "alkalemia"}


def compensation_steps(beliefs: Beliefs, gas: BloodGas) -> tuple[str, ...]:
    """Return how a reader comes to the word for compensation: pH, cause, helper, pH again."""
    ph = f"The pH is {gas.ph:.2f}: "
    ph += (f"{beliefs.ph}, {_SIDE[beliefs.ph]}." if beliefs.ph != "normal" else
           f"in range, on the {beliefs.side} side of 7.40." if beliefs.side != "none" else
           "in range.")
    if beliefs.disorder in (None, "normal") or beliefs.compensation == "none":
        name = beliefs.disorder or "no single disorder"
        return (ph, f"The name is {name}.", "There is no helper to look for.",
                "So there is no word for compensation.")
    breathing_first = beliefs.disorder.startswith("respiratory")
    cause, helper = (("PaCO2", "bicarbonate") if breathing_first else ("bicarbonate", "PaCO2"))
    states = {"PaCO2": beliefs.paco2, "bicarbonate": beliefs.hco3}
    values = {"PaCO2": pressure(gas.paco2), "bicarbonate": f"{gas.hco3:.0f} mmol/L"}
    moved = "it has not left its range" if states[helper] == "normal" else "it has moved to help"
    return (ph, f"{_capital(cause)} is {values[cause]}: {states[cause]}. It is the cause, so the "
                f"name is {beliefs.disorder}.",
            f"{_capital(helper)}, the helper, is {values[helper]}: {states[helper]}, so {moved}.",
            f"The word is {beliefs.compensation}.")


def band_of(reader: Reader, gas: BloodGas) -> tuple[float, float] | None:
    """Where a reader expects the value that answers; None where no rule of theirs applies."""
    reading = interpret(gas)
    if reading.expected is None:
        return None
    if reader.key == HELPER_IN_RANGE:
        usual = (in_force().paco2 if reading.expected.quantity == "PaCO2"
                 else in_force().hco3)
        return usual.low, usual.high
    return reading.expected.low, reading.expected.high


def expected_paco2(reader: Reader, gas: BloodGas) -> float | None:
    """The PaCO2 that a reader would write down as expected in a metabolic disorder. [mmHg]"""
    band = band_of(reader, gas)
    if band is None:
        return None
    if reader.key == _NEVER_SOUGHT:
        return gas.paco2  # what is there is taken for what should be there
    return round(sum(band) / 2, 1)


def second_disorder(reader: Reader, gas: BloodGas) -> str:
    """The disorder that a reader finds beside the first one, or "none"."""
    return next(iter(reader.read(gas).processes[1:]), "none")


def response_steps(reader: Reader, gas: BloodGas) -> tuple[str, ...]:
    """Return how a reader of a metabolic gas comes to one disorder, or to two."""
    beliefs = reader.read(gas)
    band = band_of(reader, gas)
    acid = "low, acidemia" if beliefs.ph == "low" else "high, alkalemia"
    ph = f"in range, on the {beliefs.side} side of 7.40" if beliefs.ph == "normal" else acid
    steps = [f"The pH is {gas.ph:.2f}: {ph}.",
             f"Bicarbonate is {gas.hco3:.0f} mmol/L: {beliefs.hco3}. The name is "
             f"{beliefs.disorder}."]
    if band is None:
        return (*steps, "No rule says which PaCO2 to expect.", "There is one disorder.")
    low, high = band
    steps.append(f"With this disorder alone, PaCO2 is expected at {pressure(low, high)}.")
    where = {AS_EXPECTED: "as expected"}.get(beliefs.response) or (
        "above that" if gas.paco2 > high else "below that" if gas.paco2 < low else "inside")
    second = second_disorder(reader, gas)
    steps.append(f"PaCO2 is {pressure(gas.paco2)}: {where}. " + (
        "There is no second disorder." if second == "none" else
        f"The second disorder is {second}."))
    return tuple(steps)


def _capital(text: str) -> str:
    return text[:1].upper() + text[1:]
