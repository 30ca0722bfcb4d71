"""A draft of the report to a colleague, in SBAR order, with the numbers in and blanks to fill."""
from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from acidbase_lib.caution import CAUTION
from acidbase_lib.reading.findings import Findings
from acidbase_lib.reading.judging.judged_values import JudgedValue
from acidbase_lib.reading.oxygenation.judgment import OxygenJudgment
from acidbase_lib.reading.oxygenation.read_oxygen import OxygenReading
from acidbase_lib.reading.whom.history import age_text
from acidbase_lib.reading.wording import label_of, number, sentence_case, with_unit

from .arterial_alarms import unsettled
from .oxygen_words import short

BLANK = "____"
_MORE = ("pao2", "sao2", "sodium", "potassium", "chloride", "lactate", "glucose", "albumin",
         "hemoglobin", "ionized_calcium", "cohb", "methb")


@dataclass(frozen=True, slots=True)
class ReportDraft:
    """Situation, background, assessment, recommendation: a draft to check and complete."""

    situation: str
    background: str
    assessment: str
    recommendation: str

    @property
    def text(self) -> str:
        """The four parts under each other, and the caution."""
        return (f"S  {self.situation}\nB  {self.background}\nA  {self.assessment}\n"
                f"R  {self.recommendation}\n{CAUTION}")

    def as_dict(self) -> dict[str, str]:
        """Plain values, ready for JSON."""
        return {"situation": self.situation, "background": self.background,
                "assessment": self.assessment, "recommendation": self.recommendation}


def draft_report(
    reading: Findings, level: str, news: Sequence[str], judged: Sequence[JudgedValue],
    breathing: OxygenReading | None, oxygen: OxygenJudgment | None,
) -> ReportDraft:
    """Draft the report of a reading. It asks for review and orders nothing ([CommonPractice]_).

    Beside a critical value or a concern it never says that observing is enough.
    """
    gas = reading.gas
    off = [row.because for row in judged if row.verdict == "out of range"]
    quiet = unsettled(reading) or "no value beyond a critical or alarm limit"
    news_text = "; ".join(news or (quiet, *off))
    situation = (f"This is {BLANK} about {BLANK}. The {gas.specimen} gas of {BLANK} o'clock shows "
                 f"{gas.sentence()}. {sentence_case(news_text)}.")
    return ReportDraft(situation, _background(reading), _assessment(reading, breathing, oxygen),
                       _asks(level))


def _background(reading: Findings) -> str:
    gas = reading.gas
    known = []
    if gas.age is not None:
        known.append(f"{age_text(gas.age)} old")
    if gas.trimester is not None:
        known.append(f"pregnant, trimester {number(gas.trimester)}")
    if gas.altitude is not None:
        known.append(f"lives at {with_unit('altitude', gas.altitude)}")
    known += [said for said, true in (
        ("known chronic lung disease", gas.chronic_lung_disease), ("asthma", gas.asthma),
        ("had a drug that slows breathing", gas.opioid)) if true]
    known.append(f"here because of {BLANK}")
    known.append("oxygen at the time: "
                 + (BLANK if gas.fio2 is None else "room air" if gas.fio2 <= 0.215
                    else f"FiO2 {with_unit('fio2', gas.fio2)}"))
    more = [f"{label_of(key)} {with_unit(key, value)}" for key in _MORE
            if (value := getattr(gas, key)) is not None]
    if more:
        known.append("also " + ", ".join(more))
    return sentence_case("; ".join(known)) + "."


def _assessment(reading: Findings, breathing: OxygenReading | None,
                oxygen: OxygenJudgment | None) -> str:
    seen = (f"Breathing {BLANK}, SpO2 {BLANK}, pulse {BLANK}, blood pressure {BLANK}, "
            f"alertness {BLANK}.")
    if not reading.consistency.possible:
        return f"The three numbers do not fit each other, so I do not read them. {seen}"
    said = []
    if reading.label:
        said.append(f"by the ranges: {reading.label}")
    if reading.processes:
        said.append(f"by the rules: {' with '.join(reading.processes)}")
    if breathing is not None and breathing.failure:
        said.append(f"respiratory failure, {breathing.failure}")
    if oxygen is not None and (oxygen_said := short(oxygen)):
        said.append(oxygen_said)
    if not said:
        said.append(reading.why_no_label or "no disorder found")
    return f"{sentence_case('; '.join(said))}. {seen}"


def _asks(level: str) -> str:
    when = {"critical": "now", "urgent": "soon, within the time our protocol sets"}.get(level)
    if when is None:
        return (f"I keep observing as our protocol says. I would like to know if you want "
                f"anything else. I will call again if {BLANK}.")
    return (f"Please come and see the patient {when}. Is there anything you want started or "
            f"checked before you come? When do you want the next gas? Done so far: {BLANK}.")
