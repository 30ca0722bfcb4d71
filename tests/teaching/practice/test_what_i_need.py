"""Practice what I need: due first, mixed, with a reason, until nothing is due."""
from __future__ import annotations

from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest

from acidbase_lib.teaching.memory.record import FILE
from acidbase_lib.teaching.memory.remembered import Remembered
from acidbase_lib.teaching.practice.bedside import SceneRun
from acidbase_lib.teaching.practice.endless import PatientRun
from acidbase_lib.teaching.practice.needed import NEW_A_SITTING, TRIES, Sitting
from acidbase_lib.teaching.practice.skills import TAUGHT_IN, kinds_of, open_skills, split
from acidbase_lib.teaching.practice.topics import TOPICS
from acidbase_lib.teaching.practice.what_i_need import NeededPractice
from acidbase_lib.teaching.practice.whole_gas import WholeGasRun

MONDAY = datetime(2026, 9, 7, 8, 0, tzinfo=UTC)
UNIT_2 = open_skills(["01", "02"])


class Clock:
    """Tells a time that a test moves."""

    def __init__(self) -> None:
        self.time = MONDAY

    def __call__(self) -> datetime:
        self.time += timedelta(seconds=30)
        return self.time


@pytest.fixture
def clock() -> Clock:
    return Clock()


@pytest.fixture
def memory(tmp_path: Path, clock: Clock) -> Remembered:
    return Remembered(tmp_path, clock)


def answered(screen: NeededPractice, right: bool) -> None:
    run = screen.run
    if isinstance(run, WholeGasRun):
        lines = dict(run.keys)
        if not right:
            lines["pH"] = "low" if lines["pH"] != "low" else "high"
        given = {"lines": lines}
    else:
        given = {"choice": next(c for c in run.choices if (c == run.key) is right)}
    screen._heard(screen, {"want": "answer", "sure": "sure", **given}, [])
    screen._heard(screen, {"want": "next"}, [])


def test_every_topic_of_practice_has_its_kinds_and_its_unit() -> None:
    assert set(TOPICS) < set(TAUGHT_IN)
    skills = open_skills(TAUGHT_IN.values())
    assert len(skills) == len(set(skills)) == sum(len(kinds_of(topic)) for topic in TAUGHT_IN)
    assert all(split(skill)[1] for skill in skills)
    assert split("oxygen: sorcery") == ("oxygen", "")


def test_only_what_was_begun_or_practiced_is_asked() -> None:
    assert {split(skill)[0] for skill in UNIT_2} == {"in range or not", "primary disorder"}
    assert {split(skill)[0] for skill in open_skills([], ["causes: respiratory acidosis", "x: y"])
            } == {"causes"}
    assert open_skills([]) == ()


@pytest.mark.parametrize("topic", list(TAUGHT_IN))
def test_each_kind_that_is_asked_for_comes(topic: str) -> None:
    run = (SceneRun("s") if topic == "clinical priority" else WholeGasRun("s") if
           topic == "the whole gas" else PatientRun(TOPICS[topic], "s"))
    for kind in kinds_of(topic):
        assert run.next_about(kind), kind
        assert run.kind == kind
        assert run.step == 0


def test_who_is_new_meets_a_few_kinds_and_is_told_when_to_come_back(memory: Remembered) -> None:
    screen = NeededPractice(memory, open_skills(["01", "02", "03", "04"]), "s")
    for number in range(NEW_A_SITTING):
        assert not screen.view.get("ended"), number
        assert screen.view["why_now"] == "Why this now: You have not practiced this kind yet."
        answered(screen, right=True)
    assert screen.view["ended"]
    said = " ".join(screen.view["notes"])
    assert said.startswith(f"So far: {NEW_A_SITTING} cases, {NEW_A_SITTING} right. Come back on ")
    assert "kinds are new to you" in said
    assert len(memory.held) == NEW_A_SITTING


def test_topics_take_turns(memory: Remembered) -> None:
    sitting = Sitting(memory, UNIT_2)
    topics = [split(need.skill)[0] for _ in range(6) if (need := sitting.choose())]
    assert topics == ["in range or not", "primary disorder"] * 3


