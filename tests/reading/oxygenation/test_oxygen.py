"""The oxygen reading: grade, failure, gradient, ratio, saturation, and the target taught."""
from __future__ import annotations

import pytest

from acidbase_lib import BloodGas, LabSettings, interpret
from acidbase_lib.reading.oxygenation.read_oxygen import OxygenReading, read_oxygen


def oxygen(paco2: float = 40.0, **given: object) -> OxygenReading:
    reading = read_oxygen(BloodGas(7.40, paco2, **given))  # type: ignore[arg-type]
    assert reading is not None
    return reading


@pytest.mark.parametrize(("pao2", "grade"), [
    (95, None), (80, None), (79, "mild"), (60, "mild"), (59, "moderate"), (40, "moderate"),
    (39, "severe"), (110, None),
])
def test_hypoxemia_grades(pao2: float, grade: str | None) -> None:
    """Grades at 80, 60 and 40 mmHg: common practice in nursing texts."""
    assert oxygen(pao2=pao2).hypoxemia == grade


@pytest.mark.parametrize(("pao2", "paco2", "failure"), [
    (58, 40, "type 1"), (58, 45, "type 1"), (58, 46, "type 2"), (60, 70, None), (85, 40, None),
])
def test_respiratory_failure(pao2: float, paco2: float, failure: str | None) -> None:
    """PaO2 below 60 (8 kPa); PaCO2 above 45 (6 kPa): BTS clarification, Thorax 2017;72:588."""
    assert oxygen(paco2, pao2=pao2).failure == failure


def test_a_school_may_use_the_limit_of_50() -> None:
    gas = BloodGas(7.33, 48, pao2=55)
    ours = LabSettings(failure_paco2=50)
    assert read_oxygen(gas, ours).failure == "type 1"  # type: ignore[union-attr]
    assert read_oxygen(gas).failure == "type 2"  # type: ignore[union-attr]


def test_the_gradient_is_read_on_room_air_with_its_limit_for_age() -> None:
    """By hand: 149.73 - 28 / 0.8 - 62 = 52.7; age 60 allows 19 (age / 4 + 4)."""
    reading = oxygen(28, pao2=62, fio2=0.21, age=60)
    assert reading.gradient == pytest.approx(52.7, abs=0.06)
    assert (reading.gradient_limit, reading.gradient_state) == (19, "wide")
    hypoventilation = oxygen(58, pao2=68, fio2=0.21, age=24)
    assert (round(hypoventilation.gradient or 0), hypoventilation.gradient_state) == (9, "normal")


def test_the_gradient_is_not_read_on_added_oxygen_or_unknown_air() -> None:
    assert oxygen(pao2=90, fio2=0.4, age=60).gradient is None
    assert oxygen(pao2=90, age=60).gradient is None


def test_without_an_age_there_is_no_limit() -> None:
    reading = oxygen(pao2=80, fio2=0.21)
    assert reading.gradient is not None
    assert reading.gradient_limit is reading.gradient_state is None


@pytest.mark.parametrize("gas", [
    BloodGas(7.40, 40, pao2=250, fio2=0.21, age=50),
    BloodGas(7.10, 130, pao2=60, fio2=0.21, age=50),
    BloodGas(7.40, 40, pao2=280, fio2=0.24),  # 0.24 x (760 - 47) is 171 mmHg breathed in
])
def test_more_oxygen_than_the_air_holds_is_called_impossible(gas: BloodGas) -> None:
    assert read_oxygen(gas).gradient_state == "impossible"  # type: ignore[union-attr]
    assert any("Check the FiO2" in step.because for step in interpret(gas).steps)


def test_altitude_belongs_in_the_equation() -> None:
    """Barometric pressure 642 mmHg at 1400 m: the same gas has a smaller gradient."""
    at_sea = oxygen(36, pao2=70, fio2=0.21, age=30)
    high = oxygen(36, pao2=70, fio2=0.21, age=30, barometric_pressure=642)
    assert (at_sea.gradient_state, high.gradient_state) == ("wide", "normal")


def test_the_ratio_of_pao2_and_fio2() -> None:
    assert oxygen(pao2=80, fio2=0.4).pf_ratio == pytest.approx(200)


def test_a_saturation_far_from_its_pressure_is_named() -> None:
    """PaO2 20 typed in kPa as mmHg: the curve gives 32 % (Severinghaus 1979), 97 % was measured."""
    reading = oxygen(pao2=20, sao2=97)
    assert reading.saturation_fits is False
    assert round(reading.sao2_on_curve or 0) == 32
    assert oxygen(pao2=60, sao2=90).saturation_fits is True


def test_oxygen_content() -> None:
    """By hand: 150 × 1.34 × 0.97 + 0.03 × 75 = 197.2 mL/L."""
    assert round(oxygen(pao2=75, sao2=97, hemoglobin=150).content or 0) == 197


def test_the_target_that_is_taught() -> None:
    """BTS 2017: 88-92 % where hypercapnic failure is a risk, 94-98 % otherwise."""
    assert oxygen(pao2=58).target == (94, 98)
    assert oxygen(60, pao2=55).target == (88, 92)
    assert oxygen(pao2=70, chronic_lung_disease=True).target == (88, 92)
    words = " ".join(str(step) for step in interpret(BloodGas(7.30, 60, pao2=45)).steps)
    assert "never withheld in dangerous hypoxemia" in words


def test_saturation_alone_is_read_for_what_it_is() -> None:
    reading = oxygen(sao2=91)
    assert (reading.state, reading.hypoxemia, reading.failure) == ("low", None, None)


@pytest.mark.parametrize("specimen", ["venous", "capillary"])
def test_only_an_arterial_sample_has_arterial_oxygen(specimen: str) -> None:
    """Byrne 2014: arterial PO2 is higher by 37 mmHg; never substitute."""
    gas = BloodGas(7.36, 44, pao2=45, specimen=specimen)  # type: ignore[arg-type]
    assert read_oxygen(gas) is None
    assert any("never stands in for it" in step.because for step in interpret(gas).steps)


def test_without_oxygen_values_there_is_no_oxygen_reading() -> None:
    assert interpret(BloodGas(7.40, 40)).oxygenation is None
