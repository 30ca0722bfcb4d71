"""A pressure that a text holds, and a range of pressure, told in the school's unit first."""
from __future__ import annotations

import re
from collections.abc import Callable, Mapping
from types import MappingProxyType
from typing import Final

from acidbase_lib.physiology.units import mmhg_to_kpa
from acidbase_lib.reading.kilopascal import kpa_first, pressure
from acidbase_lib.reading.lab_settings import LabSettings
from acidbase_lib.reading.value_range import Range, SettingsError

#: How a text writes a pressure that is to be told: ``66 mmHg``, ``24 to 28 mmHg``.
PRESSURE: Final = r"\d+(?:(?: to |–)\d+)? mmHg"
_ENDS: Final = re.compile(r"(\d+)(?:( to |–)(\d+))? mmHg")

#: What a school says of its unit, where that is mmHg and where it is kPa.
_OF_THE_UNIT: Final = MappingProxyType({
    "unit": ("mmHg", "kPa (mmHg)"), "first": ("mmHg", "kPa"), "second": ("kPa", "mmHg"),
    "in": ("", " in mmHg"), "heading": ("(mmHg)", "in kPa (mmHg)"),
    "rules": ("", " A rule for PaCO2 is in mmHg; divided by 7.5 it gives kPa.")})
_OF_A_PRESSURE: Final = ("unit", "bare", "sum", "cell", "both", "typed")
#: The ways to tell one end of a range, and a number inside it.
ONE_END: Final[Mapping[str, Callable[[Range], float]]] = MappingProxyType({
    "low": lambda span: span.low, "high": lambda span: span.high,
    "inside": lambda span: span.low + 1})


def pressure_told(text: str, how: str, settings: LabSettings) -> str | None:
    """A pressure of a text in the school's unit first; None where the text holds none.

    Parameters
    ----------
    text : str
        As the text holds it: ``66 mmHg`` or ``24 to 28 mmHg``; or ``pressure_unit``.
    how : str
        "unit"; "bare", without the unit where that is mmHg; "sum", the number alone; "cell", below
        a heading that names the unit; "typed", as an answer; "both", with the other unit in
        brackets. Of ``pressure_unit``: "unit", "first", "second", "in", "heading" or
        "rules".
    settings : LabSettings
        The school's.

    Raises
    ------
    SettingsError
        A pressure is to be told in no way that there is.

    Examples
    --------
    >>> pressure_told("24 to 28 mmHg", "unit", LabSettings(pressure_unit="kPa"))
    '3.2 to 3.7 kPa (24 to 28 mmHg)'
    """
    if text == "pressure_unit":
        return _OF_THE_UNIT[how][kpa_first(settings)] if how in _OF_THE_UNIT else None
    if (ends := _ENDS.fullmatch(text)) is None:
        return None
    if how not in _OF_A_PRESSURE:
        raise SettingsError(f"<<{text}:{how}>> names none of the ways to tell a pressure: "
                            f"{', '.join(_OF_A_PRESSURE)}")
    told = pressure(float(ends[1]), float(ends[3]) if ends[3] else None, ends[2] or " to ",
                    settings=settings)
    if how == "cell":
        return told.replace(" kPa (", " (").replace(" mmHg", "")
    if how == "typed":
        return told.partition(" (")[0]
    if how == "sum":
        return told.split()[0]
    if how == "both" and not kpa_first(settings):
        return f"{told} ({mmhg_to_kpa(float(ends[1])):.1f} kPa)"
    return told.removesuffix(" mmHg") if how == "bare" else told


def range_told(span: Range, how: str, settings: LabSettings) -> str | None:
    """A range of pressure in a way that turns on the school's unit; None in every other way."""
    kpa = kpa_first(settings)
    between = " to " if how == "to" else "–"
    ends = {"mmHg": between.join(f"{end:g}" for end in (span.low, span.high)),
            "kPa": between.join(f"{mmhg_to_kpa(end):.1f}" for end in (span.low, span.high))}
    first, second = ("kPa", "mmHg") if kpa else ("mmHg", "kPa")
    if how == "cell":
        return f"{ends['kPa']} ({ends['mmHg']})" if kpa else ends["mmHg"]
    if how in ("first", "second"):
        return ends[first if how == "first" else second]
    if how == "both" or (kpa and how in ("unit", "bare", "to")):
        return f"{ends[first]} {first} ({ends[second]} {second})"
    return pressure(ONE_END[how](span), settings=settings) if kpa and how in ONE_END else None
