"""Every value that is given is judged, and the worst decides."""
from __future__ import annotations

import json

import pytest

from acidbase_lib import BloodGas, LabSettings, interpret
from acidbase_lib.physiology.quantities import QuantityError
from acidbase_lib.reading.judging.judged_values import JUDGED, judge_values
from acidbase_lib.reading.lab_settings import DEFAULT_SETTINGS
from acidbase_lib.reading.value_range import Range, SettingsError


def verdict(key: str, value: float) -> str:
    rows = judge_values(BloodGas(7.40, 40, **{key: value}), DEFAULT_SETTINGS)  # type: ignore[arg-type]
    return next(row.verdict for row in rows if row.quantity == key)


@pytest.mark.parametrize(("key", "value", "found"), [
    # Kost, JAMA 1990;263:704-7, means 2.8 and 6.2; UK Kidney Association 2023: moderate from 6.0
    ("potassium", 2.79, "critical"), ("potassium", 2.85, "a concern"), ("potassium", 3.2, "out of "
     "range"), ("potassium", 4.2, "in range"), ("potassium", 5.99, "out of range"),
    ("potassium", 6.0, "a concern"), ("potassium", 6.21, "critical"),
    # Kost 120 and 158; Spasovski 2014: moderate 125-129
    ("sodium", 119, "critical"), ("sodium", 121, "a concern"), ("sodium", 133, "out of range"),
    ("sodium", 159, "critical"),
    # ADA: level 2 below 3.0 asks for action at once, level 1 below 3.9
    ("glucose", 2.99, "critical"), ("glucose", 3.5, "a concern"), ("glucose", 5, "in range"),
    ("glucose", 27, "critical"),
    # Kost 66 and 199; WHO 2011: severe below 80
    ("hemoglobin", 45, "critical"), ("hemoglobin", 79, "a concern"), ("hemoglobin", 100, "out of "
     "range"), ("hemoglobin", 200, "critical"),
    # Kost 0.82 and 1.55
    ("ionized_calcium", 0.7, "critical"), ("ionized_calcium", 1.56, "critical"),
    # Surviving Sepsis bundle 2018
    ("lactate", 1.9, "in range"), ("lactate", 2.0, "a concern"), ("lactate", 4.0, "critical"),
    # Hampson 2012: beyond 3 % in non-smokers, 10 % in smokers; Wright 1999: treated above 20 %
    ("cohb", 3, "in range"), ("cohb", 3.1, "a concern"), ("cohb", 10, "critical"),
    ("methb", 3.1, "a concern"), ("methb", 20, "critical"),
    # BTS, Thorax 2017: a reservoir mask below 85 %
    ("sao2", 84.9, "critical"), ("chloride", 104, "not judged"),
])
def test_each_value_by_its_own_limits(key: str, value: float, found: str) -> None:
    assert verdict(key, value) == found


@pytest.mark.parametrize(("pao2", "fio2", "found"), [
    (45, 0.6, "critical"), (62, 1.0, "critical"), (50, 0.5, "critical"), (60, 0.5, "a concern"),
    (120, 0.4, "a concern"), (180, 0.4, "in range")])
def test_what_the_oxygen_takes(pao2: float, fio2: float, found: str) -> None:
    """Berlin, JAMA 2012;307:2526: severe to 100, mild to 300 mmHg."""
    rows = judge_values(BloodGas(7.40, 40, pao2=pao2, fio2=fio2), DEFAULT_SETTINGS)
    assert next(row for row in rows if row.quantity == "pf_ratio").verdict == found


def test_nothing_given_goes_unjudged() -> None:
    gas = BloodGas(7.40, 40, 24, pao2=90, sao2=97, fio2=0.4, cohb=1, methb=1, hemoglobin=140,
                   potassium=4, sodium=140, chloride=104, ionized_calcium=1.2, glucose=5, lactate=1,
                   albumin=40)
    assert tuple(row.quantity for row in interpret(gas).urgency.judged) == JUDGED
    assert json.loads(json.dumps(interpret(gas).as_dict()))["urgency"]["judged"][0]["verdict"]


def test_a_venous_sample_says_why_it_is_not_judged() -> None:
    rows = judge_values(BloodGas(7.34, 75, pao2=40, sao2=70, specimen="venous"), DEFAULT_SETTINGS)
    told = {row.quantity: row for row in rows}
    assert [told[key].verdict for key in ("paco2", "pao2", "sao2")] == ["not judged"] * 3
    assert "venous sample does not show" in told["paco2"].because


