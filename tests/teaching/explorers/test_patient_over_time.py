"""The patient over time: numbers follow from the breathing, directions follow the sources."""
from __future__ import annotations

import re
from itertools import product
from math import log

import pytest
from for_each import for_each

from acidbase_lib.physiology.henderson_hasselbalch import hco3_of
from acidbase_lib.physiology.oxygen_carriage import sao2_severinghaus1979
from acidbase_lib.teaching.explorers.explorer_patient import (
    PatientExplorer,
    explore_patient,
    view,
)
from acidbase_lib.teaching.explorers.figures_patient import patient_figure
from acidbase_lib.teaching.explorers.patient_cases import ASTHMATIC, COURSES, RETAINER
from acidbase_lib.teaching.explorers.patient_course import (
    CO2_FACTOR,
    CO2_STORES,
    TREATED,
    Course,
    CourseNumbers,
    follow,
    numbers,
)
from acidbase_lib.teaching.pictures.bedside import the_tired_patient
from acidbase_lib.teaching.questions.question_file import load_plan

PATHS = [path for size in range(4) for path in product(range(3), repeat=size)]


def at(course: Course, *path: int) -> CourseNumbers:
    return numbers(course.body, follow(course, path)[-1])


def test_the_factor_is_arithmetic():
    """A gas at 0 °C, dry, 760 mmHg, brought to 37 °C: 760 · 310 / 273 / 1000."""
    assert pytest.approx(760 * 310 / 273 / 1000, abs=0.001) == CO2_FACTOR


def test_mrs_quill_has_the_gas_of_unit_02():
    start = at(RETAINER)
    assert (start.ph, start.paco2, start.hco3, start.spo2) == (7.29, 62, 29, 79)


@for_each(product(COURSES, PATHS), named=lambda case: f"{case[0].name} {case[1]}")
def test_every_gas_along_every_path_can_exist(course: Course, path: tuple[int, ...]):
    seen = at(course, *path)
    low, high = hco3_of(seen.ph - .005, seen.paco2 - .5), hco3_of(seen.ph + .005, seen.paco2 + .5)
    assert low - 0.5 <= seen.hco3 <= high + 0.5
    assert abs(sao2_severinghaus1979(seen.pao2) - seen.spo2) <= 1.5
    assert 7.0 <= seen.ph <= 7.6
    assert 20 <= seen.paco2 <= 110
    assert 6 <= seen.rate <= 40


def test_full_oxygen_raises_co2_in_a_retainer_by_about_what_aubier_saw():
    """Aubier 1980: PaCO2 rose by 23 mmHg, standard error 5, on pure oxygen."""
    rise = at(RETAINER, 1).paco2 - at(RETAINER).paco2
    assert 13 <= rise <= 33
    assert at(RETAINER, 1).spo2 >= 98


def test_full_oxygen_does_not_clear_co2_in_asthma():
    assert at(ASTHMATIC, 1, 2).paco2 >= at(ASTHMATIC, 1).paco2


def test_titrated_oxygen_reaches_its_target_and_none_leaves_her_low():
    low, high = RETAINER.body.target
    assert low <= at(RETAINER, 0).spo2 <= high
    assert at(RETAINER, 2).spo2 < 79


def test_oxygen_taken_off_at_once_falls_below_where_it_began():
    """BTS 2017 warns of rebound hypoxemia."""
    assert at(RETAINER, 1, 2).spo2 < at(RETAINER).spo2


def test_co2_leaves_slowly_once_oxygen_is_off_as_the_question_says():
    """Farhi and Rahn 1955: stores of 1.5 mL/mmHg/kg. At 2.2 L/min: 0.863 · 105 / 2.2 = 41 min."""
    (slow,) = (q for q in load_plan("07_clinical_priority").questions if "CO2 leaves only slowly"
               in str(dict(q.more)))
    assert slow.id == "q7-3"
    high, later, start = at(RETAINER, 1).paco2, at(RETAINER, 1, 2).paco2, at(RETAINER).paco2
    assert start < later < high
    assert high - later < 0.5 * (high - start), "not half of it in 20 minutes"


def test_half_of_a_change_takes_about_what_farhi_and_rahn_saw_in_their_dogs():
    """Their dogs: half in 4 minutes, as a dog of 20 kg does that breathes 4.5 L/min usefully."""
    tau = CO2_FACTOR * CO2_STORES * 20 / 4.5
    assert tau * log(2) == pytest.approx(4.0, abs=0.3)


def test_the_same_body_stands_in_the_chart_and_in_the_simulator():
    told = the_tired_patient("t").sentence
    waits = [at(ASTHMATIC, *(1,) * n) for n in range(2)]
    assert f"goes from {waits[0].paco2:g} at 6:00 to {waits[1].paco2:g} mmHg at 7:00" in told
    assert {f"breathes {seen.rate} times a minute all the time" in told for seen in waits} == {True}


