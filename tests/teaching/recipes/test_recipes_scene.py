"""Scenes: the same form draws the same, orders and totals are computed, slips mean something."""
from __future__ import annotations

import pytest

from acidbase_lib.physiology.early_warning import news2
from acidbase_lib.teaching.misconceptions.catalog import MISCONCEPTIONS
from acidbase_lib.teaching.misconceptions.early_warning_ideas import SCORES, Observations, score
from acidbase_lib.teaching.patients.people import draw_person, filled
from acidbase_lib.teaching.questions.question_file import Question, UnitError
from acidbase_lib.teaching.recipes.scene import SIX_STEPS, what_first
from acidbase_lib.teaching.seeded_random import Draw
from acidbase_lib.teaching.unit import open_unit

SEEN = Observations(respiratory_rate=22, spo2=90, systolic_pressure=118, pulse=101,
                    temperature=37.2, on_oxygen=True, consciousness="alert", scale=2)


@pytest.mark.parametrize("unit", ["07_clinical_priority", "08_sitting"])
def test_a_form_is_the_same_each_time_and_another_form_is_not(unit: str):
    once, again, other = (open_unit(unit, form=form) for form in (3, 3, 4))
    assert [e.prompt for e in once] == [e.prompt for e in again]
    changed = sum(a.prompt != b.prompt for a, b in zip(once, other, strict=True))
    assert changed > len(once.exercises) / 2


def test_the_letters_of_an_authored_question_move_from_form_to_form():
    forms = [open_unit("07_clinical_priority", form=form) for form in range(1, 13)]
    letters = {choice.word for unit in forms for choice in unit.exercises["q7-4"].fields[0].choices
               if "team" in choice.also}
    assert len(letters) >= 3


def test_abcde_is_put_in_order():
    exercise = open_unit("07_clinical_priority").exercises["q7-2"]
    texts = {c.word: c.text for c in exercise.fields[0].choices}
    told = [texts[word] for word in exercise.key["order"]]
    looks = ("voice|answer", "breathe|chest", "pulse", "glucose", "fever|temperature")
    for said, look in zip(told, looks, strict=True):
        assert any(word in said for word in look.split("|")), said


def test_the_total_is_the_chart_s():
    """RCP 2017: 22 breaths 2, oxygen 2, pulse 101 1, SpO2 90 on scale 2 nothing."""
    assert score(SEEN).total == 5
    assert news2(22, 90, True, 118, 101, "alert", 37.2, spo2_scale=2).total == 5
    assert dict(score(SEEN).parts())["added oxygen"] == 2


def test_two_slips_give_two_other_totals():
    assert {idea: program(SEEN) for idea, program in SCORES.items()} == {
        "added oxygen not scored": 3, "one SpO2 scale for everyone": 8}
    assert set(SCORES) <= set(MISCONCEPTIONS)


def test_each_scored_question_can_show_both_slips():
    for form in range(1, 20):
        exercise = open_unit("07_clinical_priority", form=form).exercises["q7-5"]
        assert set(exercise.predicted) == set(SCORES), exercise.prompt


def test_six_steps_are_named_as_the_trade_names_them():
    assert [step.word for step in SIX_STEPS] == [
        "recognize cues", "analyze cues", "prioritize hypotheses", "generate solutions",
        "take action", "evaluate outcomes"]


def test_braces_that_stand_for_nothing_are_told():
    with pytest.raises(UnitError, match="color"):
        filled("{first} looks {color}", draw_person(Draw(1), (40, 50)))
    with pytest.raises(UnitError, match="scenes"):
        what_first(Question("q1", "what first", None, "{scene}", ()), Draw(1), 0)