@pytest.mark.parametrize("given", [
    {"potassium": 6.1}, {"potassium": 2.85}, {"glucose": 2.7}, {"sodium": 121}, {"hemoglobin": 45},
    {"ionized_calcium": 0.7}, {"sao2": 72}, {"pao2": 45, "fio2": 0.6}, {"cohb": 25}, {"methb": 30}])
def test_a_normal_gas_beside_a_dangerous_value_is_not_called_quiet(given: dict[str, float]) -> None:
    reading = interpret(BloodGas(7.40, 40, **given))  # type: ignore[arg-type]
    assert reading.steps[-1].finding != "No value here is critical."
    assert "I keep observing" not in reading.urgency.report.text


def test_a_value_that_is_only_out_of_range_is_told_and_is_no_alarm() -> None:
    reading = interpret(BloodGas(7.40, 40, potassium=5.3))
    assert reading.urgency.level == "no critical value"
    assert "5.3 mmol/L is above 3.5–5 mmol/L" in reading.steps[-1].because
    assert "5.3" in reading.urgency.report.situation


def test_a_schools_own_limits_win() -> None:
    ours = LabSettings(critical_potassium=Range(3.0, 5.8), critical_hemoglobin=Range(75, 199))
    urgency = interpret(BloodGas(7.40, 40, potassium=5.9, hemoglobin=74), ours).urgency
    assert [value.quantity for value in urgency.critical] == ["hemoglobin", "potassium"]
    assert {value.source for value in urgency.critical} == {"SchoolSetting"}


@pytest.mark.parametrize(("given", "says"), [
    ({"critical_potassium": Range(3.8, 6)}, "does not lie around the range potassium = 3.5–5"),
    ({"concern_hemoglobin": 125}, "does not lie around the range hemoglobin"),
    ({"critical_cohb": 60}, "critical_cohb: 60 is not believable"),
    ({"oxygen_target": Range(0.94, 0.98)}, "percent"),
])
def test_limits_that_cannot_be_are_refused(given: dict[str, object], says: str) -> None:
    with pytest.raises(SettingsError, match=says):
        LabSettings(**given)  # type: ignore[arg-type]


@pytest.mark.parametrize(("given", "says"), [
    ({"cohb": 120}, r"carboxyhemoglobin = 120 % is outside 0-90 % \(.*decimal point"),
    ({"methb": -1}, r"methemoglobin = -1 % is outside 0-90 % \(.*not negative"),
    ({"cohb": 60, "methb": 50}, "together more than 100 %"),
    ({"hemoglobin": 14}, r"hemoglobin = 14 g/L is outside 25-250 g/L \(.*g/dL"),
    ({"glucose": 180}, r"glucose = 180 mmol/L is outside 0.3-120 mmol/L \(.*mg/dL\? Divide by 18"),
    ({"ionized_calcium": 4.8}, r"ionized calcium = 4.8 mmol/L is outside .*mg/dL"),
    ({"sao2": 0.97}, "write 97, not 0.97"),
    ({"asthma": "yes"}, "asthma is True or False, not 'yes'"),
])
def test_a_slip_is_one_sentence_with_quantity_value_limits_and_likely_cause(
        given: dict[str, object], says: str) -> None:
    with pytest.raises(QuantityError, match=says):
        BloodGas(7.40, 40, **given)  # type: ignore[arg-type]


def test_a_glucose_typed_in_mg_dl_that_passes_the_door_is_asked_about() -> None:
    assert "is it in mg/dL?" in interpret(BloodGas(7.40, 40, glucose=90)).steps[-1].because


@pytest.mark.parametrize(("gas", "alarm"), [
    (BloodGas(7.40, 30, 18), True),  # two disorders that cancel
    (BloodGas(7.37, 53, 30, chronic_lung_disease=True), False),  # Gonzalez 2018: a steady retainer
    (BloodGas(7.37, 53, 30), True), (BloodGas(7.40, 40), False)])
def test_a_ph_in_range_hides_no_disorder(gas: BloodGas, alarm: bool) -> None:
    assert (interpret(gas).urgency.level != "no critical value") == alarm
