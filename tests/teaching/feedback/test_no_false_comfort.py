"""No reason gives comfort that the numbers or the story do not give, and facts name a source."""
from __future__ import annotations

import re

import pytest
from quoted_numbers import texts_of
from wrong_answers import every_exercise

from acidbase_lib.reading.blood_gas import BloodGas
from acidbase_lib.teaching.explanations.reading_steps import reading_steps
from acidbase_lib.teaching.feedback.cause_reasons import cause_told, statement_told
from acidbase_lib.teaching.feedback.gas_reasons import compensation_told, disorder_told
from acidbase_lib.teaching.feedback.oxygen_reasons import failure_told
from acidbase_lib.teaching.feedback.response_reasons import response_told
from acidbase_lib.teaching.misconceptions.catalog import SOUND
from acidbase_lib.teaching.patients.causes import causes
from acidbase_lib.teaching.patients.vignettes import fitting
from acidbase_lib.teaching.questions.question_file import load_plan

NAMES = ("respiratory acidosis", "metabolic alkalosis", "normal")


def test_three_numbers_in_range_are_not_told_to_rule_a_disorder_out():
    """Two disorders can hide each other (Haber RJ. West J Med 1991;155:146-51; question 4.6)."""
    told = disorder_told(BloodGas(7.38, 42, 25), NAMES)
    for text in (*told.why.values(), told.settles):
        assert "no disorder" not in text.replace("these three show no disorder", ""), text
        assert "disorder moves" not in text, text


def test_a_number_in_range_is_not_told_to_have_no_part_in_it():
    """PaCO2 29 with bicarbonate 25: the rules find a metabolic alkalosis as well."""
    why = disorder_told(BloodGas(7.55, 29, 25), NAMES).why["metabolic alkalosis"]
    assert "does not give the name" in why
    assert "begin" not in why


@pytest.mark.parametrize("gas", [BloodGas(7.38, 19, 11), BloodGas(7.37, 62, 35)])
def test_full_compensation_is_not_told_as_being_well(gas: BloodGas):
    assert "not of how well the person is" in compensation_told(
        gas, ("fully compensated",)).why["fully compensated"]


def test_no_respiratory_failure_is_not_told_as_being_well():
    """A PaO2 of 64 on room air in somebody who gasps: no failure by BTS 2017, and very ill."""
    told = failure_told(BloodGas(7.47, 33, 24, pao2=64, fio2=0.21, age=84))
    assert "can still be very ill" in told.why["none"]
    failing = failure_told(BloodGas(7.47, 33, 24, pao2=55, fio2=0.21, age=84))
    assert not any("very ill" in text for text in failing.why.values())


def test_a_low_paco2_that_is_not_low_enough_is_told_as_a_danger():
    """By 1.5 x bicarbonate + 8 (Albert 1967) 10 mmol/L puts PaCO2 at 23 mmHg; 33 lies above."""
    second = response_told(BloodGas(7.11, 33, 10))["second"].why
    assert "falls behind" in second["respiratory acidosis"]
    assert not any("falls behind" in why for word, why in second.items()
                   if word != "respiratory acidosis")
    assert not any("falls behind" in why for why in
                   response_told(BloodGas(7.25, 24, 10))["second"].why.values())


def test_a_breathing_that_adds_to_a_metabolic_alkalosis_is_no_comfort_at_a_ph_in_range():
    """An opioid beside vomiting: pH 7.44, PaCO2 57 (a patient of ours; common practice)."""
    second = response_told(BloodGas(7.44, 57, 38))["second"].why
    assert "even a pH in range does not make that safe" in second["respiratory acidosis"]
    assert second["none"].endswith("To overlook this is a danger.")


def test_every_part_of_a_statement_that_fails_is_told():
    ketones = causes()["ketones"]
    why = statement_told(ketones, ("potassium", "once insulin works"),
                         {"A": ("little change", "rises"), "B": ("high", "falls")}).why
    assert "Potassium: not little change." in why["A"]
    assert "disturb the heart, so it is measured" in why["A"]


def test_lost_juice_is_told_of_the_patient_who_loses_it():
    for key, way in {"diarrhea": "stool", "vomiting": "urine"}.items():
        why = cause_told(causes()[key], "whole body", ("low", "high")).why["high"]
        assert why == f"Potassium leaves the body with the {way}."
    ketones = cause_told(causes()["ketones"], "whole body", ("low", "high")).why["high"]
    assert ketones.startswith("The blood level is not the store")
    stoma = cause_told(causes()["stoma"], "potassium", ("low", "high")).why["high"]
    assert "it can be high instead, so it is measured" in stoma


def test_each_cause_that_the_written_answer_can_meet_has_its_own_first_step():
    """A bent tube is straightened (common practice): the model acts on what the history tells."""
    question = next(q for q in load_plan("04_beyond_the_shortcut").questions if q.id == "q4-8")
    told = question.more["bedside"]
    met = {v.cause for v in fitting("respiratory_acidosis_acute", "moderate", False)}
    assert met <= set(told)
    assert "straighten" in told["breaths too small through a bent tube"]
    assert all(re.search(r"\b(team|help|protocol)\b", line) for line in told.values())


@pytest.mark.slow
def test_a_target_is_not_all_that_an_acid_patient_is_told_to_need():
    """pH below 7.35 with PaCO2 above 49 mmHg: BTS/ICS guideline, Thorax 2016;71 Suppl 2."""
    seen = set()
    for _, _, made in every_exercise(range(1, 4)):
        if made.recipe == "choose the target":
            ph, paco2 = (float(re.search(rf"\| {name} \| ([\d.]+)", made.prompt)[1])
                         for name in ("pH", "PaCO2"))
            acid = ph < 7.35 and paco2 > 49
            assert ("urgent review" in made.settles["answer"]) == acid, made.prompt
            seen.add(acid)
    assert seen == {True, False}


@pytest.mark.slow
def test_facts_and_scores_name_their_source():
    for unit, _, made in every_exercise(range(1, 4)):
        if made.recipe in ("true or false", "early warning total", "tell of a cause in one",
                           "which statement holds", "choose the target"):
            assert any(line.startswith("Source: ") for line in made.because), (unit, made.id)


@pytest.mark.slow
def test_no_later_unit_is_promised_after_the_last():
    for unit, _, made in every_exercise(range(1, 4)):
        if unit != "00_start_here":
            assert not any("Later units" in text for text in texts_of(made)), made.id


def test_a_ph_in_range_is_not_told_to_give_the_name():
    """7.36 with PaCO2 60: the side of 7.40 and PaCO2 name it, not a "normal" pH."""
    gas = BloodGas(7.36, 60, 33)
    told = reading_steps(SOUND.read(gas), gas)
    assert told[2].endswith("PaCO2 decides, so the disorder is respiratory.")
    assert told[3] == ("The pH is in range, but on the acid side, so the name is respiratory "
                       "acidosis.")
