"""Critical limits, the first look, and a report draft that asks and never orders."""
from __future__ import annotations

import re

import pytest

from acidbase_lib import BloodGas, LabSettings, interpret
from acidbase_lib.reading.value_range import Range


def gas_of(**given: object) -> BloodGas:
    return BloodGas(**({"ph": 7.40, "paco2": 40} | given))  # type: ignore[arg-type]


@pytest.mark.parametrize(("given", "quantity"), [
    ({"ph": 7.20, "paco2": 60}, "ph"), ({"ph": 7.60, "paco2": 25}, "ph"),
    ({"paco2": 18}, "paco2"), ({"paco2": 68}, "paco2"), ({"pao2": 42}, "pao2"),
    ({"potassium": 2.7}, "potassium"), ({"potassium": 6.3}, "potassium"),
    ({"sodium": 119}, "sodium"), ({"sodium": 159}, "sodium"),
    ({"glucose": 2.5}, "glucose"), ({"glucose": 27}, "glucose"), ({"lactate": 4.1}, "lactate"),
])
def test_a_value_beyond_a_critical_limit(given: dict[str, float], quantity: str) -> None:
    """Kost, JAMA 1990;263:704-7, means: pH 7.21/7.59, PaCO2 19/67, PaO2 43, K 2.8/6.2,
    Na 120/158, glucose 2.6/26.9. Lactate 4: common practice."""
    urgency = interpret(gas_of(**given)).urgency
    assert urgency.level == "critical"
    assert quantity in [value.quantity for value in urgency.critical]


@pytest.mark.parametrize("given", [
    {"ph": 7.21, "paco2": 60}, {"ph": 7.59, "paco2": 25}, {"pao2": 43}, {"potassium": 2.8},
    {"sodium": 158},
])
def test_the_limit_itself_is_not_beyond(given: dict[str, float]) -> None:
    assert interpret(gas_of(**given)).urgency.level != "critical"


def test_a_school_has_its_own_limits() -> None:
    """ARUP 2017 prints 7.25 and PaCO2 60."""
    ours = LabSettings(critical_ph=Range(7.25, 7.6), critical_paco2=Range(20, 60))
    urgency = interpret(gas_of(ph=7.24, paco2=50), ours).urgency
    assert urgency.critical[0].source == "SchoolSetting"
    assert urgency.critical[0].sentence == "pH 7.24 is below the critical limit 7.25"


def test_a_venous_paco2_is_no_critical_value() -> None:
    venous = gas_of(paco2=72, ph=7.30, specimen="venous")
    assert interpret(venous).urgency.critical == ()


def test_nothing_critical_still_sends_the_nurse_to_the_patient() -> None:
    reading = interpret(gas_of(pao2=95, fio2=0.21))
    assert reading.urgency.level == "no critical value"
    assert "look at the person first" in reading.steps[-1].because


def test_three_numbers_that_do_not_fit_are_a_concern() -> None:
    assert "repeat the sample" in interpret(BloodGas(7.39, 48, 20)).urgency.concerns[0]


def test_the_first_look_is_in_abcde_order_and_follows_the_gas() -> None:
    urgency = interpret(gas_of(ph=7.25, paco2=62, pao2=50, potassium=5.8, lactate=3)).urgency
    assert [look.letter for look in urgency.look_first] == list("ABCDE")
    breathing, circulation, alert = urgency.look_first[1:4]
    assert "oxygen" in breathing.because
    assert "lactate" in circulation.because
    assert "drowsy" in alert.because


def test_the_report_draft_holds_the_numbers_and_blanks() -> None:
    reading = interpret(gas_of(ph=7.18, paco2=72, pao2=48, fio2=0.28, age=67,
                               chronic_lung_disease=True))
    draft = reading.urgency.report
    assert "pH 7.18" in draft.situation
    assert "critical limit" in draft.situation
    for part in ("67 years", "chronic lung disease", "FiO2 0.28", "PaO2 48 mmHg", "____"):
        assert part in draft.background
    assert str(reading.label) in draft.assessment
    assert draft.recommendation.startswith("Please come")
    assert [line[0] for line in draft.text.splitlines()[:4]] == list("SBAR")
    assert "not for care" in draft.text


def test_an_impossible_gas_is_reported_as_that() -> None:
    draft = interpret(BloodGas(7.29, 35, 20)).urgency.report
    assert "do not fit each other" in draft.assessment


ORDER = re.compile(r"^(give|start|administer|increase|turn|set|intubate|push|infuse|titrate)\b",
                   re.IGNORECASE)


def test_no_reading_ever_orders_a_treatment() -> None:
    """Oxygen, ventilation and drugs are never given as an order: no sentence starts with one."""
    for gas in (gas_of(ph=7.05, paco2=90, pao2=38), gas_of(ph=7.05, paco2=20, lactate=9),
                gas_of(ph=7.62, paco2=45, potassium=2.2)):
        reading = interpret(gas)
        spoken = [f"{step.finding} {step.because}" for step in reading.steps]
        spoken += [f"{look.look}. {look.because}" for look in reading.urgency.look_first]
        spoken.append(reading.urgency.report.recommendation)
        sentences = [part.strip() for words in spoken for part in re.split(r"[.?:;]\s", words)]
        assert len(sentences) > 20
        assert not [sentence for sentence in sentences if ORDER.search(sentence)]
        assert reading.urgency.caution.startswith("For teaching, not for care")
