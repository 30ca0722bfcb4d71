"""The steps beyond the label: is the response the size we expect, and what does the gap say?"""
from __future__ import annotations

from collections.abc import Iterator

from acidbase_lib.physiology import delta as bands
from acidbase_lib.reading.concerns.arterial_alarms import acidemia_with_high_paco2
from acidbase_lib.reading.concerns.lactate_words import (
    beside_a_usual_gap,
    hidden_lactate,
    lactate_is_raised,
)
from acidbase_lib.reading.disorders import (
    AS_EXPECTED,
    CANNOT_TELL,
    METABOLIC_ACIDOSIS,
    METABOLIC_ALKALOSIS,
    RESPIRATORY_ACIDOSIS,
)
from acidbase_lib.reading.findings import Findings
from acidbase_lib.reading.gap_reading import excess_limit
from acidbase_lib.reading.judging.edges import (
    GAP_EDGE,
    HIGH_GAP,
    RESPONSE_EDGE,
    raised_by_alkalemia,
)
from acidbase_lib.reading.quantitative import Arm, ExpectedResponse
from acidbase_lib.reading.wording import number, sentence_case

from .step import Step


def quantitative_steps(reading: Findings) -> Iterator[Step]:
    """The steps of the quantitative reading of a gas whose numbers can be."""
    if reading.gas.specimen != "venous":
        if reading.expected is not None:
            yield _response_step(reading, reading.expected)
        elif reading.lead == METABOLIC_ACIDOSIS:
            yield Step("Is the response the size we expect?", "The rule is not used here.",
                       f"Bicarbonate is not below {reading.settings.text('winters_below')}: so "
                       "near to normal the rule would expect too much.",
                       reading.settings.source_of("winters_below"))
        if reading.paco2_state == "high" and _unusual(reading):
            yield Step("Is so high a PaCO2 usual in metabolic alkalosis?", "No: it is unusual.",
                       f"PaCO2 {number(reading.gas.paco2, reading.settings.unusual_paco2)} mmHg is "
                       f"above {reading.settings.text('unusual_paco2')}. Look for a lung cause, "
                       "or a drug that slows breathing, as well.",
                       reading.settings.source_of("unusual_paco2"))
    if reading.anion_gap is not None:
        yield _gap_step(reading)
    if reading.delta is not None:
        yield _delta_step(reading)
    yield _summary_step(reading)


def _response_step(reading: Findings, expected: ExpectedResponse) -> Step:
    question = "Is the response the size we expect?"
    if reading.lead is None:
        arm = expected.arms[0]
        return Step(question, "No: neither side answers the other.",
                    f"If it were {reading.processes[1]} alone, we would expect a PaCO2 of "
                    f"{_band(arm, reading.gas.paco2)} mmHg ({arm.rule}). It is "
                    f"{number(reading.gas.paco2, arm.low, arm.high)} mmHg.", arm.source)
    if expected.quantity == "PaCO2":
        return _one_arm_step(reading, expected.arms[0], question)
    return _two_arm_step(reading, expected, question)


def _one_arm_step(reading: Findings, arm: Arm, question: str) -> Step:
    value = reading.gas.paco2
    text = (f"In {reading.lead} with this bicarbonate we expect a PaCO2 of {_band(arm, value)} "
            f"mmHg ({arm.rule}). It is {number(value, arm.low, arm.high)} mmHg.")
    close = _close(value, arm.low, arm.high)
    if reading.response == AS_EXPECTED:
        return Step(question, f"Yes: as expected{_and_told(reading)}.",
                    f"{text} One disorder explains both.{close}", arm.source)
    side = "lower" if value < arm.low else "higher"
    second = "respiratory alkalosis" if value < arm.low else "respiratory acidosis"
    return Step(question, f"No: {reading.response}.",
                f"{text} It is {side} than that, so there is a {second} too.{close}",
                arm.source)


