"""A form is dealt anew: each question once, worth as much, in any place, within the plan."""
from __future__ import annotations

from collections import Counter
from functools import cache

import pytest

from acidbase_lib.teaching.questions.question_file import (
    UnitError,
    load_plan,
    read_plan,
    sitting_ids,
    unit_ids,
)
from acidbase_lib.teaching.recipes.deal import PICKS, deal, draw_order
from acidbase_lib.teaching.unit import Unit, open_unit

pytestmark = pytest.mark.slow

EVERY = (*unit_ids(), *sitting_ids())
QUICK = ("02_primary_disorder", "07_clinical_priority", "twelve_charts")
EACH_UNIT = pytest.mark.parametrize("unit_id", [
    unit if unit in QUICK else pytest.param(unit, marks=pytest.mark.slow) for unit in EVERY])
BREATHING = {"respiratory acidosis", "respiratory alkalosis"}
METABOLIC = {"metabolic acidosis", "metabolic alkalosis"}


@cache
def drawn(unit_id: str, form: int, picks: str = "") -> Unit:
    return open_unit(unit_id, form, picks, draw_order(load_plan(unit_id), form))


@EACH_UNIT
def test_a_form_asks_each_question_once_and_is_worth_as_much(unit_id: str) -> None:
    plan, lesson = load_plan(unit_id), open_unit(unit_id)
    worth = sum(exercise.points for exercise in lesson)
    for form in (7, 8, 9):
        unit = drawn(unit_id, form)
        assert list(unit.exercises) == [question.id for question in plan.questions]
        assert sorted(unit.origins.values()) == sorted(unit.exercises)
        assert sum(exercise.points for exercise in unit) == worth
        assert {e.id: e.origin for e in unit} == dict(unit.origins)


@EACH_UNIT
def test_a_variant_is_worth_what_its_question_is(unit_id: str) -> None:
    lesson, plan = open_unit(unit_id), load_plan(unit_id)
    for form in range(1, 13):
        for exercise in drawn(unit_id, form):
            assert exercise.points == lesson.exercises[exercise.origin].points, exercise.prompt
    assert all(not variant.variants for q in plan.questions for variant in q.variants)


def test_the_same_seed_deals_the_same_form_and_another_another() -> None:
    one, again, other = (drawn("03_compensation", form) for form in (7, 7, 8))
    assert [e.prompt for e in one] == [e.prompt for e in again]
    assert one.order != other.order


def test_every_question_comes_to_every_place_about_as_often() -> None:
    plan = load_plan("twelve_charts")
    orders = [draw_order(plan, form) for form in range(1, 1201)]
    for place in range(12):
        stood = Counter(order[place] for order in orders)
        # 100 each; four standard deviations of a binomial count
        assert all(abs(stood[letter] - 100) < 4 * (1200 * 1 / 12 * 11 / 12) ** 0.5
                   for letter in PICKS[:12])


def test_which_patient_is_chosen_does_not_change_what_is_asked() -> None:
    """What tells wrong ideas apart best has no say in what the right answer is."""
    for form in range(1, 6):
        keys = {tuple((e.key or {})["disorder"] for e in drawn("twelve_charts", form, pick * 12))
                for pick in "05go"}
        assert len(keys) == 1


@pytest.mark.parametrize("order", ["", "0123", "01234566", "0123456z", "76543210 "])
def test_an_order_that_leaves_a_question_out_is_refused(order: str) -> None:
    plan = load_plan("02_primary_disorder")
    with pytest.raises(UnitError, match="each of 01234567 once"):
        deal(plan, 7, order)


def test_a_list_to_deal_from_that_is_not_there_is_told() -> None:
    plan = read_plan('id = "x"\ntitle = "X"\n[[question]]\nid = "q1"\nrecipe = "r"\n'
                     'stem = "s"\ndeals = ["causes"]\n', "x.toml")
    with pytest.raises(UnitError, match="deals = 'causes'"):
        deal(plan, 1, "0")


def test_the_blueprint_of_twelve_charts_is_kept_by_every_form() -> None:
    """Five breathing disorders, five metabolic, one mixed, one normal; as many acid as alkaline."""
    told: Counter[str] = Counter()
    for form in range(1, 31):
        names = Counter(str((e.key or {})["disorder"]) for e in drawn("twelve_charts", form))
        told.update(names)
        assert sum(names[name] for name in BREATHING) == 5
        assert sum(names[name] for name in METABOLIC) == 5
        assert names["normal"] == 1
        assert sum(n for name, n in names.items() if name.endswith("acidosis")) in (5, 6)
    assert 55 <= told["metabolic alkalosis"] <= 95  # of 360 charts; 2 of 60 in an earlier kit


@EACH_UNIT
def test_the_right_letter_is_each_as_often(unit_id: str) -> None:
    stood, among = Counter[str](), Counter[str]()
    for form in range(1, 21):
        for exercise in drawn(unit_id, form):
            for field in exercise.fields:
                if field.kind == "one" and exercise.key and field.choices[0].text:
                    stood[str(exercise.key[field.name])] += 1
                    among.update(field.words)
                    among["all"] += 1
    if among["all"]:
        letters = [letter for letter in "ABC" if among[letter] == among["all"]]
        share = sum(stood[letter] for letter in letters) / among["all"] / len(letters)
        for letter in letters:
            spread = (among["all"] * share * (1 - share)) ** 0.5
            assert abs(stood[letter] - share * among["all"]) < 4 * spread
