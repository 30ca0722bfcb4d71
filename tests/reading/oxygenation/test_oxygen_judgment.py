"""Is there enough oxygen? One answer from saturation, PaO2, FiO2, target and hemoglobin."""
from __future__ import annotations

import csv
from pathlib import Path
from typing import Any

import pytest

from acidbase_lib import BloodGas, interpret
from acidbase_lib.reading.interpretation import Interpretation
from acidbase_lib.reading.lab_settings import DEFAULT_SETTINGS
from acidbase_lib.reading.oxygenation.judgment import OxygenJudgment, judge_oxygen

REAL = Path(__file__).parents[2] / "published" / "real_gases.csv"


def read(ph: float, paco2: float, **given: Any) -> tuple[Interpretation, OxygenJudgment]:
    reading = interpret(BloodGas(ph, paco2, **given))
    assert reading.oxygen_judgment is not None
    return reading, reading.oxygen_judgment


def said(reading: Interpretation) -> str:
    return " ".join(str(step) for step in reading.steps)


def finding(reading: Interpretation, question: str) -> str:
    return next(step.finding for step in reading.steps if question in step.question)


@pytest.mark.parametrize("given", [
    {"ph": 7.42, "paco2": 34, "pao2": 92, "sao2": 68, "fio2": 0.21},
    {"ph": 7.38, "paco2": 38, "pao2": 280, "sao2": 85, "fio2": 0.8}])
def test_a_low_measured_saturation_wins_over_any_pao2(given: dict[str, float]) -> None:
    """BTS, Thorax 2017, critical illness: carbon monoxide, as much oxygen as possible; ordinary
    oximetry cannot tell."""
    reading, judged = read(**given)
    assert (judged.verdict, judged.level, judged.target_applies) == (
        "does not fit", "critical", False)
    assert finding(reading, "enough oxygen").startswith("No:")
    words = said(reading)
    for told in ("Co-oximetry", "arbon monoxide", "methemoglobin", "venous sample",
                 "cannot tell carboxyhemoglobin", "as much oxygen as possible",
                 "local protocol and licensed practice decide"):
        assert told in words
    assert "94–98" not in words
    assert reading.urgency.report.recommendation.startswith("Please come and see the patient now")


def test_real_gases_are_rarely_flagged() -> None:
    """MIMIC-III demo (ODbL 1.0): of 224 arterial gases with a saturation 2 do not fit, 73 % at a
    PaO2 of 182 mmHg and 70 % at 135."""
    lines = [line for line in REAL.read_text(encoding="utf-8").splitlines() if line[0] != "#"]
    rows = [row for row in csv.DictReader(lines) if row["specimen"] == "ART" and row["sO2_pct"]
            and row["pO2_mmHg"] and row["pH"]]
    flagged = []
    for row in rows:
        gas = BloodGas(float(row["pH"]), float(row["pCO2_mmHg"]), pao2=float(row["pO2_mmHg"]),
                       sao2=float(row["sO2_pct"]))
        judged = judge_oxygen(gas, DEFAULT_SETTINGS)
        if judged is not None and judged.fits != "fits":
            flagged.append((gas.pao2, gas.sao2))
    assert len(rows) == 224
    assert flagged == [(182, 73), (135, 70)]


@pytest.mark.parametrize(("sao2", "carries"), [(97, 66), (65, 65)])
def test_measured_carbon_monoxide_decides_whichever_saturation_is_printed(
        sao2: float, carries: float) -> None:
    """Some analyzers print the share of the hemoglobin that can carry, others that of all."""
    reading, judged = read(7.40, 40, pao2=95, sao2=sao2, cohb=32)
    assert (judged.verdict, judged.level, judged.fits) == ("bound hemoglobin", "critical", "fits")
    assert round(judged.carries or 0) == carries
    assert "carbon monoxide takes up hemoglobin" in finding(reading, "enough oxygen")
    assert judged.target_applies is False


def test_a_little_carbon_monoxide_is_a_concern_and_smoking_is_asked_about() -> None:
    reading, judged = read(7.40, 40, pao2=95, sao2=96, cohb=6)
    assert (judged.level, reading.urgency.level) == ("a concern", "urgent")
    assert "Smokers may reach 10 %" in said(reading)