def _two_arm_step(reading: Findings, expected: ExpectedResponse, question: str) -> Step:
    acute, chronic = expected.arms
    value = reading.gas.hco3
    shown = number(value, acute.low, acute.high, chronic.low, chronic.high)
    text = (f"If the change is new (hours), we expect a bicarbonate of {_band(acute, value)}; if "
            f"it is old (days), {_band(chronic, value)} mmol/L. It is {shown}.")
    source = chronic.source if reading.gas.chronic_lung_disease else acute.source
    lowest, highest = min(acute.low, chronic.low), max(acute.high, chronic.high)
    if reading.response == CANNOT_TELL:
        return Step(question, "The gas alone cannot tell acute from chronic.",
                    f"{text} {_which_fits(acute, chronic, value)} The history decides."
                    f"{_close(value, lowest, highest)}{_urgent_anyway(reading)}", source)
    if reading.response == AS_EXPECTED:
        why = ("The history says it is old." if reading.gas.chronic_lung_disease
               else "It fits both.")
        return Step(question, f"Yes: as expected{_and_told(reading)}.",
                    f"{text} {why}{_close(value, lowest, highest)}{_urgent_anyway(reading)}",
                    source)
    if lowest <= value <= highest:
        return Step(question, f"No: {reading.response} for an old change.",
                    f"{text} The history says the problem is old, but the bicarbonate has not "
                    "followed yet: a new change added to an old one fits.", source)
    below = value < lowest
    second = METABOLIC_ACIDOSIS if below else METABOLIC_ALKALOSIS
    return Step(question, f"No: {reading.response}.",
                f"{text} It is {'below' if below else 'above'} both, so there is a {second} too."
                f"{_close(value, lowest, highest)}", source)


def _and_told(reading: Findings) -> str:
    """As expected is never the last word where breathing fails to keep the pH up."""
    return ", and the team must know" if acidemia_with_high_paco2(reading) else ""


def _urgent_anyway(reading: Findings) -> str:
    if not acidemia_with_high_paco2(reading):
        return ""
    return (" New or old, a low pH with a high PaCO2 means that breathing falls behind: the team "
            "must know.")


def _which_fits(acute: Arm, chronic: Arm, value: float) -> str:
    if acute.contains(value):
        return "It fits a new change; in an old one something else would be pulling it."
    if chronic.contains(value):
        return "It fits an old change; in a new one there would be a second disorder."
    return "It lies between the two: a change of a day or two, or a new one added to an old one."


def _gap_step(reading: Findings) -> Step:
    gap, settings, gas = reading.anion_gap, reading.settings, reading.gas
    assert gap is not None
    formula = (f"sodium {'+ potassium ' if gap.with_potassium else ''}− chloride − bicarbonate = "
               f"{number(gap.value)}")
    shown = number(gap.used, settings.anion_gap.low, settings.anion_gap.high)
    if gap.corrected is None:
        text = (f"{sentence_case(formula)} mmol/L (range {settings.text('anion_gap')}). Albumin "
                "was not given: a low albumin hides a high gap.")
    else:
        text = (f"{sentence_case(formula)}, and {shown} mmol/L after correction for albumin (range "
                f"{settings.text('anion_gap')}).")
    question, source = "Is the anion gap raised?", settings.source_of("anion_gap")
    edge = _gap_edge(reading)
    if gap.state == "high":
        lactate = (f" Lactate is {number(gas.lactate)} mmol/L." if gas.lactate is not None else "")
        return Step(question, "Yes: that points to an added acid, whatever the pH says.",
                    f"{text}{lactate} Think of lactate, ketones, kidney failure and poisons.{edge}",
                    "Madias1979" if raised_by_alkalemia(gas, gap, settings) else source)
    if gap.state == "low":
        return Step(question, "No: it is low.",
                    f"{text} A low gap is most often a low albumin or a wrong value."
                    f"{hidden_lactate(gas, settings)}", source)
    if METABOLIC_ACIDOSIS in reading.processes:
        finding, why = beside_a_usual_gap(gas, settings)
        source = "Iberti1990" if lactate_is_raised(gas, settings) else source
        return Step(question, finding, f"{text} {why}{edge}", source)
    return Step(question, "No.", f"{text}{hidden_lactate(gas, settings)}{edge}", source)


