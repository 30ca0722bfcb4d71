"""Where each number of a gas lies and by which range, in a line a number."""
from __future__ import annotations

from acidbase_lib.reading.blood_gas import BloodGas
from acidbase_lib.reading.lab_settings import LabSettings
from acidbase_lib.reading.settings_in_force import in_force
from acidbase_lib.reading.wording import sentence_case
from acidbase_lib.teaching.misconceptions.catalog import Beliefs

from .printed_numbers import THREE, number_text, range_text
from .reading_steps import belief


def state_because(beliefs: Beliefs, gas: BloodGas, unit: str = "mmHg",
                  settings: LabSettings | None = None) -> tuple[str, ...]:
    """Say of each number where it lies, and by which range."""
    settings = settings or in_force()
    return tuple(
        f"{sentence_case(number)} {number_text(gas, number, unit)}: {belief(beliefs, number)}. "
        f"The range is {range_text(number, settings, unit, gas.specimen)}." for number in THREE)
