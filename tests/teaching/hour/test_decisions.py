"""A patient in four decisions: each marked by rule where it is asked, whatever was done before."""
from __future__ import annotations

import pytest

from acidbase_lib.reading.priority.first_action import first_action
from acidbase_lib.teaching.hour.body import minutes
from acidbase_lib.teaching.hour.case import LOOK, varied
from acidbase_lib.teaching.hour.cases import HOURS
from acidbase_lib.teaching.hour.decisions import DECISIONS, OPTIONS, draw_path
from acidbase_lib.teaching.hour.hardness import hardness
from acidbase_lib.teaching.hour.ideas import suggested, taken_by_ideas
from acidbase_lib.teaching.hour.path import after, begin, judge, offered, scene_of
from acidbase_lib.teaching.hour.screen import HourRun, end_of
from acidbase_lib.teaching.misconceptions.catalog import MISCONCEPTIONS
from acidbase_lib.teaching.questions.answer_text import parse_chart
from acidbase_lib.teaching.questions.exercise import mark
from acidbase_lib.teaching.questions.question_file import Question, UnitError
from acidbase_lib.teaching.recipes.book import RECIPES
from acidbase_lib.teaching.seeded_random import SeededRandom

each_case = pytest.mark.parametrize("case", HOURS, ids=lambda case: case.name)


def asked(name: str, seed: str = "a"):
    question = Question("q1", "an hour in decisions", 4.0, "{story}\n\n{decisions}", (),
                        {"hours": [name]})
    return RECIPES[question.recipe](question, SeededRandom(seed))


@each_case
def test_an_hour_becomes_four_decisions_with_a_key_at_each(case):
    exercise = asked(case.name)
    assert [field.name for field in exercise.fields] == [f"decision {n + 1}"
                                                         for n in range(DECISIONS)]
    assert all(3 <= len(field.choices) <= OPTIONS for field in exercise.fields)
    assert set(exercise.key) == {field.name for field in exercise.fields}
    for field in exercise.fields:
        assert exercise.prompt.count(f"**{field.name.capitalize()}, minute") == 1
        assert set(exercise.why[field.name]) == set(field.words)
        assert all(exercise.why[field.name].values())


@each_case
def test_each_decision_is_marked_at_the_state_in_which_it_is_asked(case):
    here, _ = varied(case, SeededRandom("one"))
    for one in draw_path(here, SeededRandom("walk")):
        assert one.judged == judge(here, one.moment)
        assert one.judged.first in one.steps
        assert set(one.steps) <= set(offered(here, one.moment))


def test_a_path_earns_a_point_a_decision_whatever_went_before():
    exercise = asked("an opioid")
    key = dict(exercise.key)
    first = exercise.fields[0]
    wrong = next(word for word in first.words if word != key[first.name])
    text = "\n".join(f"{name}: {word}" for name, word in (key | {first.name: wrong}).items())
    assert mark(exercise, parse_chart(text, exercise.fields)).points == DECISIONS - 1


@pytest.mark.slow
def test_what_was_done_tells_little_of_what_comes_first():
    """Of 96 steps told on sheets, about a quarter came first: as often as an even pick would."""
    done = [one.done == one.judged.first for case in HOURS[::4] for seed in range(8)
            for one in draw_path(varied(case, SeededRandom(f"{seed}"))[0],
                                 SeededRandom(f"{seed}"))]
    assert 0.1 <= sum(done) / len(done) <= 0.4


@pytest.mark.slow
@each_case
def test_no_option_tells_itself_by_the_call_beside_it(case):
    for field in asked(case.name).fields:
        assert not any("call out" in choice.text.lower() for choice in field.choices)


def test_one_seed_asks_the_same_and_another_does_not():
    assert asked("asthma", "a").prompt == asked("asthma", "a").prompt
    assert asked("asthma", "a").prompt != asked("asthma", "b").prompt


def test_a_name_that_is_no_hour_is_refused():
    with pytest.raises(UnitError, match="`hours` names one or more of: much oxygen"):
        asked("fever")


# --- ideas ----------------------------------------------------------------------------------------

