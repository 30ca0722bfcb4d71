"""Own forms: equal by the plan, each person's alone, and of no use to a neighbor."""
from __future__ import annotations

from collections import Counter
from functools import cache
from statistics import fmean

import pytest

from acidbase_lib.classroom.notebooks.equal_forms import (
    COUNTED,
    OwnForm,
    kinds_for_all,
    own_forms,
    own_unit,
    what_varies,
)
from acidbase_lib.teaching.questions.answer_text import parse_chart, write_chart
from acidbase_lib.teaching.questions.exercise import mark
from acidbase_lib.teaching.questions.question_file import load_plan
from acidbase_lib.teaching.recipes.deal import deal
from acidbase_lib.teaching.unit import Unit

pytestmark = pytest.mark.slow

UNIT = "02_primary_disorder"
PEOPLE = tuple(f"n{number}" for number in range(12))


@cache
def made(unit_id: str = UNIT) -> dict[str, Unit]:
    plan = load_plan(unit_id)
    worth = {question: exercise.points for question, exercise in Unit(plan, 7).exercises.items()}
    forms = own_forms(plan, 7, PEOPLE, {})
    return {who: own_unit(plan, form, worth) for who, form in forms.items()}


def asked_of_patients(unit: Unit) -> Counter[tuple[str, str]]:
    """What a form's own dealt plan wishes for, counted here again from the plan."""
    dealt = deal(load_plan(unit.id), unit.form, unit.order)
    return Counter((name, str(wish[name])) for question in dealt.questions
                   for wish in question.wishes for name in COUNTED if wish.get(name))


@pytest.mark.parametrize("unit_id", [UNIT, "01_ranges", "06_causes_and_electrolytes"])
def test_everybody_is_asked_the_same_number_of_each_kind(unit_id: str) -> None:
    units = made(unit_id).values()
    assert len({frozenset(asked_of_patients(unit).items()) for unit in units}) == 1
    assert {exercise.points for unit in units for exercise in unit}
    worth = [{unit.origins[exercise.id]: exercise.points for exercise in unit} for unit in units]
    assert all(one == worth[0] for one in worth)


def test_forms_left_alone_are_not_equal() -> None:
    plan = load_plan(UNIT)
    free = [Unit(plan, form, "", made()["n0"].order) for form in range(1, 13)]
    assert len({frozenset(asked_of_patients(unit).items()) for unit in free}) > 6


def test_no_two_have_the_same_form_or_the_same_patients() -> None:
    units = made().values()
    assert len({unit.form for unit in units}) == len(PEOPLE)
    assert len({unit.order for unit in units}) == len(PEOPLE)
    prompts = Counter(exercise.prompt for unit in units for exercise in unit)
    assert prompts.most_common(1)[0][1] == 1


def test_a_form_follows_from_the_id_and_not_from_the_list() -> None:
    plan = load_plan(UNIT)
    forwards, backwards = (own_forms(plan, 7, people, {}) for people in (PEOPLE[:4],
                                                                         PEOPLE[3::-1]))
    assert forwards == backwards
    assert own_forms(plan, 8, PEOPLE[:1], {}) != own_forms(plan, 7, PEOPLE[:1], {})


def test_who_has_a_form_keeps_it_and_nobody_else_gets_it() -> None:
    plan = load_plan(UNIT)
    first = own_forms(plan, 7, ["n0"], {})["n0"]
    kept = {"gone": OwnForm(first.form, "76543210"), "n1": OwnForm(5, "01234567")}
    after = own_forms(plan, 7, ["n0", "n1"], kept)
    assert after["n1"] == kept["n1"]
    assert after["n0"].form != first.form


def test_the_kinds_are_those_of_many_forms() -> None:
    varies = what_varies(load_plan(UNIT))
    assert kinds_for_all(load_plan(UNIT), 7)["metabolic acidosis"] in range(3, 8)
    assert all(question.variants or question.more.get("deals") for question in varies.questions)


def test_anothers_sheet_earns_no_more_than_guessing() -> None:
    """Guessing earns 26 % in this unit: tests/benchmarks/README.md, Copying."""
    units = made()
    shares = []
    for who, mine in units.items():
        for other in PEOPLE:
            if other != who:
                shares.append(copied(units[other], mine))
    assert fmean(shares) < 0.26
    assert copied(units["n0"], units["n0"]) == 1.0


def copied(theirs: Unit, mine: Unit) -> float:
    """What somebody earns by another's answers, number by number."""
    earned = 0.0
    for exercise in mine:
        given = theirs.exercises[exercise.id]
        text = write_chart(exercise.id, given.fields, given.key)
        earned += mark(exercise, parse_chart(text, exercise.fields)).points
    return earned / sum(exercise.points for exercise in mine)
