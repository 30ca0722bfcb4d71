"""When a skill is due: the library's model, the rating of an answer, and dates that make sense."""
from __future__ import annotations

from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest
from fsrs import Card, Rating, Scheduler, State

from acidbase_lib.teaching.memory.record import Answer
from acidbase_lib.teaching.memory.remembered import Remembered
from acidbase_lib.teaching.memory.schedule import HOLDS, Held, after, rating_of

MONDAY = datetime(2026, 9, 7, 8, 0, tzinfo=UTC)


def given(right: bool, sure: str = "sure", days: float = 0, hinted: bool = False) -> Answer:
    return Answer(MONDAY + timedelta(days=days), "oxygen: x", right, sure, hinted)


@pytest.mark.parametrize(("answer", "rating"), [
    (given(True), Rating.Good), (given(True, ""), Rating.Good),
    (given(True, "not sure"), Rating.Hard), (given(True, "a guess"), Rating.Hard),
    (given(True, hinted=True), Rating.Hard), (given(False), Rating.Again),
    (given(False, "a guess"), Rating.Again)])
def test_an_answer_is_rated_by_right_hint_and_how_sure(answer: Answer, rating: Rating) -> None:
    assert rating_of(answer) == rating


def held_after(*answers: Answer) -> Held:
    held = None
    for answer in answers:
        held = after(held, answer)
    assert held is not None
    return held


def test_right_answers_spread_and_a_wrong_one_brings_it_back_soon() -> None:
    gaps = []
    answers = [given(True)]
    for _ in range(4):
        held = held_after(*answers)
        gaps.append((held.due - held.last).days)
        answers.append(given(True, days=(held.due - MONDAY).total_seconds() / 86400))
    assert gaps == sorted(gaps)
    assert gaps[0] >= 1
    assert gaps[3] > 5 * gaps[0]
    wrong = held_after(*answers, given(False, days=200))
    assert (wrong.due - wrong.last).days <= 7


def test_sure_and_wrong_is_due_within_two_days() -> None:
    held = held_after(given(False))
    assert timedelta(0) < held.due - held.last <= timedelta(days=2)


def test_a_guess_that_was_right_comes_back_sooner_than_a_sure_one() -> None:
    assert held_after(given(True, "a guess")).due < held_after(given(True)).due


def test_the_states_are_those_of_the_library_reviewed_without_a_break() -> None:
    """The library's own card, kept in memory, against ours, rebuilt from two numbers each time."""
    scheduler = Scheduler(learning_steps=(), relearning_steps=(), enable_fuzzing=False)
    card, held = Card(1, State.Learning), None
    for days, right in ((0, True), (3, True), (3.01, False), (11, True), (40, False), (47, True)):
        answer = given(right, days=days)
        card, _ = scheduler.review_card(card, rating_of(answer), answer.when)
        held = after(held, answer)
        assert (held.stability, held.difficulty) == (card.stability, card.difficulty)


def test_what_is_due_is_less_likely_remembered_than_what_is_not() -> None:
    held = held_after(given(True))
    assert held.chance(held.last) == pytest.approx(1)
    assert held.chance(held.last + timedelta(days=held.stability)) == pytest.approx(HOLDS, abs=0.02)


def test_a_clock_that_was_set_back_breaks_nothing() -> None:
    held = held_after(given(True, days=30), given(True, days=0))
    assert held.last == MONDAY + timedelta(days=30)


def test_five_days_later_the_right_skills_are_due(tmp_path: Path) -> None:
    now = MONDAY
    memory = Remembered(tmp_path, lambda: now)
    memory.keep("oxygen: missed", False, sure="sure")
    memory.keep("oxygen: guessed", True, sure="a guess")
    memory.keep("oxygen: known", True, sure="sure")
    now += timedelta(days=3)
    memory.keep("oxygen: known", True, sure="sure")
    assert memory.due(memory.held) == ["oxygen: missed", "oxygen: guessed"]
    later = Remembered(tmp_path, lambda: now + timedelta(days=2)).refresh()
    assert later.due(later.held) == ["oxygen: missed", "oxygen: guessed"]
    assert later.due(["oxygen: known"]) == []
    months = Remembered(tmp_path, lambda: now + timedelta(days=60)).refresh()
    assert set(months.due(months.held)) == set(months.held)


def test_sittings_are_told_apart_by_half_an_hour(tmp_path: Path) -> None:
    minutes = 0
    memory = Remembered(tmp_path, lambda: MONDAY + timedelta(minutes=minutes))
    for minutes in (0, 5, 20, 90, 95):  # noqa: B007 (the clock reads it)
        memory.keep("oxygen: x", True)
    lengths = [(end - begin).total_seconds() / 60 for begin, end in memory.sittings()]
    assert lengths == [20, 5]
