"""The table of causes and its questions: words, sources, keys that follow from the numbers."""
from __future__ import annotations

import re

import pytest

from acidbase_lib.reading.blood_gas import BloodGas
from acidbase_lib.reading.interpretation import interpret
from acidbase_lib.teaching.patients.causes import causes
from acidbase_lib.teaching.practice.endless import PatientRun
from acidbase_lib.teaching.practice.topics import TOPICS
from acidbase_lib.teaching.questions.question_file import UnitError, load_plan, read_plan
from acidbase_lib.teaching.recipes.book import cook, cook_one

FORMS = range(1, 9)

# OpenStax, Anatomy and Physiology 2e, section 26.5: which disorder each cause brings.
OPENSTAX = {"ketones": "metabolic acidosis", "kidneys": "metabolic acidosis",
            "diarrhea": "metabolic acidosis", "vomiting": "metabolic alkalosis",
            "diuretics": "metabolic alkalosis", "copd": "respiratory acidosis",
            "opioid": "respiratory acidosis", "panic": "respiratory alkalosis",
            "fever": "respiratory alkalosis"}
# PMC5676816, table 2: causes of a low potassium.
LOW_POTASSIUM = {"diarrhea", "tube", "diuretics"}


def exercise(question: str, form: int):
    plan = load_plan("09_further" if question.startswith("q9") else "06_causes_and_electrolytes")
    asked = next(q for q in plan.questions if q.id == question)
    return cook_one(plan, asked, form, 0, form % 4)


@pytest.mark.parametrize(("key", "disorder"), OPENSTAX.items())
def test_the_disorder_is_what_the_textbook_says(key, disorder):
    assert causes()[key].disorder == disorder


@pytest.mark.parametrize("key", sorted(LOW_POTASSIUM))
def test_potassium_is_low_where_the_review_says_so(key):
    assert causes()[key].potassium == "low"


def test_loss_of_stomach_juice_and_of_bowel_juice_are_opposites_but_for_potassium():
    by_loss = {c.loses: c for c in causes().values() if c.loses}
    top, bottom = by_loss["stomach juice"], by_loss["bowel juice"]
    assert (top.disorder, bottom.disorder) == ("metabolic alkalosis", "metabolic acidosis")
    assert (top.chloride, bottom.chloride) == ("low", "high")
    assert top.potassium == bottom.potassium == "low"


def test_a_high_gap_and_a_high_chloride_never_go_together():
    """Electroneutrality: what replaces bicarbonate is either chloride or an uncounted acid."""
    for cause in causes().values():
        if cause.disorder == "metabolic acidosis":
            assert cause.chloride == ("normal" if cause.gap == "high" else "high"), cause.key
        else:
            assert cause.gap == "normal"


def test_every_history_can_be_told_of_everybody():
    for cause in causes().values():
        assert not re.search(r"\{[Tt]hey\} (breathes|passes|lives|has|is|was)\b", cause.story)
        assert cause.source


@pytest.mark.parametrize("form", FORMS)
def test_the_gap_asked_for_is_the_subtraction(form):
    asked = exercise("q6-3", form)
    sodium, chloride, hco3 = (float(re.search(rf"\| {name} \| (\d+)", asked.prompt)[1])
                              for name in ("sodium", "chloride", "bicarbonate"))
    assert asked.key["anion gap"] == sodium - chloride - hco3
    assert asked.key["gap is"] == ("high" if sodium - chloride - hco3 > 16 else "normal")
    slip = asked.predicted["bicarbonate left out of the gap"]
    assert slip["anion gap"] == sodium - chloride


@pytest.mark.parametrize("form", FORMS)
def test_the_order_of_gaps_is_the_order_of_the_subtractions(form):
    asked = exercise("q9-4", form)
    gaps = {letter: int(na) - int(cl) - int(hco3) for letter, na, cl, hco3 in re.findall(
        r"- ([A-D])\. sodium (\d+) mmol/L, chloride (\d+) mmol/L, bicarbonate (\d+)",
        asked.prompt)}
    assert list(asked.key["order"]) == sorted(gaps, key=gaps.get)
    assert len(set(gaps.values())) == 4


@pytest.mark.parametrize("form", FORMS)
def test_the_causes_that_fit_share_disorder_and_gap(form):
    asked = exercise("q6-5", form)
    words = {cause.text: cause for cause in causes().values()}
    shown = {c.word: words[c.text] for c in asked.fields[0].choices}
    fit = [shown[word] for word in asked.key["answer"]]
    assert len({(c.disorder, c.gap) for c in fit}) == 1
    assert len(shown) - len(fit) >= len(fit), "ticking everything must earn nothing"
    values = [float(re.search(rf"\| {name} \| ([\d.]+)", asked.prompt)[1])
              for name in ("pH", "PaCO2", "bicarbonate", "sodium", "chloride")]
    gas = BloodGas(*values[:3], sodium=values[3], chloride=values[4])
    reading = interpret(gas)
    assert (reading.primary, reading.anion_gap.state) == (fit[0].disorder, fit[0].gap)


@pytest.mark.parametrize("form", FORMS)
def test_one_gas_alone_fits_the_story(form):
    asked = exercise("q6-8", form)
    lines = [c.text for c in asked.fields[0].choices]
    read = []
    for line in lines:
        ph, paco2, hco3, sodium, chloride = map(float, re.findall(r"(\d+\.?\d*) ?(?:mm|,)", line))
        reading = interpret(BloodGas(ph, paco2, hco3, sodium=sodium, chloride=chloride))
        gap = reading.anion_gap.state if reading.primary == "metabolic acidosis" else None
        read.append((reading.primary, gap))
    assert len(set(read)) == 4
    story = next(c for c in causes().values() if asked.because[0] == c.because)
    gap = story.gap if story.disorder == "metabolic acidosis" else None
    assert read["ABCD".index(asked.key["answer"])] == (story.disorder, gap)


def test_full_blood_hides_an_empty_store():
    """Kitabchi 2009: a high level despite depletion is not uncommon; insulin lowers it."""
    asked = exercise("q6-7", 1)
    assert asked.key == {"whole body": "low", "once insulin works": "falls"}
    assert "blood potassium taken for the body's store" in asked.predicted


def test_a_cause_that_is_not_in_the_table_is_told_with_those_that_are():
    plan = read_plan('id = "x"\ntitle = "y"\n[[question]]\nid = "q1"\nrecipe = "tell of a cause"\n'
                     'parts = ["disorder"]\ncauses = ["hiccups"]\nstem = "{story}"', "mine")
    with pytest.raises(UnitError, match=r"no cause 'hiccups'.*vomiting"):
        list(cook(plan, 1))


def test_a_rationale_about_a_cause_waits_for_a_person():
    plan = read_plan('id = "x"\ntitle = "y"\n[[question]]\nid = "q1"\n'
                     'recipe = "explain the cause"\n'
                     'causes = ["ketones"]\npoints = 2\nstem = "{story} Why?"', "mine")
    (asked,) = cook(plan, 1)
    assert (asked.kind, asked.key, asked.points) == ("rationale", None, 2.0)


def test_practice_on_causes_sorts_acid_added_from_base_lost():
    run, met = PatientRun(TOPICS["causes"], "seed"), set()
    for _ in range(40):
        met.add(run.key)
        assert run.answer(run.key)
        run.next()
    assert met == set(TOPICS["causes"].choices)
