"""A quick cut of the benchmark's figures: planted ideas on items chosen from the units' own."""
from __future__ import annotations

import sys
from pathlib import Path

import pytest

sys.path.insert(0, str(Path(__file__).parents[2]))  # `tests` is found however pytest is started

from tests.benchmarks.diagnosis import Figures, measure
from tests.benchmarks.planted import Asked, at_random, chosen_by_exchange, pool


@pytest.fixture(scope="module")
def figures() -> tuple[Figures, Figures]:
    """Of a chosen sitting, and of as many items drawn blindly."""
    items = pool()
    return (measure(Asked.of(chosen_by_exchange(items)), 4),
            measure(Asked.of(at_random(items, 1)), 2))


def test_the_planted_idea_is_the_likeliest(figures):
    assert figures[0].best_of_sixteen >= 0.95


def test_chosen_items_find_more_than_random_ones(figures):
    chosen, blind = figures
    assert chosen.best_of_sixteen > blind.best_of_sixteen
    assert chosen.two_named > blind.two_named


def test_sound_learners_are_rarely_given_an_idea(figures):
    assert figures[0].false_alarm <= 0.03


def test_what_is_said_at_90_or_more_is_right_in_90_of_100(figures):
    said = right = 0
    for band, n, good in figures[0].calibration:
        if band.startswith("0.9"):
            said, right = said + n, right + good
    assert said >= 50
    assert right / said >= 0.90
