"""The steps about oxygen, the other values of the report, and urgency."""
from __future__ import annotations

from collections.abc import Iterator

from acidbase_lib.reading.concerns import oxygen_words as words
from acidbase_lib.reading.disorders import RESPIRATORY_ACIDOSIS
from acidbase_lib.reading.findings import Findings
from acidbase_lib.reading.judging.judged_values import JUDGED, JudgedValue, judge_values
from acidbase_lib.reading.oxygenation.judgment import OxygenJudgment
from acidbase_lib.reading.oxygenation.read_oxygen import OxygenReading
from acidbase_lib.reading.priority.urgency import read_urgency
from acidbase_lib.reading.wording import label_of, number, sentence_case, with_unit

from .step import Step

_PANEL = JUDGED[JUDGED.index("potassium"):]
_WORST = {"critical": "Critical.", "a concern": "A concern.",
          "out of range": "Out of range, and no alarm by itself.", "in range": "In range."}


def oxygen_steps(reading: Findings) -> Iterator[Step]:
    """What bears on oxygen, weighed as one, or why it says nothing."""
    gas, oxygen, judged = reading.gas, reading.oxygenation, reading.oxygen_judgment
    if oxygen is None:
        if gas.pao2 is not None or gas.sao2 is not None:
            probe = "" if judged is not None and judged.bound else " Read the SpO2 at the bedside."
            yield Step("Is there enough oxygen?", f"A {gas.specimen} sample cannot tell.",
                       "Its oxygen is not the arterial oxygen, and never stands in for it."
                       f"{probe}", "Byrne2014")
        if judged is not None:
            yield from _alarm_steps(reading, judged)
        return
    assert judged is not None
    yield _enough_step(reading, oxygen, judged)
    yield from _alarm_steps(reading, judged)
    if oxygen.pao2 is not None:
        yield _failure_step(reading, oxygen)
    if judged.target_applies and (judged.target.co2_risk or gas.asthma or gas.opioid
                                  or reading.paco2_state == "high"):
        yield Step("Which saturation do guidelines aim at here?", f"{judged.target.text}.",
                   words.why_target(judged, gas), judged.target.source)
    if oxygen.gradient_state == "impossible":
        yield Step("Can this PaO2 come from this air?", "No: it cannot be.",
                   f"PaO2 {with_unit('pao2', gas.pao2 or 0)} is more than this air and this PaCO2 "
                   "allow. Check the FiO2.", "FennRahnOtis1946")
    elif oxygen.gradient is not None:
        yield _gradient_step(reading, oxygen)
    if oxygen.pf_ratio is not None and oxygen.room_air is False:
        yield _ratio_step(reading, oxygen, judged)


def _enough_step(reading: Findings, oxygen: OxygenReading, judged: OxygenJudgment) -> Step:
    grade = None if judged.target.co2_risk and not judged.below_target else oxygen.hypoxemia
    finding = words.enough(judged, reading.gas, grade)
    if oxygen.gradient_state == "impossible" and finding.startswith("Yes"):
        finding = "It cannot be told: this PaO2 cannot come from this air."
    return Step("Is there enough oxygen?", finding,
                sentence_case(words.reasons(judged, reading.gas, reading.settings)),
                judged.target.source)


def _alarm_steps(reading: Findings, judged: OxygenJudgment) -> Iterator[Step]:
    gas = reading.gas
    if judged.fits in ("below", "above"):
        yield Step("Do saturation and PaO2 fit each other?", "No: they lie far apart.",
                   words.why_unfit(judged, gas), "Severinghaus1979")
    if judged.bound:
        grave = any(row.verdict == "critical" for row in judged.bound)
        yield Step("Can all the hemoglobin carry oxygen?", "No." if grave else "Nearly all.",
                   words.why_bound(judged), judged.bound[0].source)
    if judged.hemoglobin is not None and judged.hemoglobin.side is not None:
        row = judged.hemoglobin
        if row.side == "above":
            yield Step("Is the hemoglobin in its range?", "No: it is high.",
                       f"{sentence_case(row.because)}.", row.source)
        else:
            finding = ("A little less than usual." if row.verdict == "out of range" else
                       "No: there is little hemoglobin.")
            yield Step("Is there enough hemoglobin to carry oxygen?", finding,
                       words.why_little(judged, gas), row.source)


def _ratio_step(reading: Findings, oxygen: OxygenReading, judged: OxygenJudgment) -> Step:
    row = judged.ratio
    alarm = row is not None and row.verdict in ("critical", "a concern")
    text = f"{sentence_case(row.because)}. " if alarm and row is not None else ""
    return Step("How much oxygen does it take?",
                f"PaO2/FiO2 is {number(oxygen.pf_ratio or 0, 100, 200, 300, digits=0)} mmHg"
                f"{f', {row.verdict}' if alarm and row is not None else ''}.",
                f"{text}On room air and healthy it is about 380 to 480. At 300 or less the lungs "
                "take up oxygen poorly, or a high PaCO2 leaves less room for it; the ratio alone "
                "names no disease.", "Berlin2012")


