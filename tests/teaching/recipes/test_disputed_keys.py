"""Keys that a clinician could dispute: what is keyed holds in every form, and names its source."""
from __future__ import annotations

import re

import pytest

from acidbase_lib.teaching.patients.causes import causes
from acidbase_lib.teaching.questions.question_file import load_plan
from acidbase_lib.teaching.recipes.book import cook_one

FORMS = range(1, 53)


def cooked(unit: str, question: str, forms: range = FORMS):
    plan = load_plan(unit)
    asked = next(q for q in plan.questions if q.id == question)
    for form in forms:
        for pick in (0, form % plan.candidates):
            yield cook_one(plan, asked, form, pick, form % 4)


def number(name: str, text: str) -> float:
    found = re.search(rf"\| {name} \| ([\d.]+)", text)
    assert found, text
    return float(found[1])


def test_one_disorder_is_keyed_only_where_the_steady_patient_is_no_acute_one():
    """BTS/ICS, Thorax 2016;71 Suppl 2: below 7.35 with a high PaCO2 it is acute. González, Kidney
    Int Rep 2018;3:1163-70: people at their usual have 7.37 ± 0.02.
    """
    for made in cooked("04_beyond_the_shortcut", "q4-5"):
        assert 7.35 <= number("pH", made.prompt) <= 7.40, made.prompt
        assert sorted(made.key.values()) == ["one disorder", "two disorders"]
        assert "González" in made.because[-1]


@pytest.mark.slow
@pytest.mark.parametrize("unit", ["05_oxygenation"])
def test_no_right_step_about_failure_is_one_that_an_expert_would_strike(unit):
    """BTS 2017: failure is a PaO2 below 8 kPa (60 mmHg) on air; a high PaCO2 makes it type 2. A low
    PaCO2 is never the reason that there is none: type 1 has one.
    """
    for made in cooked(unit, "q5-8"):
        pao2, paco2 = number("PaO2", made.prompt), number("PaCO2", made.prompt)
        step = next(line for line in made.prompt.splitlines() if line.startswith("3. "))
        true = ("no respiratory failure" if pao2 >= 60 else
                "respiratory failure type 2" if paco2 > 45 else "respiratory failure type 1")
        assert "below 60" in step
        assert ("not below 60" in step) == (pao2 >= 60)
        if pao2 < 60:
            assert ("is not high" in step) == (paco2 <= 45)
        keyed = made.key["first wrong step"]
        if keyed not in ("1", "2"):
            assert (true in step) == (keyed != "3"), made.prompt


@pytest.mark.slow
def test_a_cause_is_keyed_only_where_it_goes_so_far_by_itself():
    """Scheingraber, Anesthesiology 1999;90:1265-70: 70 mL/kg of saline, bicarbonate 18.4 ± 2.0.
    Diabetes Care 2024;47:1257-75: ketoacidosis begins below 18.
    """
    keyed = 0
    for made in cooked("06_causes_and_electrolytes", "q6-5"):
        hco3 = number("bicarbonate", made.prompt)
        shown = {choice.word: choice.text for choice in made.fields[0].choices}
        told = [shown[word] for word in made.key["answer"]]
        keyed += len(told)
        assert told
        assert causes()["saline"].text not in shown.values() or hco3 >= 18.4 - 2 * 2.0 or (
            hco3 > 26)
        assert causes()["ketones"].text not in told or hco3 < 18
        assert made.because[-1].startswith("Source: ")
    assert keyed > 2 * len(FORMS)  # usually more than one fits


@pytest.mark.slow
def test_the_gas_of_a_story_lies_where_its_cause_brings_it():
    for made in cooked("06_causes_and_electrolytes", "q6-8", range(1, 30)):
        line = next(c.text for c in made.fields[0].choices if c.word == made.key["answer"])
        paco2, hco3 = (float(re.search(rf"{name} ([\d.]+)", line)[1])
                       for name in ("PaCO2", "bicarbonate"))
        cause = next(c for c in causes().values() if c.because == made.because[0])
        assert cause.reaches(paco2=paco2, hco3=hco3), (cause.key, line)


#: Recipes whose key rests on a rule, a limit or a cause that somebody else may see otherwise.
DISPUTED = {"where PaCO2 belongs", "response and second disorder", "two histories",
            "only the gap speaks", "choose the target", "all at risk", "tell of a cause",
            "sort the causes", "work out the gap", "all causes that fit", "gas for the story",
            "read the oxygen", "work out the gradient", "sort by failure", "find the oxygen slip"}


def test_a_key_that_could_be_disputed_names_its_source():
    """A journal, a guideline, a textbook, or "common practice"."""
    named = re.compile(r"Source: .{20,}|BTS guideline|common practice")
    seen = set()
    for unit in ("03_compensation", "04_beyond_the_shortcut", "05_oxygenation",
                 "06_causes_and_electrolytes", "08_sitting", "09_further"):
        plan = load_plan(unit)
        for question in plan.questions:
            if question.recipe in DISPUTED:
                seen.add(question.recipe)
                made = cook_one(plan, question, 1, 0, 0)
                assert named.search(" ".join(made.because)), (question.id, made.because)
    assert seen == DISPUTED
