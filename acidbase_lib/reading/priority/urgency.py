"""How soon somebody must know: critical limits, what to look at first, and who decides."""
from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, Final, Literal

from acidbase_lib.caution import CAUTION
from acidbase_lib.reading.blood_gas import BloodGas
from acidbase_lib.reading.disorders import RESPIRATORY_ACIDOSIS, RESPIRATORY_ALKALOSIS
from acidbase_lib.reading.ranges import LabSettings, Range
from acidbase_lib.reading.wording import label_of, number, with_unit

if TYPE_CHECKING:
    from acidbase_lib.reading.interpretation import Interpretation
    from acidbase_lib.reading.telling.report_draft import ReportDraft

Level = Literal["critical", "urgent", "no critical value"]

_CRITICAL: Final = ("ph", "paco2", "pao2", "potassium", "sodium", "glucose", "lactate")
_RAISED_LACTATE = 2.0  # [mmol/L]; the upper end of most printed ranges


@dataclass(frozen=True, slots=True)
class CriticalValue:
    """A value beyond a critical limit: tell somebody at once."""

    quantity: str
    value: float
    limit: float
    side: Literal["below", "above"]
    source: str

    @property
    def sentence(self) -> str:
        """The value and its limit: ``PaCO2 72 mmHg is above the critical limit 67 mmHg``."""
        return (f"{label_of(self.quantity)} {with_unit(self.quantity, self.value, self.limit)} is "
                f"{self.side} the critical limit {with_unit(self.quantity, self.limit)}")


@dataclass(frozen=True, slots=True)
class Look:
    """One line of the first look at the patient, in ABCDE order."""

    letter: str
    look: str
    because: str


@dataclass(frozen=True, slots=True)
class Urgency:
    """How soon somebody must know. For teaching, not for care: the patient comes first."""

    level: Level
    critical: tuple[CriticalValue, ...]
    concerns: tuple[str, ...]
    look_first: tuple[Look, ...]
    report: ReportDraft
    caution: str = CAUTION

    def as_dict(self) -> dict[str, Any]:
        """Plain values, ready for JSON."""
        return {
            "level": self.level,
            "critical": [{"quantity": c.quantity, "value": c.value, "limit": c.limit,
                          "side": c.side, "source": c.source} for c in self.critical],
            "concerns": list(self.concerns),
            "look_first": [{"letter": k.letter, "look": k.look, "because": k.because}
                           for k in self.look_first],
            "report": self.report.as_dict(), "caution": self.caution}


def critical_values(gas: BloodGas, settings: LabSettings) -> tuple[CriticalValue, ...]:
    """The values beyond the critical limits of the settings, in the order of a report.

    Of a venous sample PaCO2 and PaO2 are left out, of a capillary one PaO2.
    """
    unread = {"venous": ("paco2", "pao2"), "capillary": ("pao2",)}.get(gas.specimen, ())
    found = []
    for key in _CRITICAL:
        value = getattr(gas, key)
        if value is None or key in unread:
            continue
        limits, source = getattr(settings, f"critical_{key}"), settings.source_of(f"critical_{key}")
        low, high = _ends(key, limits)
        if low is not None and value < low:
            found.append(CriticalValue(key, value, low, "below", source))
        elif high is not None and value > high:
            found.append(CriticalValue(key, value, high, "above", source))
    return tuple(found)


def read_urgency(reading: Interpretation) -> Urgency:
    """How soon somebody must know about a reading, and what to look at first.

    Critical limits [Kost1990]_ unless the school has its own; ABCDE order and the rest
    [CommonPractice]_.
    """
    from acidbase_lib.reading.telling.report_draft import draft_report

    critical = critical_values(reading.gas, reading.settings)
    concerns = _concerns(reading)
    level: Level = "critical" if critical else "urgent" if concerns else "no critical value"
    report = draft_report(reading, level, critical, concerns)
    return Urgency(level, critical, concerns, _look_first(reading), report)


def _ends(key: str, limits: Range | float) -> tuple[float | None, float | None]:
    if isinstance(limits, Range):
        return limits.low, limits.high
    return (limits, None) if key == "pao2" else (None, limits)


def _concerns(reading: Interpretation) -> tuple[str, ...]:
    gas, oxygen = reading.gas, reading.oxygenation
    found = []
    if not reading.consistency.possible:
        found.append("the three numbers do not fit each other: look at the patient and repeat the "
                     "sample")
    if reading.ph_state != "normal":
        found.append(f"the pH is out of range: {reading.ph_state}")
    if oxygen is not None and oxygen.failure:
        found.append(f"respiratory failure, {oxygen.failure}")
    elif oxygen is not None and oxygen.state == "low":
        found.append("the oxygen is low")
    if reading.anion_gap is not None and reading.anion_gap.state == "high":
        found.append("a high anion gap: think of an added acid")
    if gas.lactate is not None and gas.lactate > _RAISED_LACTATE:
        found.append(f"lactate {number(gas.lactate, _RAISED_LACTATE)} mmol/L is raised")
    return tuple(found)


def _look_first(reading: Interpretation) -> tuple[Look, ...]:
    return (
        Look("A", "Airway: is it open, and can the person speak?",
             "a blocked airway harms before any number does"),
        _breathing(reading), _circulation(reading.gas), _disability(reading),
        Look("E", "Exposure: temperature, skin, wounds, drains, vomit, stool, tubes and lines",
             "the cause is often seen here"),
    )


def _breathing(reading: Interpretation) -> Look:
    look = "Breathing: count the rate, watch the effort, read SpO2 and the oxygen device"
    oxygen = reading.oxygenation
    if oxygen is not None and oxygen.state == "low":
        return Look("B", look, "the oxygen in this sample is low")
    if RESPIRATORY_ACIDOSIS in reading.processes:
        return Look("B", look, "PaCO2 is higher than it should be: too little breathing")
    if RESPIRATORY_ALKALOSIS in reading.processes:
        return Look("B", look, "PaCO2 is lower than it should be: what makes the breathing fast?")
    return Look("B", look, "the gas cannot show how hard the person works to keep it")


def _circulation(gas: BloodGas) -> Look:
    look = "Circulation: pulse, blood pressure, skin, urine"
    if gas.lactate is not None and gas.lactate > _RAISED_LACTATE:
        return Look("C", look, "the lactate is raised: are the tissues getting enough blood?")
    if gas.potassium is not None and not 3.5 <= gas.potassium <= 5.0:
        return Look("C", f"{look}, and the heart rhythm",
                    f"potassium {number(gas.potassium, 3.5, 5)} mmol/L can disturb the rhythm")
    return Look("C", look, "poor blood flow both causes acid and follows from it")


def _disability(reading: Interpretation) -> Look:
    look = "Disability: how alert is the person? Check the glucose"
    if reading.paco2_state == "high" and reading.gas.specimen != "venous":
        return Look("D", look, "a high PaCO2 makes people drowsy")
    if reading.ph_state == "acidemia":
        return Look("D", look, "acidemia and its causes cloud the mind; so does a glucose far out")
    return Look("D", look, "a change in alertness is an early sign")
