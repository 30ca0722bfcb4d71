"""What a given lactate adds to the step about the anion gap."""
from __future__ import annotations

from typing import Final

from acidbase_lib.reading.blood_gas import BloodGas
from acidbase_lib.reading.judging.judged_values import passed
from acidbase_lib.reading.lab_settings import LabSettings
from acidbase_lib.reading.wording import number

QUIET: Final = 1.0  # a usual lactate [mmol/L]; common practice
MOST: Final = 0.5  # from this share on the acidosis is called by the lactate; common practice
CHLORIDE: Final = ("Chloride has taken the place of bicarbonate: think of diarrhea, saline and the "
                   "kidney tubules.")


def lactate_is_raised(gas: BloodGas, settings: LabSettings) -> bool:
    """Whether a lactate was given and reaches its alarm limit."""
    return gas.lactate is not None and passed(
        "concern_lactate", gas.lactate, settings.concern_lactate) is not None


def lactate_share(gas: BloodGas, settings: LabSettings) -> float:
    """How much of the fall in bicarbonate the lactate above 1 mmol/L may explain, 0 to 1."""
    fall = settings.hco3_set - gas.hco3
    if gas.lactate is None or fall <= 0:
        return 0.0
    return min(max(gas.lactate - QUIET, 0.0) / fall, 1.0)


def beside_a_usual_gap(gas: BloodGas, settings: LabSettings) -> tuple[str, str]:
    """The finding and what explains an acidosis whose gap is not raised ([Iberti1990]_)."""
    if not lactate_is_raised(gas, settings):
        text = "" if gas.lactate is None else f"Lactate {_text(gas, settings)} is not raised. "
        return "No: a normal gap metabolic acidosis.", f"{text}{CHLORIDE}"
    share = lactate_share(gas, settings)
    text = (f"Lactate {_text(gas, settings)} is raised, and a gap can miss it, most of all with a "
            f"low albumin. It may explain about {number(100 * share, digits=0)} % of the fall in "
            "bicarbonate. Ask first what raises the lactate.")
    if share >= MOST:
        return "No, and yet the lactate is raised: a lactic acidosis.", text
    return ("No, and the lactate is raised: it explains a part.",
            f"{text} For the rest: {CHLORIDE[0].lower()}{CHLORIDE[1:]}")


def hidden_lactate(gas: BloodGas, settings: LabSettings) -> str:
    """The sentence that a raised lactate adds to any gap that is not raised; empty without one."""
    if not lactate_is_raised(gas, settings):
        return ""
    return f" Yet lactate {_text(gas, settings)} is raised: a gap can miss it."


def _text(gas: BloodGas, settings: LabSettings) -> str:
    return f"{number(gas.lactate or 0, settings.concern_lactate)} mmol/L"