def test_a_tiring_asthmatic_passes_through_a_normal_paco2():
    waits = [at(ASTHMATIC, *(1,) * n) for n in range(3)]
    assert waits[0].paco2 < 35 <= waits[1].paco2 <= 45 < waits[2].paco2
    assert waits[1].effort == "very tired"
    assert at(ASTHMATIC, 0, 0).effort != "very tired"


def test_a_step_back_leads_where_it_came_from():
    shown = explore_patient()
    first = shown.shown
    shown.turn = {"case": 0, "path": [1]}
    assert shown.shown["sentence"] != first["sentence"]
    shown.turn = {"case": 0, "path": []}
    assert shown.shown == first


@pytest.mark.parametrize("turn", [{}, {"case": 9, "path": [7]}, {"case": None, "path": "x"},
                                  {"case": 0, "path": [0, 0, 0, 0, 0]}])
def test_whatever_a_page_asks_for_a_case_is_shown(turn: dict):
    shown = PatientExplorer()
    shown.turn = turn
    assert shown.shown["path"] == ([0, 0, 0] if turn.get("path") == [0] * 5 else [])


def test_there_are_three_choices_at_each_point_and_the_end_says_so():
    shown = explore_patient()
    for step in range(3):
        assert len(shown.shown["choices"]) == 3
        shown.turn = {"case": 1, "path": [0] * (step + 1)}
    assert shown.shown["choices"] == []
    assert "ends here" in shown.shown["asks"]


@pytest.mark.parametrize("course", COURSES, ids=lambda c: c.name)
def test_the_picture_says_what_it_shows(course: Course):
    figure = patient_figure(course, follow(course, (1, 1)), uid="t")
    assert 'role="img"' in figure.svg
    assert "aria-labelledby" in figure.svg
    for number in ("SpO2", "PaCO2", "pH", "target", "breaths a minute"):
        assert number in figure.sentence
    assert not re.search(r"nan|inf", figure.svg)


def test_it_says_what_is_made_up_and_what_it_is_for():
    shown = explore_patient().shown
    assert "made up for teaching" in shown["how"]
    assert "not for care" in shown["caution"]


@for_each(product(COURSES, PATHS), named=lambda case: f"{case[0].name} {case[1]}")
def test_what_is_seen_of_a_patient_does_not_contradict_itself(course: Course,
                                                              path: tuple[int, ...]):
    seen = at(course, *path)
    if seen.effort in {"working hard", "with less effort, in whole sentences"}:
        assert seen.mind != "hard to wake"
        assert seen.rate > 12
    assert seen.effort != "with less effort, in whole sentences" or seen.mind == "awake"


@for_each(product(COURSES, PATHS), named=lambda case: f"{case[0].name} {case[1]}")
def test_who_is_better_for_a_treatment_may_go_on_with_it(course: Course, path: tuple[int, ...]):
    eased = follow(course, path)[-1].eased
    choices = view(COURSES, course, path, "p")["choices"]
    if not path or not choices:
        return
    can = any(re.search(r"go on with the|prescribed treatment", label, re.I) for label in choices)
    assert can or eased < TREATED, choices


@for_each(product(COURSES, PATHS), named=lambda case: f"{case[0].name} {case[1]}")
def test_no_choice_expects_what_has_happened_already(course: Course, path: tuple[int, ...]):
    """ "Because CO2 may rise" makes no sense where it has risen."""
    assert not any("may rise" in label for label in view(COURSES, course, path, "p")["choices"])


@for_each(product(COURSES, PATHS), named=lambda case: f"{case[0].name} {case[1]}")
def test_oxygen_that_is_set_by_the_target_meets_it(course: Course, path: tuple[int, ...]):
    if path and "by the target" in view(COURSES, course, path, "p")["taken"][-1]["says"]:
        low, high = course.body.target
        assert low <= at(course, *path).spo2 <= high


@for_each(product(COURSES, PATHS), named=lambda case: f"{case[0].name} {case[1]}")
def test_a_choice_is_offered_only_where_it_can_be_done(course: Course, path: tuple[int, ...]):
    """Nothing is taken off, or turned up, where none is given; nor turned up to where it stands."""
    device = follow(course, path)[-1].device
    offered = view(COURSES, course, path, "p")["choices"]
    assert len(set(offered)) == (3 if len(path) < 3 else 0)
    for label in offered:
        assert device != "room air" or not re.search(r"oxygen (?:off|up)", label)
        assert "15 L/min" not in device or not re.search(r"(?:up to|Start .*) 15 L/min", label)
    taken = [step["label"] for step in view(COURSES, course, path, "p")["taken"]]
    assert taken == [view(COURSES, course, path[:place], "p")["choices"][choice]
                     for place, choice in enumerate(path)]
