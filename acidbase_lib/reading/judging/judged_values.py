"""Every value that is given is judged: critical, a concern, out of range, in range, or why not."""
from __future__ import annotations

from dataclasses import dataclass
from math import inf
from typing import Any, Final, Literal

from acidbase_lib.reading.blood_gas import BloodGas
from acidbase_lib.reading.lab_settings import MOVED, SETTINGS, LabSettings
from acidbase_lib.reading.value_range import Range, ends_of
from acidbase_lib.reading.whom.populations import why_not_judged
from acidbase_lib.reading.wording import label_of, with_unit

Verdict = Literal["critical", "a concern", "out of range", "in range", "not judged"]
Side = Literal["below", "above"]

#: What is judged, in the order of a report.
JUDGED: Final = ("ph", "paco2", "hco3", "pao2", "sao2", "pf_ratio", "cohb", "methb", "hemoglobin",
                 "potassium", "sodium", "chloride", "ionized_calcium", "glucose", "lactate",
                 "albumin")
#: Where the source writes "at or above" or "at or below", the limit itself counts.
AT_THE_LIMIT: Final = frozenset({
    "critical_pf_ratio", "critical_cohb", "critical_methb", "critical_lactate", "concern_pf_ratio",
    "concern_lactate", "concern_potassium"})
ROOM_AIR: Final = 0.215
MG_DL_GLUCOSE: Final = 50.0  # from here a glucose is more often one in mg/dL [mmol/L]
_VENOUS: Final = frozenset({"paco2", "pao2", "sao2", "pf_ratio"})
_CAPILLARY: Final = frozenset({"pao2", "sao2", "pf_ratio"})
UNREAD: Final = {"arterial": frozenset[str](), "venous": _VENOUS, "capillary": _CAPILLARY}


@dataclass(frozen=True, slots=True)
class JudgedValue:
    """One value, what was found, and the limit or range that says so."""

    quantity: str
    value: float
    verdict: Verdict
    because: str
    source: str
    limit: float | None = None
    side: Side | None = None

    @property
    def sentence(self) -> str:
        """The value and its limit: ``PaCO2 72 mmHg is above the critical limit 67 mmHg``."""
        return self.because


def judge_values(gas: BloodGas, settings: LabSettings) -> tuple[JudgedValue, ...]:
    """Judge every value of a gas by the limits of the settings, in the order of a report."""
    return tuple(judge(key, value, gas, settings) for key in JUDGED
                 if (value := value_of(gas, key)) is not None)


def value_of(gas: BloodGas, key: str) -> float | None:
    """A value of a gas; the ratio of PaO2 and FiO2 only where oxygen was added."""
    if key != "pf_ratio":
        found: float | None = getattr(gas, key)
        return found
    if gas.pao2 is None or gas.fio2 is None or gas.fio2 <= ROOM_AIR:
        return None
    return gas.pao2 / gas.fio2


def judge(key: str, value: float, gas: BloodGas, settings: LabSettings) -> JudgedValue:
    """Judge one value: the worst limit that it passes decides."""
    if key in UNREAD[gas.specimen]:
        return JudgedValue(key, value, "not judged", f"{_text(key, value)}: a {gas.specimen} "
                           "sample does not show the arterial value", "Byrne2014")
    grades: tuple[tuple[str, Verdict, str], ...] = (
        ("critical", "critical", "critical limit"), ("concern", "a concern", "alarm limit"))
    for grade, verdict, named in grades:
        name = f"{grade}_{key}"
        if name in SETTINGS and (side := passed(name, value, getattr(settings, name))):
            low, high = ends_of(name, getattr(settings, name))
            limit = low if side == "below" else high
            return JudgedValue(key, value, verdict, _beyond(key, value, limit, side, named),
                               settings.source_of(name), limit, side)
    return _by_range(key, value, gas, settings)


def passed(name: str, value: Any, limits: Range | float) -> Side | None:
    """On which side a value passes the limits of a setting, if it does."""
    low, high = ends_of(name, limits)
    if value < low or (value == low and name in AT_THE_LIMIT and not isinstance(limits, Range)):
        return "below"
    if value > high or (value == high and name in AT_THE_LIMIT):
        return "above"
    return None


def _by_range(key: str, value: float, gas: BloodGas, settings: LabSettings) -> JudgedValue:
    if key in MOVED and settings.for_whom == "adults" and (why := why_not_judged(gas)):
        return JudgedValue(key, value, "not judged", f"{_text(key, value)}: {why}",
                           "CommonPractice")
    name = f"venous_{key}" if gas.specimen == "venous" and f"venous_{key}" in SETTINGS else key
    if name not in SETTINGS:
        alarm = f"concern_{key}"
        if alarm not in SETTINGS:
            return JudgedValue(key, value, "not judged", f"{_text(key, value)}: no alarm limit is "
                               "held for it, it is read with the rest", "CommonPractice")
        return JudgedValue(key, value, "in range", f"{_text(key, value)} is within its alarm limit",
                           settings.source_of(alarm))
    limits: Range = getattr(settings, name)
    if (state := limits.state(value)) == "normal":
        return JudgedValue(key, value, "in range", f"{_text(key, value, limits.low, limits.high)} "
                           f"is within {settings.text(name)}", settings.source_of(name))
    side: Side = "below" if state == "low" else "above"
    return JudgedValue(key, value, "out of range",
                       f"{_text(key, value, limits.low, limits.high)} is {side} "
                       f"{settings.text(name)}", settings.source_of(name),
                       limits.low if side == "below" else limits.high, side)


def _text(key: str, value: float, *limits: float) -> str:
    return f"{label_of(key)} {with_unit(key, value, *limits)}"


def _beyond(key: str, value: float, limit: float, side: Side, named: str) -> str:
    where = f"at the {named}" if value == limit else f"{side} the {named}"
    known = [limit] if -inf < limit < inf else []
    text = f"{_text(key, value, *known)} is {where} {with_unit(key, limit)}"
    if key == "glucose" and value >= MG_DL_GLUCOSE:
        text += " (or is it in mg/dL? Divide by 18)"
    return text
