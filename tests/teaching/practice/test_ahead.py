"""Cases drawn ahead: each key is the library's own reading, and each answer has its reasons."""
from __future__ import annotations

import re
from functools import cache

import pytest

from acidbase_lib.reading.blood_gas import BloodGas
from acidbase_lib.teaching.misconceptions.catalog import SOUND
from acidbase_lib.teaching.practice.ahead import NAMES, TopicAhead, drawn_ahead
from acidbase_lib.teaching.practice.bedside import CLINICAL_PRIORITY
from acidbase_lib.teaching.practice.topics import TOPICS

ahead = cache(drawn_ahead)
FIELDS = {"pH": "ph", "PaCO2": "paco2", "bicarbonate": "hco3", "PaO2": "pao2",
          "inspired oxygen": "fio2", "sodium": "sodium", "chloride": "chloride",
          "potassium": "potassium"}


def few(name: str) -> TopicAhead:
    return ahead(name, 3)


@pytest.mark.parametrize("name", [name for name in TOPICS if name != "in range or not"])
def test_the_key_is_the_librarys_reading_of_the_gas_as_the_screen_shows_it(name: str):
    """Read back from the shown table alone: what the learner sees carries the key."""
    topic = TOPICS[name]
    for case in few(name).cases:
        shown = {FIELDS[number]: float(re.match(r"[\d.]+", result)[0])
                 for number, result, *_ in case.before["rows"]}
        if "fio2" in shown:
            shown["fio2"] /= 100
        shown["age"] = int(re.search(r", (\d+), ", case.before["patient"])[1])
        assert topic.believe(SOUND.read(BloodGas(**shown))) == case.key, case.before


@pytest.mark.slow
@pytest.mark.parametrize("name", NAMES)
def test_before_an_answer_nothing_is_told_and_after_it_all_is(name: str):
    for case in few(name).cases:
        assert not case.before["answered"]
        assert (case.before["verdict"], case.before["why"], case.before["notes"]) == ("", [], [])
        assert case.key in case.after
        for choice, view in case.after.items():
            assert view["chosen"] == choice
            assert view["why"]
            assert bool(view["notes"]) == (choice != case.key)
            assert view["verdict"].startswith("Right: " if choice == case.key else "Not this time.")


@pytest.mark.slow
@pytest.mark.parametrize("name", NAMES)
def test_every_wish_of_every_step_has_as_many_cases_as_asked_for(name: str):
    topic = few(name)
    counts = {(step, wish): 0 for step, wishes in enumerate(topic.missed)
              for wish in range(len(wishes))}
    for case in topic.cases:
        counts[case.step, case.wish] += 1
    assert set(counts.values()) == {3}


@pytest.mark.slow
def test_a_wish_tells_each_history_once_before_one_again():
    for wish in range(4):
        stories = [case.story for case in ahead("primary disorder", 8).cases
                   if (case.step, case.wish) == (1, wish)]
        again = next((at for at, story in enumerate(stories) if story in stories[:at]), 8)
        assert again >= 3
        assert len(set(stories[:again])) == again == len(set(stories))


def test_the_same_cases_in_every_build():
    assert drawn_ahead("oxygen", 2) == drawn_ahead("oxygen", 2)


def test_a_step_says_of_which_step_a_scene_is_that_wandered_in():
    says = few(CLINICAL_PRIORITY).says
    assert says[0][0].startswith("Step 1 of ")
    assert "This one is of step 2." in says[0][1]


def test_bad_input_names_what_there_is():
    with pytest.raises(ValueError, match=r"no practice on 'ph'\. There is: primary disorder"):
        drawn_ahead("ph", 3)
    with pytest.raises(ValueError, match="At least 1 case of each kind is drawn, not 0"):
        drawn_ahead("oxygen", 0)