def panel_step(reading: Findings) -> Iterator[Step]:
    """What the other values of the report say, each judged by its own limits."""
    rows = [row for row in judge_values(reading.gas, reading.settings) if row.quantity in _PANEL]
    judged_rows = [row for row in rows if row.verdict != "not judged"]
    if not judged_rows:
        return
    worst = min(judged_rows, key=lambda row: list(_WORST).index(row.verdict))
    rest = [label_of(row.quantity) for row in rows if row.verdict == "not judged"]
    said = ". ".join(sentence_case(row.because) for row in _worst_first(judged_rows))
    alone = f". No limit is held for {' and '.join(rest)} alone" if rest else ""
    yield Step("What do the other values say?", _WORST[worst.verdict], f"{said}{alone}.",
               worst.source)


def _worst_first(rows: list[JudgedValue]) -> list[JudgedValue]:
    return sorted(rows, key=lambda row: list(_WORST).index(row.verdict))


def urgency_step(reading: Findings) -> Step:
    """How soon must somebody know?"""
    from acidbase_lib.reading.concerns.arterial_alarms import unsettled

    urgency, still_open = read_urgency(reading), unsettled(reading)
    question = "How soon must somebody know?"
    if urgency.critical:
        text = ". ".join(sentence_case(value.sentence) for value in urgency.critical)
        return Step(question, "At once: a critical value.",
                    f"{text}. Stay with the patient and call, as your protocol says.",
                    urgency.critical[0].source)
    text = "; ".join(urgency.concerns)
    if text:
        return Step(question, "Soon: report it.",
                    (f"{sentence_case(text)}. Your protocol says how soon. {still_open}."
                     if still_open else
                     f"No critical value, but {text}. Your protocol says how soon."),
                    "CommonPractice")
    if still_open:
        return Step(question, "Not settled by this sample.", f"{still_open}.",
                    str(reading.arterial and reading.arterial.source))
    off = "; ".join(row.because for row in urgency.judged if row.verdict == "out of range")
    report = f" {sentence_case(off)}: say it in the report." if off else ""
    return Step(question, "No value here is critical.",
                f"A quiet gas does not make a safe patient: look at the person first.{report}",
                "CommonPractice")


def _failure_step(reading: Findings, oxygen: OxygenReading) -> Step:
    question, settings = "Is it respiratory failure?", reading.settings
    pao2 = with_unit("pao2", oxygen.pao2 or 0, settings.failure_pao2)
    paco2 = with_unit("paco2", reading.gas.paco2, settings.failure_paco2)
    limits = (f"the limits are PaO2 {settings.text('failure_pao2')} and PaCO2 "
              f"{settings.text('failure_paco2')}.")
    source = settings.source_of("failure_pao2")
    if oxygen.failure:
        high = "is above its limit" if oxygen.failure == "type 2" else "is not above its limit"
        return Step(question, f"Yes: {oxygen.failure}.",
                    f"PaO2 {pao2} is below its limit and PaCO2 {paco2} {high}; {limits}", source)
    text = f"PaO2 {pao2}, PaCO2 {paco2}; {limits}"
    if RESPIRATORY_ACIDOSIS in reading.processes and reading.gas.paco2 > settings.failure_paco2:
        hides = "" if oxygen.room_air else " Added oxygen can lift PaO2 and hide failing breathing."
        return Step(question, "Not by PaO2, but PaCO2 is above its limit: too little air moves.",
                    f"{text}{hides}", source)
    if oxygen.judgment.verdict in ("bound hemoglobin", "does not fit", "low"):
        return Step(question, "Not by PaO2 and PaCO2, and they do not decide alone here.", text,
                    source)
    if oxygen.room_air is not True:
        return Step(question, "Not by these numbers.", f"{text} But added oxygen can hide it.",
                    source)
    return Step(question, "No.", text, source)


def _gradient_step(reading: Findings, oxygen: OxygenReading) -> Step:
    assert oxygen.gradient is not None
    question = "Is the A–a gradient wide?"
    shown = number(oxygen.gradient, oxygen.gradient_limit or 0, digits=0)
    text = f"On room air the gradient is {shown} mmHg"
    if oxygen.gradient_limit is None:
        finding = ("Age was not given, so there is no limit to compare with."
                   if reading.gas.age is None else
                   "The limit for age is one of adults, so there is none to compare with.")
        return Step(question, finding, f"{text}.", "FennRahnOtis1946")
    limit = (f"the limit for age {number(reading.gas.age or 0)} is "
             f"{number(oxygen.gradient_limit)} (age / 4 + 4)")
    if oxygen.gradient_state == "wide":
        return Step(question, "Yes: the lungs pass oxygen on poorly.", f"{text}; {limit}.",
                    "CommonPractice")
    low = (" So too little breathing explains the low oxygen." if oxygen.judgment.verdict == "low"
           and reading.paco2_state == "high" else "")
    return Step(question, "No.", f"{text}; {limit}.{low}", "CommonPractice")
