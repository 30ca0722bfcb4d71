"""A pressure with its unit: the school's first, and every pressure of a text in both units."""
from __future__ import annotations

import re
from typing import Final

from acidbase_lib.physiology.units import mmhg_to_kpa

from .blood_gas import BloodGas
from .lab_settings import LabSettings
from .settings_in_force import in_force
from .wording import number

_PRESSURE: Final = re.compile(
    r"kPa \([^()]*mmHg\)|(?<![\d.])(\d+(?:\.\d+)?)(?:( to |–|-)(\d+(?:\.\d+)?))?(\s)mmHg\b")


def pressure(mmhg: float, to: float | None = None, between: str = " to ", *,
             settings: LabSettings | None = None, as_is: bool = False) -> str:
    """One pressure, or a stretch of it, with its unit as the school tells it.

    Parameters
    ----------
    mmhg, to : float
        The pressure, and the other end of a stretch. [mmHg]
    between : str
        What stands between the two ends.
    settings : LabSettings, optional
        The settings in force where left out.
    as_is : bool
        Whether mmHg keeps its decimals. In kPa one tells as much as a whole number in mmHg.

    Examples
    --------
    >>> pressure(66), pressure(24, 28)
    ('66 mmHg', '24 to 28 mmHg')
    >>> pressure(66, settings=LabSettings(pressure_unit="kPa"))
    '8.8 kPa (66 mmHg)'
    """
    ends = (mmhg,) if to is None else (mmhg, to)
    other = between.join(f"{end:g}" if as_is else f"{end:.0f}" for end in ends) + " mmHg"
    if not kpa_first(settings):
        return other
    return f"{between.join(f'{mmhg_to_kpa(end):.1f}' for end in ends)} kPa ({other})"


def bare_pressure(mmhg: float, *, as_is: bool = False) -> str:
    """A pressure in the school's unit, without its name: for a sum, or a table that names it."""
    if kpa_first():
        return f"{mmhg_to_kpa(mmhg):.1f}"
    return f"{mmhg:g}" if as_is else f"{mmhg:.0f}"


def both_pressures(mmhg: float) -> str:
    """A pressure below a heading that names the unit as `unit_heading` does."""
    return f"{mmhg_to_kpa(mmhg):.1f} ({mmhg:.0f})" if kpa_first() else f"{mmhg:.0f}"


def unit_heading(name: str) -> str:
    """A quantity and its unit above a column, or before a row: ``PaCO2 (mmHg)``."""
    return f"{name} in kPa (mmHg)" if kpa_first() else f"{name} (mmHg)"


def school_unit(settings: LabSettings | None = None) -> str:
    """The unit of pressure that the school tells first."""
    return "kPa" if kpa_first(settings) else "mmHg"


def kpa_first(settings: LabSettings | None = None) -> bool:
    """Whether the school tells pressures in kPa first."""
    return (settings or in_force()).pressure_unit == "kPa"


def in_school_unit(mmhg: float) -> float:
    """A pressure as a number in the school's unit; in kPa with two decimals. [kPa or mmHg]"""
    return round(mmhg_to_kpa(mmhg), 2) if kpa_first() else mmhg


def rule_told(quantity: str, rule: str) -> str:
    """A rule of compensation as it is published, in mmHg, and how it gives the school's unit."""
    if not kpa_first():
        return f"{quantity} = {rule}"
    if quantity == "PaCO2":
        return f"{quantity} = {rule}; that gives mmHg, and divided by 7.5 kPa"
    return f"{quantity} = {_PRESSURE.sub(_as_first, rule)}"


def _as_first(found: re.Match[str]) -> str:
    first, between, second, _space = found.groups()
    if first is None:
        return found[0]
    return pressure(float(first), None if second is None else float(second), between or " to ")


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
        if first is None:  # it stands there in both already
            return found[0]
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
    if not own and "." not in printed:  # the school's unit: whole mmHg have one decimal in kPa
        return f"{mmhg_to_kpa(value):.1f}"
    return (number(mmhg_to_kpa(value), digits=2) if came is None
            else number(mmhg_to_kpa(came), digits=3))
