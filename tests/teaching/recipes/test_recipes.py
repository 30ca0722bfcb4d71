"""Recipes: keys are computed, distractors mean something, the same form is the same everywhere."""
from __future__ import annotations

import re
from collections import Counter

import pytest

from acidbase_lib.reading.blood_gas import BloodGas
from acidbase_lib.reading.consistency import check_consistency
from acidbase_lib.teaching.misconceptions.catalog import MISCONCEPTIONS
from acidbase_lib.teaching.questions.answer_text import parse_chart, write_chart
from acidbase_lib.teaching.questions.exercise import Exercise, mark
from acidbase_lib.teaching.questions.question_file import (
    UnitError,
    load_plan,
    read_plan,
    sitting_ids,
    unit_ids,
)
from acidbase_lib.teaching.recipes.book import RECIPES, candidates, cook

UNITS = (*unit_ids(), *sitting_ids())
FORMS = (1, 2, 7, 20)


def exercises(unit_id: str, form: int) -> list[Exercise]:
    return list(cook(load_plan(unit_id), form))


@pytest.mark.parametrize("form", FORMS)
@pytest.mark.parametrize("unit_id", UNITS)
def test_the_key_earns_full_marks_and_an_empty_answer_none(unit_id: str, form: int) -> None:
    for exercise in exercises(unit_id, form):
        if exercise.key is None:
            continue
        answer = parse_chart(write_chart(exercise.id, exercise.fields, exercise.key),
                             exercise.fields)
        assert mark(exercise, answer).points == exercise.points, exercise.id
        assert mark(exercise, parse_chart("", exercise.fields)).points == 0.0


@pytest.mark.slow
@pytest.mark.parametrize("unit_id", UNITS)
def test_the_same_form_is_the_same_and_another_is_not(unit_id: str) -> None:
    first, again, other = (exercises(unit_id, form) for form in (3, 3, 4))
    assert [e.prompt for e in first] == [e.prompt for e in again]
    drawn = [(a.prompt, b.prompt) for a, b in zip(first, other, strict=True) if a.key is not None]
    assert sum(a != b for a, b in drawn) >= len(drawn) * 0.8


@pytest.mark.parametrize("unit_id", UNITS)
def test_every_wrong_choice_is_an_answer_that_can_be_written(unit_id: str) -> None:
    for exercise in exercises(unit_id, 1):
        for idea, answers in exercise.predicted.items():
            assert idea in MISCONCEPTIONS
            for field in exercise.fields:
                if field.name in answers:
                    text = write_chart(exercise.id, [field], answers)
                    assert parse_chart(text, [field]).values[field.name] == answers[field.name]


@pytest.mark.parametrize("unit_id", UNITS)
def test_a_prompt_holds_no_braces_and_does_not_name_the_key_in_its_vignette(unit_id: str) -> None:
    for exercise in exercises(unit_id, 1):
        assert "{" not in exercise.prompt
        assert exercise.prompt.startswith("### Question ")


@pytest.mark.slow
def test_key_letters_are_dealt_out_evenly() -> None:
    """Haladyna, Downing & Rodriguez 2002: vary the place of the right option."""
    letters = Counter(exercise.key["answer"] for form in range(1, 41)
                      for exercise in exercises("02_primary_disorder", form)
                      if exercise.key and exercise.id in {"q2-4", "q2-6"})
    assert set(letters) == set("ABCD")
    assert min(letters.values()) >= 10


PRINTED = re.compile(r"pH[ |]+(\d\.\d\d)\W+PaCO2[ |]+(\d+) mmHg\W+bicarbonate[ |]+(\d+)")


@pytest.mark.slow
def test_every_drawn_gas_can_exist() -> None:
    """As printed: the three numbers fit the equilibrium, and the pH is on neither cut-off."""
    prompts = [exercise.prompt for form in (1, 2)
               for slot in candidates(load_plan("02_primary_disorder"), form) for exercise in slot]
    gases = [BloodGas(*map(float, found)) for text in prompts for found in PRINTED.findall(text)]
    assert len(gases) > 200
    assert {check_consistency(gas).verdict for gas in gases} == {"consistent"}
    assert not [gas.ph for gas in gases if gas.ph in (7.35, 7.45)]


def test_a_plain_misconception_is_suggested_by_its_own_answer() -> None:
    exercise = exercises("02_primary_disorder", 1)[0]
    swapped = exercise.predicted["directions swapped"]
    result = mark(exercise, parse_chart(write_chart("q", exercise.fields, swapped),
                                        exercise.fields))
    assert "directions swapped" in result.parts[0].suggests


def test_picks_choose_other_candidates() -> None:
    plan = load_plan("02_primary_disorder")
    count = len(plan.questions)
    assert [e.prompt for e in cook(plan, 1)] == [e.prompt for e in cook(plan, 1, "0" * count)]
    assert [e.prompt for e in cook(plan, 1)] != [e.prompt for e in cook(plan, 1, "1" * count)]
    with pytest.raises(UnitError, match=r"one of 0123456789 for each.*put a 0 at its place"):
        list(cook(plan, 1, "12"))


@pytest.mark.parametrize(("text", "says"), [
    ("not toml at all [", "is not a question file"),
    ('id = "x"\ntitle = "y"', "has no 'question'"),
    ('id = "x"\ntitle = "y"\n[[question]]\nid = "q1"\nstem = "s"', "'recipe' is missing"),
    ('id = "x"\ntitle = "y"\n[[question]]\nid = "q1"\nrecipe = "r"\nstem = "s"\npoints = -1',
     "outside 0 to 100"),
    ('id = "x"\ntitle = "y"\n' + 2 * '[[question]]\nid = "q1"\nrecipe = "r"\nstem = "s"\n',
     "stands there twice"),
])
def test_a_broken_question_file_is_told_in_one_sentence(text: str, says: str) -> None:
    with pytest.raises(UnitError, match=says):
        read_plan(text, "my questions")


def test_an_unknown_recipe_is_told_with_the_recipes_there_are() -> None:
    plan = read_plan('id = "x"\ntitle = "y"\n[[question]]\nid = "q1"\nrecipe = "soup"\nstem = "s"',
                     "mine")
    with pytest.raises(UnitError, match="name the disorder"):
        list(cook(plan, 1))


def test_a_stem_with_an_unknown_brace_is_told() -> None:
    plan = read_plan('id = "x"\ntitle = "y"\n[[question]]\nid = "q1"\n'
                     'recipe = "name the disorder"\nstem = "{pateint}"\n'
                     'wishes = [{disorder = "metabolic acidosis"}]', "mine")
    with pytest.raises(UnitError, match=r"\{patient\}"):
        list(cook(plan, 1))


def test_the_grid_and_the_order_are_recipes_too() -> None:
    text = """
id = "x"
title = "y"
[[question]]
id = "q1-1"
recipe = "sort the patients"
stem = "{patients}"
wishes = [{disorder = "metabolic acidosis"}, {disorder = "respiratory alkalosis"}]
[[question]]
id = "q1-2"
recipe = "order by pH"
stem = "{options}"
wishes = [{disorder = "metabolic acidosis"}, {disorder = "metabolic alkalosis"},
          {disorder = "normal"}]
"""
    grid, order = cook(read_plan(text, "mine"), 1)
    assert (grid.kind, order.kind) == ("grid", "put in order")
    assert grid.points == 2
    assert set(RECIPES) >= {"sort the patients", "order by pH"}
    first = next(c.text for c in order.fields[0].choices if c.word == order.key["order"][0])  # type: ignore[index]
    ph = float(first.split()[1].rstrip(","))
    assert ph < 7.35