def test_oxygen_taken_off_is_what_its_idea_would_do():
    case = next(one for one in HOURS if one.name == "much oxygen")
    assert taken_by_ideas(case, begin(case))["oxygen withheld"] == "off"
    assert suggested(case, begin(case), "off") == (MISCONCEPTIONS["oxygen withheld"].suggests,)


def test_an_act_on_old_numbers_is_acting_before_the_look():
    case = next(one for one in HOURS if one.name == "bleeding")
    moment = after(case, begin(case), "blood")
    assert judge(case, moment).first == LOOK
    assert "act before assess" in taken_by_ideas(case, moment)
    assert not scene_of(case, moment).reassessed


@pytest.mark.slow
@each_case
def test_no_idea_takes_what_comes_first(case):
    for one in draw_path(case, SeededRandom("x")):
        taken = taken_by_ideas(case, one.moment).values()
        assert one.judged.first not in taken
        assert set(taken) <= set(offered(case, one.moment))
    scene, options = scene_of(case, begin(case)), offered(case, begin(case)).values()
    best = first_action(scene, options).best
    assert best is not None


def test_predicted_answers_follow_the_ideas():
    exercise = asked("much oxygen")
    assert "oxygen withheld" in exercise.predicted
    for answers in exercise.predicted.values():
        assert answers != exercise.key
        assert set(answers) == set(exercise.key)


def wrong_hour(times: int) -> HourRun:
    """An hour in which the look is taken again and again, so many times, where it is not first."""
    run = HourRun("Saltmere")
    case = next(one for one in HOURS if one.name == "asthma")
    run.case, run.words = varied(case, SeededRandom("Saltmere"))
    run.moments = [begin(run.case)]
    while not run.ended:
        run.answer(LOOK if len(run.taken) < times else run.judged.first)
        run.next()
    return run


def test_the_debrief_names_an_idea_that_two_decisions_suggest_and_none_for_one():
    """A rule of the whole kit: one wrong press is a slip as often as a belief."""
    words = MISCONCEPTIONS["look again when the finding is given"].suggests
    told = words.replace("This answer fits", "they fit")
    assert any(line == f"Of 2 decisions: {told}" for line in end_of(wrong_hour(2))["why"])
    assert not any(told in line for line in end_of(wrong_hour(1))["why"])


# --- harder as one does well ----------------------------------------------------------------------

def met(seed: str, well: bool) -> list[int]:
    run, found = HourRun(seed), []
    for _ in range(4):
        found.append(hardness(run.case))
        while not run.ended:
            run.answer(run.judged.first if well else
                       next(name for name in run.choices if name != run.judged.first))
            run.next()
        run.next()
    return found


def test_hours_become_harder_for_who_does_well_and_stay_easy_for_who_does_not():
    assert met("a", well=True)[3] > met("a", well=True)[0]
    assert met("a", well=False)[3] == met("a", well=False)[0]


# --- what a clinician found -----------------------------------------------------------------------

@pytest.mark.parametrize(("hour", "wrong", "first"), [
    ("a mask that leaks", "calm", "refit"), ("a mask that leaks", "quiet", "refit"),
    ("asthma", "calm", "team"), ("an infection that has reached the circulation", "fever",
                                 "fluid")])
def test_what_calms_or_cools_has_met_no_threat(hour: str, wrong: str, first: str):
    """The leak still leaks after it: to call the team then is right without a new look."""
    case = next(one for one in HOURS if one.name == hour)
    assert judge(case, after(case, begin(case), wrong)).first == first


def test_a_blocked_airway_gets_worse_while_it_waits_and_the_team_opens_it():
    """Numbers that stand still would say that there is time: without air they fall."""
    case = next(one for one in HOURS if one.name == "a blocked tube in the neck")
    start = begin(case)
    late = after(case, after(case, start, "probe"), LOOK)
    assert late.known.spo2 < start.known.spo2 - 5
    assert late.known.ph < start.known.ph - 0.05
    assert not minutes(case.body, case.start, 40).choked


def test_a_refitted_mask_leaves_no_oxygen_above_its_target():
    case = next(one for one in HOURS if one.name == "a mask that leaks")
    seen = after(case, after(case, after(case, begin(case), "up"), "refit"), LOOK)
    assert 88 <= seen.known.spo2 <= 92
