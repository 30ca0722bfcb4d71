"""What a reader believes of a gas, said in the words of a question's fields and steps."""
from __future__ import annotations

from acidbase_lib.reading.blood_gas import BloodGas
from acidbase_lib.reading.kilopascal import pressure
from acidbase_lib.teaching.misconceptions.catalog import Beliefs

# ideas that show only where a PaCO2 is printed
SEEN_BY_PACO2 = frozenset({"PaCO2 sign reversed", "PaCO2 decides everything", "PaCO2 range wrong",
                           "kPa read as mmHg"})
_SIDE = {"low": "acidemia", "high": "alkalemia", "normal": "in range"}


def direction(beliefs: Beliefs) -> str:
    """Do pH and bicarbonate move the same way? "same", "opposite" or "cannot tell"."""
    if "normal" in (beliefs.ph, beliefs.hco3):
        return "cannot tell"
    return "same" if beliefs.ph == beliefs.hco3 else "opposite"


def disorder_of(beliefs: Beliefs) -> str | None:
    """The disorder believed in, or None."""
    return beliefs.disorder


def label_of(beliefs: Beliefs) -> str:
    """The full nursing label believed in: "partially compensated respiratory acidosis"."""
    if beliefs.disorder in (None, "normal"):
        return "normal" if beliefs.disorder else "no single label"
    if beliefs.compensation in (None, "none"):
        return beliefs.disorder
    return f"{beliefs.compensation} {beliefs.disorder}"


def belief(beliefs: Beliefs, name: str) -> str | None:
    """What is believed of one standard field."""
    return {"pH": beliefs.ph, "PaCO2": beliefs.paco2, "bicarbonate": beliefs.hco3,
            "direction": direction(beliefs), "disorder": beliefs.disorder,
            "compensation": beliefs.compensation}[name]


def reading_steps(beliefs: Beliefs, gas: BloodGas) -> tuple[str, ...]:
    """Return a reading as a learner would write it down, one belief a step."""
    name = beliefs.disorder or "no single disorder"
    family, _, side = name.partition(" ")
    moved = {"same": "moved in the same direction", "opposite": "moved in opposite directions",
             "cannot tell": "show no common direction"}[direction(beliefs)]
    confirms = _paco2_says(beliefs)
    if side and beliefs.ph == "normal" and beliefs.side != "none":
        moved += ". PaCO2 decides"
        named = f"The pH is in range, but on the {beliefs.side} side, so the name is {name}."
    else:
        named = f"The pH is {beliefs.ph}, so the name is {name}."
    return (
        f"The pH is {gas.ph:.2f}: {_with_side(beliefs.ph)}.",
        f"Bicarbonate is {gas.hco3:.0f} mmol/L: {beliefs.hco3}.",
        f"The pH and bicarbonate {moved}, so the disorder is {family}." if side else
        f"The pH and bicarbonate {moved}, so the two numbers alone name no disorder.",
        named,
        f"PaCO2 is {pressure(gas.paco2)}: {beliefs.paco2}. {confirms}",
    )


def first_slip(written: Beliefs, mine: Beliefs, gas: BloodGas) -> int | None:
    """Return the first step of a written reading that I would not have written, from 1."""
    pairs = zip(reading_steps(written, gas), reading_steps(mine, gas), strict=True)
    return next((n for n, (theirs, ours) in enumerate(pairs, start=1) if theirs != ours), None)


def _with_side(state: str) -> str:
    return f"{state}, {_SIDE[state]}" if state != "normal" else "normal"


def _paco2_says(beliefs: Beliefs) -> str:
    if beliefs.paco2 == "normal":
        return "The lungs have not responded, or not yet."
    if beliefs.ph == "normal":
        return "It has moved away from its range."
    if beliefs.paco2 == beliefs.ph:
        return "It moved the same way as the pH, as in a metabolic disorder."
    return "It moved opposite to the pH, as in a respiratory disorder."
