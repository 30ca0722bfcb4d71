"""The reasoning: ordered, sourced, in plain words, and never rounded into a contradiction."""
from __future__ import annotations

import re

import pytest
import textstat

from acidbase_lib import BloodGas, interpret
from acidbase_lib.reading.sources import SOURCES, cite
from acidbase_lib.reading.telling.report import reading_text
from acidbase_lib.reading.wording import number, ph_text

GASES = [
    BloodGas(7.28, 66, 30, pao2=58, fio2=0.21, sodium=139, potassium=4.4, chloride=101, albumin=40,
             lactate=1.1, age=67, chronic_lung_disease=True),
    BloodGas(7.39, 24, 14, sodium=140, chloride=106), BloodGas(7.40, 40, 24),
    BloodGas(7.10, 50, 15, sodium=145, chloride=100), BloodGas(7.29, 35, 20),
    BloodGas(7.33, 55, 32),
    BloodGas(7.54, 62, 53), BloodGas(7.40, 60, 36.8), BloodGas(7.25, 60, 26, pao2=45, fio2=0.5),
    BloodGas(7.18, 32, 11.5, specimen="venous", pao2=40, sodium=136, chloride=98),
    BloodGas(7.52, 28, 22.3, pao2=110, fio2=0.4, sao2=80), BloodGas(7.37, 46, 26),
]


@pytest.mark.parametrize("gas", GASES, ids=lambda gas: gas.sentence())
def test_every_step_asks_finds_explains_and_cites(gas: BloodGas) -> None:
    steps = interpret(gas).steps
    assert steps[0].question == "Can these three numbers come from one sample?"
    assert steps[1].question.startswith("Is the pH")
    assert steps[-1].question == "How soon must somebody know?"
    for step in steps:
        assert step.question.endswith("?")
        assert re.search(r"[.]$", step.finding), step
        assert re.search(r"[.]$", step.because), step
        assert step.source in SOURCES, step
        assert "None" not in str(step)
        assert "  " not in str(step)


def test_the_words_stay_at_reading_grade_9_or_below() -> None:
    """Flesch-Kincaid over the sentences of all readings; numbers and the trade's own names out."""
    text = " ".join(f"{step.finding} {step.because}" for gas in GASES
                    for step in interpret(gas).steps)
    names = r"acidosis|alkalosis|acidemia|alkalemia|respiratory|metabolic|bicarbonate|compensated"
    plain = re.sub(r"\([^)]*\)|[\d.–/%]*\d[\d.–/%]*|mmHg|mmol/L", "", text)
    plain = re.sub(names, "word", plain)
    plain = re.sub(r"\s+([.,;:])", r"\1", plain)
    assert textstat.flesch_kincaid_grade(plain) <= 9
    assert max(len(sentence.split()) for sentence in re.split(r"[.?]\s", text)) <= 45


def test_rounding_never_moves_a_number_across_its_limit() -> None:
    gas = BloodGas(7.30, 52.9)  # derived bicarbonate 25.739...
    assert number(26.04, 22, 26) == "26.04"
    assert number(26.000001, 26) == "26.000001"
    assert ph_text(7.3499, 7.35) == "7.3499"
    assert ph_text(7.4) == "7.40"
    assert number(0.04) == "0"
    words = " ".join(str(step) for step in interpret(gas).steps)
    assert "25.7 mmol/L is within 22–26" in words


@pytest.mark.parametrize("gas", GASES, ids=lambda gas: gas.sentence())
def test_the_printed_reading_says_what_it_is_for_and_cites(gas: BloodGas) -> None:
    text = reading_text(interpret(gas))
    assert text.startswith("For teaching, not for care")
    assert "Sources" in text
    assert gas.sentence() in text


def test_a_source_not_seen_is_called_common_practice_to_a_reader() -> None:
    unseen = [key for key, row in SOURCES.items() if row.seen.startswith("from memory")]
    assert unseen
    assert all(cite(key).startswith("common practice; compare ") for key in unseen)


def test_the_two_values_are_weighed_by_what_they_push() -> None:
    questions = [step.question for step in interpret(BloodGas(7.28, 66, 30)).steps]
    assert "Which value pushes the way the pH went?" in questions
    assert not any("match" in question for question in questions)


def test_a_childs_gas_says_that_the_ranges_are_of_adults() -> None:
    questions = [step.question for step in interpret(BloodGas(7.30, 20, 9.7, age=13)).steps]
    assert questions[1] == "Do these ranges fit this person?"
    grown = interpret(BloodGas(7.30, 20, 9.7, age=18)).steps
    assert "Do these ranges fit this person?" not in [step.question for step in grown]


def test_a_capillary_sample_is_named_as_one() -> None:
    steps = interpret(BloodGas(7.30, 50, 24, specimen="capillary")).steps
    assert any("capillary sample" in step.because for step in steps)