def test_what_was_not_met_for_longest_comes_first_and_the_reason_gives_no_answer_away(
        memory: Remembered, clock: Clock) -> None:
    memory.keep(UNIT_2[4], False, sure="sure")
    memory.keep(UNIT_2[0], True, sure="sure")
    clock.time += timedelta(days=8)
    sitting = Sitting(memory, UNIT_2)
    first, new, second = sitting.choose(), sitting.choose(), sitting.choose()
    assert new is not None
    assert new.skill not in memory.held, "a new kind takes turns with those due"
    assert first is not None
    assert second is not None
    assert [first.skill, second.skill] == [UNIT_2[4], UNIT_2[0]]
    assert first.why == ("Why this now: Primary disorder is due: you last met this kind 8 days "
                         "ago.")
    assert split(first.skill)[1] not in first.why


def test_what_was_missed_comes_once_more_at_the_end_as_another_patient(
        memory: Remembered) -> None:
    screen = NeededPractice(memory, UNIT_2, "s")
    kind, story = screen.run.kind, screen.run.story_of(screen.run.case)
    answered(screen, right=False)
    for _ in UNIT_2[1:]:
        assert "You missed" not in screen.view["why_now"]
        answered(screen, right=True)
    assert "You missed a patient of this kind in this sitting." in screen.view["why_now"]
    assert screen.run.kind == kind
    assert screen.run.story_of(screen.run.case) != story


def test_who_is_always_wrong_is_let_go(memory: Remembered) -> None:
    screen = NeededPractice(memory, UNIT_2, "s")
    count = 0
    while not screen.view.get("ended"):
        answered(screen, right=False)
        count += 1
    assert count == TRIES * len(UNIT_2)


def test_closed_and_come_back_five_days_later(tmp_path: Path, clock: Clock) -> None:
    """What was missed is due, what was known is not yet, and a new kernel knows it."""
    screen = NeededPractice(Remembered(tmp_path, clock), UNIT_2, "s")
    missed = f"{screen.run.name}: {screen.run.kind}"
    answered(screen, right=False)
    while not screen.view.get("ended"):
        answered(screen, right=True)
    clock.time += timedelta(days=5)
    again = NeededPractice(Remembered(tmp_path, clock), UNIT_2, "t")
    asked = []
    while not again.view.get("ended"):
        assert "is due" in again.view["why_now"]
        asked.append(f"{again.run.name}: {again.run.kind}")
        answered(again, right=True)
    assert missed in asked
    assert "Nothing is due now." in again.view["title"]


def test_nothing_is_open_before_a_unit_was_begun(memory: Remembered, tmp_path: Path) -> None:
    screen = NeededPractice(memory, ())
    assert screen.view["ended"]
    assert "Answer a question in a unit first" in " ".join(screen.view["notes"])
    screen._heard(screen, {"want": "next"}, [])
    screen._heard(screen, {"want": "answer", "choice": "respiratory acidosis"}, [])
    assert not (tmp_path / FILE).exists()


def test_it_goes_on_at_the_step_that_was_reached(tmp_path: Path, clock: Clock) -> None:
    memory = Remembered(tmp_path, clock)
    memory.keep("primary disorder: respiratory acidosis", True, step=2)
    clock.time += timedelta(days=30)
    screen = NeededPractice(memory, ["primary disorder: respiratory acidosis"], "s")
    assert screen.run.step == 2


def test_whoever_wants_more_goes_on_with_what_is_weakest(memory: Remembered) -> None:
    screen = NeededPractice(memory, UNIT_2, "s")
    while not screen.view.get("ended"):
        answered(screen, right=True)
    assert screen.view["next"] == "Go on anyway"
    screen._heard(screen, {"want": "next"}, [])
    kinds = []
    for _ in range(10):
        assert "least firmly" in screen.view["why_now"]
        kinds.append(f"{screen.run.name}: {screen.run.kind}")
        answered(screen, right=True)
    assert all(kinds[place] not in kinds[max(0, place - 3):place] for place in range(10))
