"""Numbers as a report prints them: in either unit of pressure, with or without ranges."""
from __future__ import annotations

from collections.abc import Sequence

from acidbase_lib.physiology.units import mmhg_to_kpa
from acidbase_lib.reading.blood_gas import BloodGas
from acidbase_lib.reading.kilopascal import kpa_first, pressure
from acidbase_lib.reading.lab_settings import LabSettings
from acidbase_lib.reading.value_range import Range
from acidbase_lib.teaching.markdown_table import markdown_table

THREE = ("pH", "PaCO2", "bicarbonate")
_KEYS = {"pH": "ph", "PaCO2": "paco2", "bicarbonate": "hco3"}


def number_text(gas: BloodGas, number: str, unit: str = "mmHg") -> str:
    """Return one number with its unit, as a report prints it.

    Examples
    --------
    >>> number_text(BloodGas(7.28, 66, 30), "PaCO2", "kPa")
    '8.8 kPa'
    """
    value = getattr(gas, _KEYS[number])
    if number == "pH":
        return f"{value:.2f}"
    if number == "PaCO2":
        return f"{mmhg_to_kpa(value):.1f} kPa" if unit == "kPa" else pressure(value)
    return f"{value:.0f} mmol/L"


def range_of(number: str, settings: LabSettings, specimen: str = "arterial") -> Range:
    """Return the range that a laboratory prints for a number, of this kind of sample."""
    prefix = "venous_" if specimen == "venous" else ""
    found: Range = getattr(settings, prefix + _KEYS[number])
    return found


def range_in_school_unit(span: Range) -> str:
    """Return a range of pressure in the school's unit: ``35–45 mmHg``."""
    return pressure(span.low, span.high, "–") if kpa_first() else f"{span} mmHg"


def range_text(number: str, settings: LabSettings, unit: str = "mmHg",
               specimen: str = "arterial") -> str:
    """Return a range in the unit of the report.

    Examples
    --------
    >>> range_text("PaCO2", LabSettings(), "kPa"), range_text("pH", LabSettings())
    ('4.7–6.0 kPa', '7.35–7.45')
    """
    span = range_of(number, settings, specimen)
    if number == "pH":
        return f"{span.low:.2f}–{span.high:.2f}"
    if number == "PaCO2" and unit == "kPa":
        return f"{mmhg_to_kpa(span.low):.1f}–{mmhg_to_kpa(span.high):.1f} kPa"
    if number == "PaCO2":
        return range_in_school_unit(span)
    return f"{span} mmol/L"


def report_table(gas: BloodGas, shows: Sequence[str] = THREE, unit: str = "mmHg",
                 settings: LabSettings | None = None) -> str:
    """Return a report as a Markdown table; with `settings`, their ranges stand beside."""
    rows = []
    for number in shows:
        name = "PCO2" if number == "PaCO2" and gas.specimen == "venous" else number
        span = (range_text(number, settings, unit, gas.specimen),) if settings else ()
        rows.append((name, number_text(gas, number, unit), *span))
    return markdown_table("The report", ("number", "result", *(("range",) if settings else ())),
                          rows)
