"""Histories of Harbor Lane Hospital: respectful, readable, and silent about the answer."""
from __future__ import annotations

import re
from collections import Counter

import pytest
from for_each import for_each

from acidbase_lib.teaching.patients.case_types import CASE_TYPES
from acidbase_lib.teaching.patients.people import Person, draw_person
from acidbase_lib.teaching.patients.story_check import ANSWER, ORDERS, TRAITS
from acidbase_lib.teaching.patients.vignettes import ONSETS, fitting, practice_vignettes, vignettes
from acidbase_lib.teaching.seeded_random import SeededRandom

EVERY = [v for group in vignettes().values() for v in group] + list(practice_vignettes())
BY_ID = for_each(EVERY, named=lambda v: v.id)

IRREGULAR = frozenset((
    "took", "fell", "came", "felt", "got", "went", "had", "kept", "drank", "threw", "brought",
    "ate", "lost", "woke", "slept", "left", "grew", "gave", "sat", "could", "cannot"))


def _told(vignette, pronouns="she"):
    return vignette.told_of(Person("Ada", "Quill", pronouns, 50))


def test_every_group_has_at_least_eight_histories():
    assert {g: len(v) for g, v in vignettes().items() if len(v) < 8} == {}


@pytest.mark.parametrize(
    "plan", CASE_TYPES, ids=lambda p: f"{p.disorder}-{p.compensation}-{p.group}"
)
def test_every_kind_of_patient_can_meet_eight_histories(plan):
    """Disorder by compensation by time course, over the severities the plan offers."""
    able = {v.id for severity in plan.drivers for v in fitting(plan.group, severity, plan.chronic)}
    assert len(able) >= 8


def test_ids_are_unique():
    assert [i for i, n in Counter(v.id for v in EVERY).items() if n > 1] == []


@BY_ID
def test_a_history_never_holds_the_answer(vignette):
    assert ANSWER.findall(_told(vignette)) == []


@BY_ID
def test_a_history_never_orders_oxygen_or_a_drug(vignette):
    assert ORDERS.findall(_told(vignette)) == []


@BY_ID
def test_a_history_names_no_sex_origin_or_body_and_no_blame(vignette):
    assert TRAITS.findall(vignette.text.format_map(_Blank())) == []


@BY_ID
def test_a_history_reads_well_with_every_pronoun(vignette):
    """After {They}: {was}, {is}, {has}, "could" or a past tense, which fit he, she and they."""
    for word in re.findall(r"\{[Tt]hey\} (?:\{(?:was|is|has)\}|([a-z]+))", vignette.text):
        assert not word or word.endswith("ed") or word in IRREGULAR, word
    assert not re.search(r"\{first\} \{(was|is|has)\}", vignette.text)  # "Chidi are calm"
    for pronouns in ("he", "she", "they"):
        told = _told(vignette, pronouns)
        assert "{" not in told
        assert not re.search(r"\b[Tt]hey (?:was|is|has)\b|\b[Ss]?[Hh]e (?:were|are|have)\b", told)
        others = {"he": r"\b(she|her|hers)\b", "she": r"\b(he|him|his)\b", "they": r"\b(he|she)\b"}
        assert re.findall(others[pronouns], told, re.I) == []


@BY_ID
def test_a_history_is_short_and_easy(vignette):
    """Flesch-Kincaid grade at most 9, by the textstat library; three or four sentences."""
    textstat = pytest.importorskip("textstat")
    told = _told(vignette)
    assert textstat.flesch_kincaid_grade(told) <= 9, told
    assert 25 <= len(told.split()) <= 60, told


@BY_ID
def test_a_history_is_about_an_adult_in_a_ward_of_the_house(vignette):
    assert 18 <= vignette.age[0] < vignette.age[1] <= 90
    assert vignette.onset in ONSETS
    assert set(vignette.mind) <= set("ACVPU")
    assert vignette.ward.startswith("the ")
    assert not ANSWER.search(vignette.ward)


@BY_ID
def test_the_cause_is_told_to_the_teacher_only(vignette):
    assert vignette.cause not in _told(vignette)
    assert vignette.history_says.endswith(".")


def test_pronouns_are_dealt_by_chance_alone():
    """Over 4,000 draws: he and she within chance of 45 in 100, they of 10 (4 sigma)."""
    seen = Counter(draw_person(SeededRandom(i), (30, 60)).pronouns for i in range(4000))
    assert abs(seen["he"] - 1800) < 126
    assert abs(seen["she"] - 1800) < 126
    assert abs(seen["they"] - 400) < 76


def test_names_come_from_many_places_and_repeat_seldom():
    names = [draw_person(SeededRandom(i), (30, 60)).name for i in range(300)]
    assert len(set(names)) > 260
    assert all(n.replace("-", "").replace(" ", "").isalpha() for n in names)


class _Blank(dict[str, str]):
    def __missing__(self, key: str) -> str:
        return "x"
