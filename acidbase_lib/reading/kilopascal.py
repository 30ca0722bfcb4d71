"""Every pressure of a text in both units, where the sample came in kPa."""
from __future__ import annotations

import re
from typing import Final

from acidbase_lib.physiology.units import mmhg_to_kpa

from .blood_gas import BloodGas
from .settings_in_force import in_force
from .wording import number

_PRESSURE: Final = re.compile(
    r"(?<![\d.])(\d+(?:\.\d+)?)(?:( to |–|-)(\d+(?:\.\d+)?))?(\s)mmHg\b")


def in_both_units(text: str, gas: BloodGas) -> str:
    """The text with kPa before every mmHg, if the gas came in kPa or the school tells it first.

    Examples
    --------
    >>> in_both_units("PaCO2 66 mmHg is above 35–45 mmHg", BloodGas.from_kpa(7.28, 8.8))
    'PaCO2 8.8 kPa (66 mmHg) is above 4.67–6 kPa (35–45 mmHg)'
    """
    if "kPa" not in (gas.pressure_unit, in_force().pressure_unit):
        return text
    own = [value for value in (gas.paco2, gas.pao2, gas.barometric_pressure)
           if value is not None and gas.pressure_unit == "kPa"]

    def both(found: re.Match[str]) -> str:
        first, between, second, space = found.groups()
        mmhg = f"{first}{between or ''}{second or ''}"
        kpa = f"{_kpa(first, own)}{between or ''}{_kpa(second, own) if second else ''}"
        return f"{kpa}{space}kPa ({mmhg}{space}mmHg)"

    return _PRESSURE.sub(both, text)


def pressures_kpa(gas: BloodGas) -> dict[str, float] | None:
    """The pressures that came in kPa, in kPa; None for a gas in mmHg."""
    if gas.pressure_unit != "kPa":
        return None
    return {key: round(mmhg_to_kpa(value), 3) for key in ("paco2", "pao2", "barometric_pressure")
            if (value := getattr(gas, key)) is not None}


def _kpa(printed: str, own: list[float]) -> str:
    """What came in, with its own digits; any other pressure with two."""
    value = float(printed)
    came = next((mmhg for mmhg in own if abs(mmhg - value) < 0.06), None)
    return (number(mmhg_to_kpa(value), digits=2) if came is None
            else number(mmhg_to_kpa(came), digits=3))
