"""How soon somebody must know: critical limits, what to look at first, and who decides."""
from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any, Final, Literal

from acidbase_lib.caution import CAUTION
from acidbase_lib.physiology.arterial_agreement import VENOUS_WIDTH
from acidbase_lib.reading.concerns.lactate_words import lactate_is_raised
from acidbase_lib.reading.concerns.oxygen_words import short
from acidbase_lib.reading.concerns.report_draft import ReportDraft
from acidbase_lib.reading.disorders import AS_EXPECTED, RESPIRATORY_ACIDOSIS, RESPIRATORY_ALKALOSIS
from acidbase_lib.reading.findings import Findings
from acidbase_lib.reading.judging.judged_values import JudgedValue, judge_values
from acidbase_lib.reading.lab_settings import LabSettings
from acidbase_lib.reading.oxygenation.judgment import OxygenJudgment
from acidbase_lib.reading.oxygenation.read_oxygen import OxygenReading
from acidbase_lib.reading.oxygenation.target import ASTHMA, history_of
from acidbase_lib.reading.wording import number, with_unit

Level = Literal["critical", "urgent", "no critical value"]
LEVELS: Final[tuple[Level, ...]] = ("no critical value", "urgent", "critical")

#: Told by the oxygen judgment, and not once more.
_WEIGHED: Final = frozenset({"ph", "pao2", "sao2"})


@dataclass(frozen=True, slots=True)
class Look:
    """One line of the first look at the patient, in ABCDE order."""

    letter: str
    look: str
    because: str


@dataclass(frozen=True, slots=True)
class Urgency:
    """How soon somebody must know. For teaching, not for care: the patient comes first.

    `judged` holds every value that was given and what was found; the worst decides the level.
    """

    level: Level
    critical: tuple[JudgedValue, ...]
    concerns: tuple[str, ...]
    look_first: tuple[Look, ...]
    report: ReportDraft
    judged: tuple[JudgedValue, ...] = ()
    caution: str = CAUTION

    def as_dict(self) -> dict[str, Any]:
        """Plain values, ready for JSON."""
        return {
            "level": self.level,
            "critical": [{"quantity": c.quantity, "value": c.value, "limit": c.limit,
                          "side": c.side, "source": c.source} for c in self.critical],
            "concerns": list(self.concerns),
            "judged": [{"quantity": j.quantity, "value": j.value, "verdict": j.verdict,
                        "because": j.because, "source": j.source} for j in self.judged],
            "look_first": [{"letter": k.letter, "look": k.look, "because": k.because}
                           for k in self.look_first],
            "report": self.report.as_dict(), "caution": self.caution}


def read_urgency(reading: Findings) -> Urgency:
    """How soon somebody must know about a reading, and what to look at first.

    Every given value is judged by the limits of the settings; critical limits [Kost1990]_ and the
    guidelines named beside each; ABCDE order and the rest [CommonPractice]_.
    """
    from acidbase_lib.reading.concerns.arterial_alarms import concerns_of, likely_alarms
    from acidbase_lib.reading.concerns.report_draft import draft_report

    judged, breathing = judge_values(reading.gas, reading.settings), reading.oxygenation
    oxygen = reading.oxygen_judgment if breathing is None else breathing.judgment
    critical = (*(row for row in judged if row.verdict == "critical"),
                *critical_together(reading, oxygen), *likely_alarms(reading))
    concerns = (*_concerns(reading, judged, breathing, oxygen), *concerns_of(reading))
    level: Level = "critical" if critical else "urgent" if concerns else "no critical value"
    report = draft_report(reading, level, (*(row.sentence for row in critical), *concerns), judged,
                          breathing, oxygen)
    return Urgency(level, critical, concerns, _look_first(reading, oxygen), report, judged)


def critical_together(reading: Findings, oxygen: OxygenJudgment | None
                      ) -> Iterator[JudgedValue]:
    """What is critical only in the light of another value or of the history."""
    gas, settings = reading.gas, reading.settings
    if oxygen is not None and oxygen.fits == "below" and oxygen.below_target:
        assert gas.sao2 is not None
        assert oxygen.curve is not None
        yield JudgedValue(
            "sao2", gas.sao2, "critical", f"SaO2 {with_unit('sao2', gas.sao2)} is far below the "
            f"{number(oxygen.curve[0], digits=0)} % or more that this PaO2 gives",
            "Severinghaus1979", oxygen.curve[0], "below")
    if not in_asthma(reading):
        return
    limit = highest_in_asthma(settings)
    shown = with_unit("paco2", gas.paco2, limit)
    if gas.paco2 > limit:
        yield JudgedValue("paco2", gas.paco2, "critical",
                          f"in asthma PaCO2 {shown}, above {with_unit('paco2', limit)}, is "
                          "near-fatal", "AsthmaPathway2024", limit, "above")
    elif gas.paco2 >= settings.paco2.low and oxygen is not None and (
            oxygen.verdict == "low" or oxygen.added):
        short_of = "low oxygen" if oxygen.verdict == "low" else "added oxygen"
        yield JudgedValue("paco2", gas.paco2, "critical",
                          f"in asthma with {short_of} PaCO2 {shown}, in range, is a danger to "
                          "life: less air gets through", "AsthmaPathway2024", limit, None)