def test_methemoglobin_is_not_undone_by_oxygen() -> None:
    reading, judged = read(7.40, 40, pao2=300, sao2=85, fio2=0.8, methb=30)
    assert judged.verdict == "bound hemoglobin"
    assert "Oxygen alone does not undo it" in said(reading)
    assert "near 85 %" in said(reading)


def test_a_venous_sample_still_tells_of_carbon_monoxide() -> None:
    """Touger 1995, abstract: venous and arterial carboxyhemoglobin agree."""
    reading = interpret(BloodGas(7.36, 45, pao2=40, cohb=30, specimen="venous"))
    assert reading.oxygenation is None
    assert reading.urgency.level == "critical"
    assert "Read the SpO2" not in said(reading)  # the probe cannot tell it


def test_a_fraction_typed_for_a_percent_is_asked_about() -> None:
    reading, _ = read(7.40, 40, pao2=95, sao2=66, cohb=0.3)
    assert "0.3 a fraction? In percent that is 30" in said(reading)


def test_both_measured_and_quiet_leave_the_sample() -> None:
    reading, _ = read(7.40, 40, pao2=95, sao2=70, cohb=1, methb=1)
    assert "do not explain it" in said(reading)


def test_a_saturation_above_the_target_is_never_low_oxygen() -> None:
    """R4: 94 % lies above 88-92 %: nothing may invite turning the oxygen up."""
    reading, judged = read(7.34, 58, pao2=74, sao2=94, fio2=0.28, chronic_lung_disease=True)
    assert (judged.verdict, judged.too_much) == ("above target", True)
    words = f"{said(reading)} {reading.urgency.report.text} {reading.urgency.concerns}"
    assert "hypoxemia" not in words
    assert "oxygen is low" not in words
    assert "above the target of 88–92 %" in words
    assert "in steps, not at once" in words


def test_in_a_retainer_the_range_of_healthy_lungs_is_not_the_judge() -> None:
    reading, judged = read(7.36, 56, pao2=61, sao2=90, fio2=0.24, chronic_lung_disease=True)
    assert judged.verdict == "in target"
    assert "80–100" not in said(reading)


@pytest.mark.parametrize(("given", "verdict", "start"), [
    ({"sao2": 97, "pao2": 92}, "in target", "Yes"),
    ({"sao2": 93}, "low", "No"), ({"pao2": 62}, "low", "No: mild hypoxemia"),
    ({"pao2": 75}, "in target", "The saturation is in its target, and PaO2 is below its range"),
    ({"sao2": 100, "pao2": 200, "fio2": 0.5}, "above target", "Yes, and more than is aimed at"),
    ({"sao2": 99, "pao2": 98, "fio2": 0.21}, "above target", "Yes."),
    ({"sao2": 99}, "above target", "Yes. If oxygen is given, it is more than is aimed at"),
    ({"pao2": 70, "fio2": 0.6}, "low", "No: it is low in spite of added oxygen"),
    ({"pao2": 90, "sao2": 97, "fio2": 1.0}, "in target",
     "Yes, the saturation is in its target, but the lungs take up the added oxygen very poorly"),
    ({"pao2": 20, "sao2": 97}, "does not fit", "It cannot be told"),
])
def test_one_answer(given: dict[str, float], verdict: str, start: str) -> None:
    reading, judged = read(7.40, 40, **given)
    assert judged.verdict == verdict
    assert finding(reading, "enough oxygen").startswith(start)


def test_little_hemoglobin_is_told_beside_a_good_saturation() -> None:
    """1.34 mL for each gram, worked by hand: 45 g/L carry 63 mL/L where 150 g/L carry 204."""
    reading, judged = read(7.40, 40, pao2=95, sao2=98, hemoglobin=45)
    assert (judged.verdict, judged.enough) == ("little hemoglobin", False)
    assert "about 63 mL" in said(reading)
    assert "about 204" in said(reading)


def test_content_counts_only_the_hemoglobin_that_carries() -> None:
    """Arithmetic: 1.34 x 150 x 66 % + 0.03 x 95 = 135 mL/L, not 198."""
    reading = interpret(BloodGas(7.40, 40, pao2=95, sao2=97, cohb=32, hemoglobin=150)).oxygenation
    assert reading is not None
    assert round(reading.content or 0) == 135


