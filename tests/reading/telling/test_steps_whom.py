"""The steps on whom the ranges fit and what a sample leaves open, in their places."""
from __future__ import annotations

import pytest

from acidbase_lib import BloodGas, interpret
from acidbase_lib.reading.sources import SOURCES

FITS = "Do these ranges fit this person?"
ARTERY = "Which arterial PaCO2 goes with this sample?"


def questions(gas: BloodGas) -> list[str]:
    return [step.question for step in interpret(gas).steps]


@pytest.mark.parametrize(("whom", "finding"), [
    ({"trimester": 2}, "Yes: they are for the second trimester of pregnancy."),
    ({"altitude": 2650}, "Yes: they are for people who live at about 2,600 m."),
    ({"age": 0.01}, "Yes: they are for a term newborn, 1 to 28 days."),
    ({"age": 1}, "Yes: they are for an infant, 28 days to 2 years."),
    ({"age": 12}, "Nearly: they are ranges of adults."),
    ({"age": 0}, "No: this gas is not judged."),
    ({"altitude": 8848}, "No: this gas is not judged.")])
def test_the_second_step_says_whom_the_ranges_fit(whom: dict, finding: str) -> None:
    step = interpret(BloodGas(7.40, 33, **whom)).steps[1]
    assert (step.question, step.finding) == (FITS, finding)
    assert step.source in SOURCES


def test_blood_of_the_cord_is_told_to_have_no_limit_here() -> None:
    """A cord artery of 7.20 is common in healthy births (common practice): adult alarms mislead."""
    for age, told in ((0, True), (0.002, True), (0.01, False), (30, False)):
        steps = interpret(BloodGas(7.20, 55, age=age)).steps
        assert any("Blood of the cord" in step.because for step in steps) == told


@pytest.mark.parametrize(("metres", "told"), [(2200, "from about"), (4500, "may lie below 85 %")])
def test_nobody_at_altitude_is_told_that_healthy_means_above_the_alarm(metres: int, told: str
                                                                       ) -> None:
    step = interpret(BloodGas(7.42, 30, altitude=metres)).steps[1]
    assert told in step.because
    assert "alarms below are those of sea level" in step.because


def test_an_adult_at_sea_level_is_not_asked_twice() -> None:
    assert FITS not in questions(BloodGas(7.40, 40, age=40, altitude=300))


def test_the_artery_comes_after_the_carbon_dioxide() -> None:
    asked = questions(BloodGas(7.31, 75, 37, specimen="venous"))
    assert asked.index(ARTERY) == asked.index("Is PaCO2 low, normal or high?") + 1
    assert ARTERY not in questions(BloodGas(7.31, 75, 37))


def test_a_gas_that_is_not_judged_has_no_step_that_judges() -> None:
    asked = questions(BloodGas(7.25, 58, age=0, sodium=138, chloride=104))
    assert not {"Is the pH low, normal or high?", "Is PaCO2 low, normal or high?", ARTERY,
                "Is the anion gap raised?"} & set(asked)
    assert asked[-1] == "How soon must somebody know?"