def _gap_edge(reading: Findings) -> str:
    gap, settings = reading.anion_gap, reading.settings
    assert gap is not None
    if raised_by_alkalemia(reading.gas, gap, settings):
        return (" But so high a pH raises the gap by itself, by a few mmol/L: an added acid is not "
                "certain here.")
    if f"no {HIGH_GAP}" in reading.possible:
        return (f" It is within {GAP_EDGE:g} of the limit: there may be no added acid.")
    if HIGH_GAP in reading.possible:
        return (f" It is within {GAP_EDGE:g} of the limit: an added acid is possible as well.")
    return ""


def _delta_step(reading: Findings) -> Step:
    delta, settings = reading.delta, reading.settings
    assert delta is not None
    question = "Does the fall in bicarbonate match the rise in the gap?"
    if delta.ratio is None:
        text = (f"Bicarbonate is not low. Without the added acid it would be about "
                f"{number(delta.excess, excess_limit(settings))} mmol/L.")
        source = "Haber1991"
    else:
        text = (f"The gap rose {number(delta.ratio, digits=2)} for each 1 mmol/L that bicarbonate "
                f"fell ({settings.text('delta_bands')} bands).")
        source = settings.source_of("delta_bands")
    if delta.ratio is None and any(name.endswith(METABOLIC_ALKALOSIS) for name in reading.possible):
        text += " This is close to the limit, so the alkalosis is not certain."
    if delta.next_door:
        text += f" This is close to {delta.near_edge:g}, where the reading is: {delta.next_door}."
    if delta.alkalosis and METABOLIC_ALKALOSIS not in reading.processes:
        text += " The high PaCO2 may have raised the bicarbonate before, so no alkalosis is named."
        return Step(question, "No: it fell less than the gap rose.", text, source)
    finding = {
        bands.HIGH_GAP_ONLY: "Yes: the added acid explains it.",
        bands.ALSO_ALKALOSIS: "No: it fell less than the gap rose, which points to a "
                              "metabolic alkalosis too.",
        bands.ALSO_NORMAL_GAP: "No: it fell more than the gap rose, which points to lost "
                               "bicarbonate as well.",
        bands.NORMAL_GAP_ACIDOSIS: "No: it fell much more than the gap rose; lost bicarbonate "
                                   "explains most of it.",
    }.get(delta.reading, f"{sentence_case(delta.reading)}.")
    return Step(question, finding, text, source)


def _summary_step(reading: Findings) -> Step:
    question = "So which processes are there?"
    source = "CommonPractice"
    also = f" Possible: {'; '.join(reading.possible)}." if reading.possible else ""
    if reading.gas.specimen == "venous":
        found = " and ".join(reading.processes) or (
            "no process is named" if also else "nothing that a venous sample can show")
        return Step(question, f"{sentence_case(found)}.{also}",
                    "A venous sample is read for the pH, the bicarbonate and the gap, and for a "
                    "PCO2 that no limit of agreement brings back into range. An arterial gas "
                    "settles the rest.", "Byrne2014")
    if not reading.processes:
        return Step(question, f"No process is named.{also}", "Nothing here points to one."
                    if not also else "Nothing here points to one, but a value lies on its limit.",
                    source)
    found = " and ".join(reading.processes)
    count = ("One process", "Two processes", "Three processes")[len(reading.processes) - 1]
    because = f"{count}, by the rules. The nursing label is a second answer"
    because += f": {reading.label}." if reading.label else ": none here."
    if reading.side is None and len(reading.processes) > 1 and reading.expected is None and (
            reading.paco2_state != "normal"):
        because += (" One old disorder rarely brings the pH to the very middle, so two are read; "
                    "the history decides.")
    return Step(question, f"{sentence_case(found)}.{also}", because, source)


def _unusual(reading: Findings) -> bool:
    return (METABOLIC_ALKALOSIS in reading.processes
            and reading.lead != RESPIRATORY_ACIDOSIS
            and reading.gas.paco2 > reading.settings.unusual_paco2)


def _band(arm: Arm, value: float) -> str:
    return f"{number(arm.low, value)} to {number(arm.high, value)}"


def _close(value: float, *edges: float) -> str:
    near = min(abs(value - edge) for edge in edges)
    return (" This is on the edge, so the history counts more." if near <= RESPONSE_EDGE + 1e-9
            else "")