def highest_in_asthma(settings: LabSettings) -> float:
    """The PaCO2 above which asthma is near-fatal; lower where the person's range is. [mmHg]"""
    return min(settings.failure_paco2, settings.paco2.high)


def in_asthma(reading: Findings) -> bool:
    """Whether the history says asthma, and PaCO2 is an arterial or capillary one."""
    return ASTHMA in history_of(reading.gas) and reading.gas.specimen != "venous"


def venous_may_hide_a_paco2_in_range(specimen: str, paco2: float, settings: LabSettings) -> bool:
    """Whether the arterial PaCO2 of a venous sample may be in range or above ([Kelly2010]_)."""
    return specimen == "venous" and paco2 + VENOUS_WIDTH >= settings.paco2.low


def _concerns(reading: Findings, judged: tuple[JudgedValue, ...],
              breathing: OxygenReading | None, oxygen: OxygenJudgment | None) -> tuple[str, ...]:
    gas, found = reading.gas, []
    if not reading.consistency.possible:
        found.append("the three numbers do not fit each other: look at the patient and repeat the "
                     "sample")
    if reading.ph_state != "normal" and not reading.not_judged:
        found.append(f"the pH is out of range: {reading.ph_state}")
    elif reading.processes and not steady_retainer(reading):
        found.append(f"the pH is in range, and yet: {' and '.join(reading.processes)}")
    if in_asthma(reading) and reading.settings.paco2.low <= gas.paco2 <= (
            highest_in_asthma(reading.settings)):
        found.append("in an asthma attack a PaCO2 in range is a sign of danger to life: while the "
                     "attack goes on, the team must know at once")
    if ASTHMA in history_of(gas) and venous_may_hide_a_paco2_in_range(
            gas.specimen, gas.paco2, reading.settings):
        found.append("in an asthma attack a PaCO2 in range is a sign of danger to life, and a "
                     "venous sample does not rule it out: an arterial gas settles it")
    if breathing is not None and breathing.failure:
        found.append(f"respiratory failure, {breathing.failure}")
    if oxygen is not None and oxygen.level != "none" and (said := short(oxygen)):
        found.append(said)
    if reading.anion_gap is not None and reading.anion_gap.state == "high":
        found.append("a high anion gap: think of an added acid")
    found += [row.because for row in judged
              if row.verdict == "a concern" and row.quantity not in _WEIGHED]
    return tuple(found)


def steady_retainer(reading: Findings) -> bool:
    """A known, old and expected high PaCO2 with the pH in range: told, and no alarm by itself."""
    return (reading.gas.chronic_lung_disease and reading.response == AS_EXPECTED
            and reading.processes == (RESPIRATORY_ACIDOSIS,))


def _look_first(reading: Findings, oxygen: OxygenJudgment | None) -> tuple[Look, ...]:
    return (
        Look("A", "Airway: is it open, and can the person speak?",
             "a blocked airway harms before any number does"),
        _breathing(reading, oxygen), _circulation(reading), _disability(reading),
        Look("E", "Exposure: temperature, skin, wounds, drains, vomit, stool, tubes and lines",
             "the cause is often seen here"),
    )


def _breathing(reading: Findings, oxygen: OxygenJudgment | None) -> Look:
    look = "Breathing: count the rate, watch the effort, read SpO2 and the oxygen device"
    verdict = None if oxygen is None else oxygen.verdict
    if verdict in ("bound hemoglobin", "does not fit"):
        return Look("B", look, "the probe may read too high here: it cannot tell carbon monoxide")
    if verdict == "low":
        return Look("B", look, "the oxygen in this sample is low")
    if RESPIRATORY_ACIDOSIS in reading.processes:
        return Look("B", look, "PaCO2 is higher than it should be: too little breathing")
    if RESPIRATORY_ALKALOSIS in reading.processes:
        return Look("B", look, "PaCO2 is lower than it should be: what makes the breathing fast?")
    return Look("B", look, "the gas cannot show how hard the person works to keep it")


def _circulation(reading: Findings) -> Look:
    look, gas, settings = "Circulation: pulse, blood pressure, skin, urine", reading.gas, (
        reading.settings)
    if lactate_is_raised(gas, settings):
        return Look("C", look, "the lactate is raised: are the tissues getting enough blood?")
    if gas.potassium is not None and settings.potassium.state(gas.potassium) != "normal":
        shown = number(gas.potassium, settings.potassium.low, settings.potassium.high, digits=2)
        return Look("C", f"{look}, and the heart rhythm",
                    f"potassium {shown} mmol/L can disturb the rhythm")
    if gas.hemoglobin is not None and settings.hemoglobin.state(gas.hemoglobin) == "low":
        return Look("C", f"{look}, and any bleeding", "the hemoglobin is low")
    return Look("C", look, "poor blood flow both causes acid and follows from it")


def _disability(reading: Findings) -> Look:
    look = "Disability: how alert is the person? Check the glucose"
    glucose = reading.gas.glucose
    if glucose is not None and reading.settings.glucose.state(glucose) == "low":
        return Look("D", look, "the glucose is low: it clouds the mind and harms the brain")
    if reading.paco2_state == "high" and reading.gas.specimen != "venous":
        return Look("D", look, "a high PaCO2 makes people drowsy")
    if reading.ph_state == "acidemia":
        return Look("D", look, "acidemia and its causes cloud the mind; so does a glucose far out")
    return Look("D", look, "a change in alertness is an early sign")
