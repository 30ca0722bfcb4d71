"""How other educators would write a question: it is read, and its wrong key is found."""
from __future__ import annotations

import tomllib
from pathlib import Path

import pytest

from acidbase_lib.teaching.handwritten.open_sheet import read_text
from acidbase_lib.teaching.question_check.audit import audit_text
from acidbase_lib.teaching.question_check.findings import LOOK, MUST
from acidbase_lib.teaching.question_check.meaning import asks, meaning_of
from acidbase_lib.teaching.question_check.numbers import find_numbers
from acidbase_lib.teaching.question_check.sample import numbers_of
from acidbase_lib.teaching.question_check.scene import scene_of

PHRASINGS = tomllib.loads((Path(__file__).parent / "sheets" / "phrasings.toml")
                          .read_text("utf-8"))["phrasing"]


@pytest.mark.parametrize("phrasing", PHRASINGS, ids=lambda p: p["name"])
def test_a_wrong_key_is_found_in_any_phrasing(phrasing: dict[str, str]) -> None:
    audit = audit_text(phrasing["text"])
    assert audit.broken == ()
    (question,) = audit.questions
    assert any(phrasing["reads"] in line for line in question.read), question.read
    kinds = {one.kind for one in question.findings if one.weight == MUST}
    assert kinds & {"wrong key", "compensated used unlawfully"}, question.findings
    (finding,) = [one for one in question.findings if one.weight == MUST]
    assert f"'right: {phrasing['right'].upper()}'" in finding.mend


@pytest.mark.parametrize("phrasing", PHRASINGS, ids=lambda p: p["name"])
def test_with_the_right_key_nothing_must_be_mended(phrasing: dict[str, str]) -> None:
    (question,) = read_text(phrasing["text"]).questions
    from dataclasses import replace

    from acidbase_lib.teaching.question_check.audit import check_question

    mended = replace(question, right=(phrasing["right"].upper(),))
    assert [one for one in check_question(mended).findings if one.weight == MUST] == []


@pytest.mark.parametrize(("text", "values"), [
    ("pH 7.28, PaCO2 66 mmHg, HCO3- 30 mEq/L", {"ph": 7.28, "paco2": 66, "hco3": 30}),
    ("PaCO₂ of 8.8 kPa and a bicarbonate of 30", {"paco2": 66.0, "hco3": 30}),
    ("Na+ 138 mEq/L, K+ 4.0, Cl- 100", {"sodium": 138, "potassium": 4.0, "chloride": 100}),
    ("temp 101.3 °F, glucose 450 mg/dL, Hgb 9 g/dL", {"temperature": 38.5, "glucose": 25.0,
                                                     "hemoglobin": 90}),
    ("BP 96/58, HR 112, RR 28/min, SpO2 84%", {"systolic": 96, "pulse": 112,
                                               "respiratory_rate": 28, "spo2": 84}),
    ("he breathes 28 times a minute; his saturation is 0.91", {"respiratory_rate": 28, "spo2": 91}),
    ("a 67-year-old with FiO2 40%", {"age": 67, "fio2": 0.4}),
    ("PaO2/FiO2 of 180", {}), ("2 L/min for 3 days, bed 7", {}),
    ("PaCO2 and HCO3 are 66 mmHg and 30 mEq/L", {}),
])
def test_numbers_are_found_by_their_names(text: str, values: dict[str, float]) -> None:
    assert {one.key: one.canonical for one in find_numbers(text)} == pytest.approx(values, abs=0.06)


def test_a_range_is_no_value() -> None:
    assert [(one.value, one.second) for one in find_numbers("PaCO2 35–45 mm Hg")] == [(35, 45)]


@pytest.mark.parametrize(("text", "label"), [
    ("Acute respiratory acidosis", "respiratory acidosis"),
    ("Metabolic acidosis with an elevated anion gap", "metabolic acidosis"),
    ("High anion gap metabolic acidosis, uncompensated", "uncompensated metabolic acidosis"),
    ("It is a respiratory alkalosis due to pain and fear", "respiratory alkalosis"),
    ("Respiratory acidosis; the kidneys have partially compensated",
     "partially compensated respiratory acidosis"),
    ("Normal acid–base balance", "normal"),
    ("Give bicarbonate to treat the metabolic acidosis", None),
])
def test_options_are_read_as_labels(text: str, label: str | None) -> None:
    meaning = meaning_of(text)
    assert (meaning.label.text if meaning.label else None) == label


def test_a_scene_is_read_from_words_and_denials_are_no_findings() -> None:
    text = ("Mr. Brandt, 66, has no history of asthma and retains CO2. He is drowsy and opens his "
            "eyes to voice. RR 26, SpO2 84 % on room air, BP 138/80, using accessory muscles.")
    scene, trouble = scene_of(text, numbers_of(text))
    assert trouble == ""
    assert scene is not None
    assert scene.history == ("chronic CO2 retainer",)
    assert (scene.consciousness, scene.effort, scene.device) == ("voice", "labored", "air")
    assert (scene.respiratory_rate, scene.spo2, scene.systolic) == (26, 84, 138)


def test_the_sentence_that_asks_is_found() -> None:
    (question,) = read_text("He is ill. What now?\nA. one\nB. two\nright: A").questions
    assert asks(question) == "What now?"


def test_stated_ranges_decide() -> None:
    text = ("ranges: HCO3 22-29 mmol/L\n\npH 7.30, PaCO2 57 mmHg, HCO3 27 mmol/L. What is the full "
            "label?\nA. uncompensated respiratory acidosis\nB. partially compensated respiratory "
            "acidosis\nC. uncompensated metabolic acidosis\nright: A")
    assert audit_text(text).sound
    without = audit_text(text.split("\n\n")[1])
    assert "wrong key" in {one.kind for one in without.findings}
    edge = [one for one in without.findings if one.kind == "range decides"]
    assert edge[0].weight == LOOK
