"""A blood gas as a learner reads it: a table for a prompt, a line for an option."""
from __future__ import annotations

from collections.abc import Sequence

from acidbase_lib.reading.blood_gas import BloodGas
from acidbase_lib.reading.kilopascal import kpa_first, pressure
from acidbase_lib.reading.lab_settings import LabSettings
from acidbase_lib.reading.settings_in_force import in_force
from acidbase_lib.teaching.markdown_table import markdown_table

from .printed_numbers import range_in_school_unit

_ROWS = ("pH", "PaCO2", "bicarbonate")


def gas_table(gas: BloodGas, shows: Sequence[str] | None = None, ranges: bool = False,
              settings: LabSettings | None = None) -> str:
    """Return a gas as a Markdown table; `shows` names the rows, `ranges` adds their ranges."""
    settings = settings or in_force()
    values = _values(gas)
    spans = {"pH": settings.ph, "PaCO2": settings.paco2, "bicarbonate": settings.hco3,
             "PaO2": settings.pao2}
    rows = []
    for name in shows or _ROWS:
        digits = 2 if name == "pH" else 0
        span = spans.get(name)
        span_text = f"{span.low:.{digits}f}–{span.high:.{digits}f}" if span else ""
        if span and name in ("PaCO2", "PaO2") and kpa_first(settings):
            span_text = range_in_school_unit(span)
        rows.append((name, values[name], *((span_text,) if ranges else ())))
    return markdown_table("The blood gas", ("number", "result", *(("range",) if ranges else ())),
                          rows)


def gas_line(gas: BloodGas, shows: Sequence[str] | None = None) -> str:
    """Return a gas in one line: ``pH 7.28, PaCO2 66 mmHg, bicarbonate 30 mmol/L``."""
    values = _values(gas)
    return ", ".join(f"{name} {values[name]}" for name in shows or _ROWS)


def _values(gas: BloodGas) -> dict[str, str]:
    values = {"pH": f"{gas.ph:.2f}", "PaCO2": pressure(gas.paco2),
              "bicarbonate": f"{gas.hco3:.0f} mmol/L"}
    if gas.pao2 is not None:
        values["PaO2"] = pressure(gas.pao2)
    if gas.fio2 is not None:
        values["inspired oxygen"] = f"{100 * gas.fio2:.0f} %"
    for name in ("sodium", "chloride", "potassium", "lactate"):
        value = getattr(gas, name)
        if value is not None:
            values[name] = f"{value:.{0 if name in ('sodium', 'chloride') else 1}f} mmol/L"
    return values


def more_rows(gas: BloodGas, shows: Sequence[str], ranges: bool,
              settings: LabSettings | None = None) -> list[list[str]]:
    """Return rows for a table on the screen: number, result and, if asked for, its range."""
    settings = settings or in_force()
    values, spans = _values(gas), {"PaO2": range_in_school_unit(settings.pao2)}
    return [[name, values[name], *([spans.get(name, "")] if ranges else [])] for name in shows]
