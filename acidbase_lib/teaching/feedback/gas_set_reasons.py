"""Why one of several gases, or one of several steps, is the one that was asked for or is not."""
from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Final

from acidbase_lib.reading.blood_gas import BloodGas
from acidbase_lib.reading.settings_in_force import in_force
from acidbase_lib.teaching.explanations.reading_steps import direction
from acidbase_lib.teaching.misconceptions.catalog import SOUND

from .gas_reasons import disorder_told, label_told
from .option_reasons import Reasons

NONE: Final = "none"


def fits_told(target: str, gases: Mapping[str, BloodGas], right: str) -> Reasons:
    """Of several gases behind letters, why each does or does not show this label."""
    why = {letter: label_told(gas, (target,), (letter,)).why[letter]
           for letter, gas in gases.items()}
    return Reasons(why, f"{right}: {why[right]}")


def shows_told(gases: Mapping[str, BloodGas]) -> Reasons:
    """Of several gases behind letters, what each shows and by which step."""
    return Reasons({letter: _shows(gas) for letter, gas in gases.items()},
                "The cause is the value that pushes to the side of the pH: PaCO2 in a respiratory "
                "disorder, bicarbonate in a metabolic one.")


def _shows(gas: BloodGas) -> str:
    return f"{disorder_told(gas, ()).settles} It shows {SOUND.read(gas).disorder}."


def silent_told(gases: Mapping[str, BloodGas]) -> Reasons:
    """Of several gases behind letters, why the two-number rule speaks or is silent."""
    return Reasons({letter: _speaks(gas) for letter, gas in gases.items()},
                "The rule compares two directions, so it needs two numbers that have left their "
                "ranges.")


def _speaks(gas: BloodGas) -> str:
    sound = SOUND.read(gas)
    ways = {"opposite": "opposite directions", "same": "the same direction"}
    found = direction(sound)
    states = f"pH {gas.ph:.2f} is {_state(sound.ph)}, bicarbonate {gas.hco3:.0f} is " \
             f"{_state(sound.hco3)}"
    if found in ways:
        return f"{states}: {ways[found]}, so the rule gives a name."
    return f"{states}: no direction to compare, so the rule gives no name."


def _state(word: str) -> str:
    return "in range" if word == "normal" else word


def side_told(labels: Mapping[str, str], gas: BloodGas) -> Reasons:
    """Of several labels behind letters, which the pH alone strikes out."""
    side = SOUND.read(gas).side
    falls = {"acid": "alkalosis", "alkaline": "acidosis"}.get(side, "")
    here = f"pH {gas.ph:.2f} is on the {side} side"
    return Reasons({letter: f"It says {label.rsplit(' ', 1)[-1]}, and {here}: "
                 + ("it can be crossed out." if label.endswith(falls) else
                    "the pH alone does not cross it out.")
                 for letter, label in labels.items()},
                f"{here}, so each {falls} can be crossed out.")


def slip_told(written: Sequence[str], sound: Sequence[str], right: str) -> Reasons:
    """Of a reading in steps, why each step is or is not the first wrong one."""
    why = {}
    for n, (theirs, ours) in enumerate(zip(written, sound, strict=True), start=1):
        if str(n) == right:
            why[str(n)] = f"Step {n} does not fit. It should say: {ours}"
        elif theirs == ours:
            why[str(n)] = f"Step {n} fits the numbers: {theirs}"
        else:
            why[str(n)] = f"Step {n} does not fit either, but an earlier step is wrong first."
    why[NONE] = ("Every step fits the numbers." if right == NONE else
                 "One of the steps does not fit the numbers.")
    return Reasons(why, why[right])


def order_told(values: Mapping[str, str], rule: str) -> Reasons:
    """Of an order, the value that places each letter."""
    return Reasons(values, rule)


def number_told(rule: str, too_low: str = "", too_high: str = "") -> Reasons:
    """Of a number to be worked out: the step that gives it, and what makes it too low or high."""
    return Reasons({"low": too_low or "It is lower than the numbers give.",
                 "high": too_high or "It is higher than the numbers give."}, rule)


def gap_sum(gas: BloodGas) -> str:
    """The anion gap as its sum: "140 − 104 − 12 = 24"."""
    gap = SOUND.read(gas).gap_value or 0.0
    return f"{gas.sodium:.0f} − {gas.chloride:.0f} − {gas.hco3:.0f} = {gap:.0f}"


def gap_told(gas: BloodGas, gap: float, state: str) -> dict[str, Reasons]:
    """The anion gap as a number, and where it lies."""
    worked = (f"Sodium {gas.sodium:.0f} less chloride {gas.chloride:.0f} less bicarbonate "
              f"{gas.hco3:.0f} leaves {gap:.0f} mmol/L.")
    where = {"low": "below", "normal": "inside", "high": "above"}[state]
    here = f"A gap of {gap:.0f} lies {where} 8–16."
    means = {"low": "Low means below the range.", "normal": "Normal means inside the range.",
             "high": "High means above the range."}
    return {
        "number": number_told(
            worked, "It is lower than the numbers give. Take off chloride once and bicarbonate "
            "once, and nothing else.",
            "It is higher than the numbers give. Chloride and bicarbonate are both taken off."),
        "state": Reasons({word: here if word == state else f"{means[word]} {here}"
                       for word in means}, here)}


def hidden_told(gas: BloodGas, gap: float, state: str, behind: str, both: str) -> Reasons:
    """What lies behind pH, PaCO2, bicarbonate and the gap together."""
    acid, alkali = both.split(" and ")
    sound = SOUND.read(gas)
    where = "above" if state == "high" else "not above"
    here = f"The gap is {gap:.0f}, {where} {in_force().anion_gap}"
    numbers = f"pH is {_state(sound.ph)}, bicarbonate is {_state(sound.hco3)}"
    used = (f"{here}: an acid was added and used up bicarbonate. Bicarbonate is "
            f"{gas.hco3:.0f} all the same, so it was high before.")
    settles = {both: used, "nothing": f"{here}, and {numbers}: nothing points to a disorder.",
               acid: f"{numbers}. {here}.", alkali: f"{numbers}. {here}."}[behind]
    fails = {
        "nothing": f"{here}; {numbers}. " + (
            "A gap this high does not come from nothing." if state == "high" else
            "What left its range did not do so by itself."),
        acid: {both: f"{here}: that much acid would have pulled bicarbonate below "
                     f"{in_force().hco3.low:g}. It is {gas.hco3:.0f}.",
               "nothing": f"{numbers}, and {here[:1].lower()}{here[1:]}: nothing here points to "
                          "an added acid or a lost base.",
               }.get(behind, f"{numbers}: that is not the acid side."),
        alkali: {both: f"An alkalosis alone does not bring such a gap. {here}.",
                 "nothing": f"{numbers}: nothing has pushed to the alkaline side.",
                 }.get(behind, f"{numbers}: that is not the alkaline side."),
        both: (f"{here}, so it shows no added acid; a low albumin can hide one."
               if state != "high" else
               "An acid shows. Bicarbonate has fallen about as far as the gap has risen, so it "
               "was not high before."),
    }
    return Reasons(fails | {behind: settles}, settles)
