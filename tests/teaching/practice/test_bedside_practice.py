"""Practice at the bedside: what comes first is computed, and every scene has one answer."""
from __future__ import annotations

from functools import partial

import pytest

from acidbase_lib.reading.priority.first_action import first_action
from acidbase_lib.teaching.misconceptions.catalog import MISCONCEPTIONS
from acidbase_lib.teaching.practice.bedside import (
    ScenePractice,
    SceneRun,
    _steps,
    draw_scene,
    view_of,
)
from acidbase_lib.teaching.practice.endless import Practice
from acidbase_lib.teaching.practice.topics import TOPICS
from acidbase_lib.teaching.seeded_random import SeededRandom
from acidbase_lib.teaching.unit import open_unit

SCENES = [scene for step in _steps() for scene in step["scene"]]


@pytest.mark.parametrize("row", SCENES, ids=lambda row: row["id"])
def test_one_option_comes_first_whatever_is_drawn(row: dict):
    keys = set()
    for seed in range(25):
        drawn = draw_scene(row, SeededRandom(f"seed {seed}"))
        assert drawn.found.best is not None, drawn.found.undecided
        assert first_action(drawn.scene, drawn.options.values()) == drawn.found
        assert "{" not in drawn.text
        keys.add(drawn.key)
    assert len(keys) == 1


@pytest.mark.parametrize("practice", [ScenePractice, *(partial(Practice, one) for one in TOPICS)])
def test_the_button_names_what_the_title_names(practice):
    view = practice(seed="a title").view
    assert view["next"] == f"Next {view['title'].split()[0].lower()}"


def test_every_idea_of_the_bedside_can_be_met():
    met = set()
    for row in SCENES:
        drawn = draw_scene(row, SeededRandom("a scene"))
        options = tuple(drawn.options.values())
        met |= {idea for idea, one in MISCONCEPTIONS.items()
                if one.choice and one.choose(drawn.scene, options) not in (None, drawn.found.best)}
    assert met == {idea for idea, one in MISCONCEPTIONS.items() if one.choice}


def test_three_right_answers_bring_the_next_step_and_two_wrong_ones_the_one_before():
    at = SceneRun("Saltmere")
    for _ in range(3):
        assert at.answer(at.case.key)
        at.next()
    assert at.step == 1
    for _ in range(2):
        assert not at.answer(next(word for word in at.case.options if word != at.case.key))
        at.next()
    assert at.step == 0


def test_a_wrong_answer_is_told_why_and_with_a_source():
    at = SceneRun("Saltmere")
    at.answer(next(word for word in at.case.options if word != at.case.key))
    shown = view_of(at)
    assert shown["verdict"].startswith("Not this time.")
    assert shown["notes"][0].startswith("Why it does not come first:")
    assert any(line.startswith("Source:") for line in shown["why"])
    assert "not for care" in shown["caution"]


def test_an_answer_counts_once_and_must_be_offered():
    at = SceneRun("Saltmere")
    at.answer(at.case.key)
    at.answer(next(word for word in at.case.options if word != at.case.key))
    assert (at.right.total(), at.wrong.total()) == (1, 0)
    with pytest.raises(ValueError, match="not offered"):
        at.answer("fly")


def test_a_unit_opens_it_by_its_topic():
    assert isinstance(open_unit("07_clinical_priority").practice(), ScenePractice)
    assert isinstance(open_unit("02_primary_disorder").practice("clinical priority"), ScenePractice)


def test_the_screen_takes_messages_and_ignores_what_it_does_not_know():
    screen = ScenePractice("Saltmere")
    screen._heard(screen, {"want": "answer", "choice": "fly"}, None)
    assert not screen.view["answered"]
    screen._heard(screen, {"want": "answer", "choice": screen.run.case.key}, None)
    assert screen.view["verdict"].startswith("Right:")
    screen._heard(screen, {"want": "next"}, None)
    assert screen.view["title"] == "Scene 2"


@pytest.mark.parametrize("scene", SCENES, ids=lambda row: row["id"])
def test_one_press_in_a_scene_names_no_idea_and_says_why_it_is_not_first(scene):
    at = SceneRun("Saltmere")
    at.case = draw_scene(scene, SeededRandom("a scene"))
    word = next(word for word in at.case.options if word != at.case.key)
    assert not at.answer(word)
    assert view_of(at)["notes"] == [f"Why it does not come first: {at.case.why[word]}"]