def test_a_given_lactate_is_used_in_the_step_about_the_gap() -> None:
    """R8; Iberti 1990, abstract: half of those with a lactate of 5.0-9.9 had a gap below 16."""
    panel = {"sodium": 140, "chloride": 108}
    raised = said(interpret(BloodGas(7.30, 34, 16.4, **panel, lactate=5.5)))  # type: ignore[arg-type]
    assert "the lactate is raised: a lactic acidosis" in raised
    assert "think of diarrhea" not in raised
    part = said(interpret(BloodGas(7.20, 26, 10, sodium=140, chloride=115, lactate=3)))
    assert "explain about 14 % of the fall" in part
    assert "For the rest: chloride has taken the place" in part
    quiet = said(interpret(BloodGas(7.30, 34, 16.4, **panel, lactate=1.2)))  # type: ignore[arg-type]
    assert "Lactate 1.2 mmol/L is not raised" in quiet
    assert "think of diarrhea" in quiet
    no_acidosis = said(interpret(BloodGas(7.40, 40, 24, sodium=140, chloride=104, lactate=5)))
    assert "Yet lactate 5 mmol/L is raised" in no_acidosis


@pytest.mark.parametrize("given", [
    {"pao2": 110, "fio2": 0.4}, {"pao2": 60, "fio2": 0.21}, {"pao2": 70, "fio2": 0.28},
    {"pao2": 90}, {"pao2": 75, "sao2": 98, "fio2": 0.3}])
def test_failing_breathing_is_never_told_as_no_failure(given: dict[str, float]) -> None:
    """7.26 / 78 on 40 % was "Not by these numbers"; BTS 2017 defines type 2 on room air."""
    for whom in ({}, {"chronic_lung_disease": True}, {"opioid": True}):
        reading, _ = read(7.26, 70, **given, **whom)
        told = finding(reading, "respiratory failure")
        assert told == "Not by PaO2, but PaCO2 is above its limit: too little air moves."
    # here a high PaCO2 answers an alkalosis
    answer = finding(read(7.46, 50, **given)[0], "respiratory failure")
    assert "too little air" not in answer


def test_an_oxygen_that_cannot_be_is_not_called_enough() -> None:
    """Alveolar gas equation: on room air with PaCO2 40 about 100 mmHg is the most."""
    reading, _ = read(7.40, 40, pao2=250, fio2=0.21)
    assert finding(reading, "enough oxygen").startswith("It cannot be told")


@pytest.mark.parametrize("age", [0.01, 0.5, 6, 17])
def test_no_child_is_judged_by_the_gradient_of_adults(age: float) -> None:
    """Age / 4 + 4 allowed a healthy newborn 4 mmHg, so lungs were called poor at three days."""
    reading, _ = read(7.38, 40, pao2=60, sao2=92, fio2=0.21, age=age)
    assert reading.oxygenation is not None
    assert reading.oxygenation.gradient_state is None
    assert finding(reading, "gradient").startswith("The limit for age is one of adults")


RESIDENT = {"paco2": 30, "pao2": 60, "sao2": 92, "fio2": 0.21, "altitude": 3500}


def test_a_resident_at_altitude_hears_that_the_target_is_of_sea_level() -> None:
    """Altitude2023: healthy residents at 3350 m have a PaO2 of 61 mmHg and 91 %."""
    reading, judged = read(7.42, **RESIDENT)
    assert judged.usual_here
    assert "sea level" in finding(reading, "enough oxygen")
    assert any("as in healthy people who live here" in text for text in reading.urgency.concerns)


@pytest.mark.parametrize("change", [
    {"sao2": 80, "pao2": 45}, {"pao2": 44}, {"paco2": 40}, {"fio2": 0.3}, {"asthma": True},
    {"opioid": True}, {"chronic_lung_disease": True}, {"altitude": 300}])
def test_nothing_that_speaks_of_illness_is_called_usual_at_altitude(change: dict) -> None:
    reading, judged = read(7.42, **(RESIDENT | change))
    assert not judged.usual_here
    assert "healthy people who live here" not in said(reading).replace("Healthy people here", "")
