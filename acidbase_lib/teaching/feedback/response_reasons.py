"""Why a word for the response, a second disorder or a history fails or holds: the band."""
from __future__ import annotations

from collections.abc import Mapping
from typing import Final

from acidbase_lib.reading.blood_gas import BloodGas
from acidbase_lib.reading.disorders import (
    AS_EXPECTED,
    DISORDERS,
    LESS,
    METABOLIC_ACIDOSIS,
    METABOLIC_ALKALOSIS,
    MORE,
)
from acidbase_lib.reading.interpretation import interpret
from acidbase_lib.reading.kilopascal import pressure, rule_told
from acidbase_lib.teaching.misconceptions.catalog import SOUND

from .gas_set_reasons import number_told
from .option_reasons import Reasons

_BEHIND: Final = {
    METABOLIC_ACIDOSIS: " The breathing falls behind: a danger, even where PaCO2 is not high.",
    METABOLIC_ALKALOSIS: " Too little air moves, and even a pH in range does not make that safe."}
_RAISES: Final = {"respiratory acidosis": True, "respiratory alkalosis": False}


def paco2_told(gas: BloodGas) -> Reasons:
    """Where PaCO2 belongs, as a number."""
    expected = interpret(gas).expected
    assert expected is not None
    rule = f"The rule: {rule_told(expected.quantity, expected.rule)}."
    return number_told(f"{rule} That is {pressure(expected.low, expected.high)}.",
                       "It is lower than the rule gives. Put this bicarbonate into the rule, not "
                       "PaCO2.",
                       "It is higher than the rule gives. Put this bicarbonate into the rule, not "
                       "PaCO2.")


def response_told(gas: BloodGas) -> dict[str, Reasons]:
    """How a metabolic patient's PaCO2 compares, and the second disorder."""
    reading, sound = interpret(gas), SOUND.read(gas)
    expected = reading.expected
    assert expected is not None
    low, high = expected.low, expected.high
    where = "above" if gas.paco2 > high else "below" if gas.paco2 < low else "inside"
    if sound.response == AS_EXPECTED:
        where = "inside"
    band = pressure(low, high).removesuffix(" mmHg")
    here = f"PaCO2 is {pressure(gas.paco2)}, {where} the {band} that belong here"
    lead = str(reading.lead)
    rises = lead == METABOLIC_ALKALOSIS
    far = {LESS: not rises, MORE: rises}  # the words that mean: above the band
    responses = {word: f"{word.capitalize()} means {'above' if far[word] else 'below'} that "
                       f"stretch. {here}." for word in far}
    responses[AS_EXPECTED] = f"As expected means inside that stretch. {here}."
    responses[str(sound.response)] = f"{here}."
    key = next(iter(sound.processes[1:]), "none")
    # Albert 1967 gives the band; that a PaCO2 above it is a danger is common practice
    behind = _BEHIND[lead] if where == "above" else ""
    seconds = {name: _second_fails(name, lead, where, here) for name in (*DISORDERS, "none")}
    seconds[key] = (f"{here}. Nothing else is needed to explain it." if key == "none" else
                    f"{here}. {lead.capitalize()} alone does not put it there.{behind}")
    return {"response": Reasons(responses, f"{here}."),
            "second": Reasons(seconds, f"{here}.{behind}")}


def _second_fails(name: str, lead: str, where: str, here: str) -> str:
    if name == "none":
        danger = " To overlook this is a danger." if where == "above" else ""
        return f"{here}. One disorder does not put it there.{danger}"
    if name == lead:
        return "That is the first disorder. The question is whether there is another one."
    if name not in _RAISES:
        return ("PaCO2 tells of breathing only. It cannot show or exclude a second metabolic "
                "disorder.")
    if where == "inside":
        return f"{here}. A second disorder of breathing would move it out."
    way = "raise" if _RAISES[name] else "lower"
    return f"That would {way} PaCO2, and PaCO2 lies {where} what is expected."


def histories_told(gas: BloodGas, one: str, two: str, known: Mapping[str, str],
                   ) -> dict[str, Reasons]:
    """One gas and two histories: whether the time since it began allows one disorder."""
    expected = interpret(gas).expected
    assert expected is not None
    assert expected.acute is not None
    assert expected.chronic is not None
    days = (f"After days of this, bicarbonate is expected at {expected.chronic.low:.0f} to "
            f"{expected.chronic.high:.0f} mmol/L. {gas.hco3:.0f} lies inside, so one is enough.")
    safe = " A pH in range does not make this safe." if SOUND.read(gas).ph == "normal" else ""
    hours = (f"After minutes to hours, bicarbonate is expected at {expected.acute.low:.0f} to "
             f"{expected.acute.high:.0f} mmol/L. {gas.hco3:.0f} lies above: the kidneys had no "
             f"time, so something else has raised it.{safe}")
    return {name: Reasons({one: days if right == one else hours,
                        two: days if right == one else hours},
                       days if right == one else hours) for name, right in known.items()}
