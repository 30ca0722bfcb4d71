"""Practice tells no story again before all of its step have been told: 60 drawn of each topic."""
from __future__ import annotations

from collections import Counter
from contextlib import suppress
from functools import cache
from itertools import product

import pytest

from acidbase_lib.teaching.patients.cases import draw_case
from acidbase_lib.teaching.patients.requests import CaseRequestError
from acidbase_lib.teaching.patients.vignettes import Vignette, practice_vignettes, vignettes
from acidbase_lib.teaching.practice.bedside import SceneRun, _scenes, view_of
from acidbase_lib.teaching.practice.endless import PatientRun
from acidbase_lib.teaching.practice.run import Run
from acidbase_lib.teaching.practice.topics import TOPICS

DRAWN = 60
APART = 4  # other stories at least between two times of one, wherever a step has that many
PRACTICES = (*TOPICS, "clinical priority")
LEAST = {"oxygen": 40, "clinical priority": 60, "causes": 38}  # there are few of these


def begin(name: str, seed: str) -> Run:  # type: ignore[type-arg]
    return SceneRun(seed) if name == "clinical priority" else PatientRun(TOPICS[name], seed)


@cache
def told(name: str, seed: str, right: bool) -> tuple[str, ...]:
    """The stories that somebody meets who is always right, or always wrong."""
    run, stories = begin(name, seed), []
    for _ in range(DRAWN):
        stories.append(run.story_of(run.case))
        run.answer(next(c for c in run.choices if (c == run.key) is right))
        run.next()
    return tuple(stories)


def first_repeat(stories: tuple[str, ...]) -> int:
    return next((place for place, story in enumerate(stories) if story in stories[:place]),
                len(stories))


@pytest.mark.slow
@pytest.mark.parametrize("name", PRACTICES)
@pytest.mark.parametrize("seed", ["Saltmere", "Harbor Lane"])
def test_all_stories_of_a_step_come_before_one_comes_again(name: str, seed: str):
    """Who is always wrong stays at the first step, so its stories are all there are."""
    stories = told(name, seed, right=False)
    assert first_repeat(stories) == len(set(stories)) >= LEAST.get(name, 20)


@pytest.mark.parametrize("name", PRACTICES)
def test_after_a_round_all_come_again_as_often_as_each_other(name: str):
    stories = told(name, "Saltmere", right=False)
    size = len(set(stories))
    times = Counter(stories[:DRAWN - DRAWN % size])
    assert set(times.values()) == {DRAWN // size}


@pytest.mark.slow
@pytest.mark.parametrize("name", PRACTICES)
@pytest.mark.parametrize("right", [True, False])
def test_nothing_comes_again_soon(name: str, right: bool):
    stories = told(name, "Saltmere", right)
    for place, story in enumerate(stories):
        assert story not in stories[max(0, place - APART):place]


@pytest.mark.slow
@pytest.mark.parametrize("name", PRACTICES)
def test_who_goes_up_the_steps_meets_new_stories_too(name: str):
    assert first_repeat(told(name, "Saltmere", right=True)) >= min(30, LEAST.get(name, 30))


@pytest.mark.slow
def test_a_scene_of_another_step_says_so():
    run = SceneRun("Saltmere")
    for _ in _scenes(0):
        assert "You have seen all its scenes" not in view_of(run)["step"]
        run.next()
    assert view_of(run)["step"].startswith(
        "Step 1 of 4. You have seen all its scenes. This one is of step 2. ")


@pytest.mark.parametrize("name", PRACTICES)
def test_the_same_seed_tells_the_same_stories(name: str):
    runs = [begin(name, "Saltmere") for _ in range(2)]
    for _ in range(5):
        assert len({run.story_of(run.case) for run in runs}) == 1
        for run in runs:
            run.next()


@pytest.mark.parametrize("story", practice_vignettes(), ids=lambda one: one.id)
def test_a_history_for_practice_alone_brings_the_gap_that_it_tells(story: Vignette):
    others = {one.id for rows in vignettes().values() for one in rows}
    cases = []
    for severity, seed in product(story.severity, range(8)):
        with suppress(CaseRequestError):  # no numbers of this kind were found for it this time
            cases.append(draw_case("metabolic acidosis", "partially compensated", severity,
                                   electrolytes=True, seed=seed, avoid=others, also=(story,)))
    assert cases
    for case in cases:
        assert case.story == story.id
        gap = case.reading.anion_gap
        assert gap is not None
        assert (gap.used > 16) == (story.gap == "high"), gap
