"""The sitting as it is dealt: its scenes ask what the goals promise, and no story comes twice."""
from __future__ import annotations

import re
from collections import Counter
from collections.abc import Mapping
from functools import cache
from itertools import pairwise
from typing import Any

import pytest
from lessons import LESSONS, source

from acidbase_lib.classroom.notebooks.write_questions import opening_of
from acidbase_lib.teaching.lesson.twin_patients import scene_of
from acidbase_lib.teaching.questions.exercise import Exercise
from acidbase_lib.teaching.unit import Unit, open_unit

pytestmark = pytest.mark.slow

LOOKS_OR_ACTS = ("q8-19", "q8-24")  # goal: decide whether to look or to act
TIRED = ("q8-21", "q8-30")  # goal: spot the tired patient behind a normal PaCO2
JUDGED = ("q8-19", "q8-20", "q8-21", "q8-23", "q8-24", "q8-30")
NEW_DIABETES = "has lost weight and"  # how a diabetes that nobody knew of begins


@cache
def sitting() -> Unit:
    lesson = next(one for one in LESSONS if one.path.stem == "08_sitting")
    opened = next(found for cell in lesson.cells if (found := opening_of(source(cell))))
    return open_unit(*opened[:3])


def asked(question: str) -> Exercise:
    return sitting().exercise(question)


@cache
def scene(question: str) -> Mapping[str, Any]:
    found = next(one for one in sitting().plan.questions if one.id == question)
    place = scene_of(found, asked(question))
    assert place is not None
    return found.more["scenes"][place]  # type: ignore[no-any-return]


def kind_of_the_first(question: str) -> str:
    """What sort of act comes first: "assess", "call for help" and so on."""
    exercise = asked(question)
    field = exercise.fields[0]
    assert exercise.key is not None
    nickname = next(choice.nickname for choice in field.choices
                    if choice.word == exercise.key[field.name])
    return str(scene(question)["kinds"][nickname]["kind"])


def test_one_scene_asks_for_a_look_and_one_for_an_act():
    assert {kind_of_the_first(question) == "assess" for question in LOOKS_OR_ACTS} == {True, False}


def test_one_tired_patient_has_a_normal_paco2():
    gases = [scene(question)["gives"] for question in TIRED]
    tired = [one for one in gases if one.get("effort") == "tiring"
             and 35 <= one["gas"]["paco2"] <= 45]
    assert len(tired) == 1  # a second one would ask the same twice


def test_an_attack_of_asthma_is_told_once():
    """A call about it would give away what comes first in it."""
    assert sum("asthma" in asked(question).prompt for question in JUDGED) == 1


def test_an_unknown_diabetes_is_told_once():
    assert sum(NEW_DIABETES in exercise.prompt for exercise in sitting()) == 1


def test_no_letter_gives_the_answer_away():
    letters = Counter(word for exercise in sitting() for word in (exercise.key or {}).values()
                      if isinstance(word, str) and re.fullmatch("[A-E]", word))
    assert set("ABCD") <= set(letters)
    assert max(letters.values()) <= 4


def test_true_and_false_do_not_take_turns():
    key = asked("q8-25").key
    assert key is not None
    told = list(key.values())
    assert any(one == other for one, other in pairwise(told))
    assert 3 <= told.count("true") <= 4


def test_other_scenes_make_the_sitting_no_longer():
    """Its prompts have about 3,050 words, for 75 to 90 minutes."""
    assert 2_950 <= sum(len(one.prompt.split()) for one in sitting()) <= 3_150
