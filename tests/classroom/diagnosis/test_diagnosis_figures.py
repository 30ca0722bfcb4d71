"""A quick cut of the benchmark's figures: planted ideas on a sitting that the kit chooses."""
from __future__ import annotations

import sys
from pathlib import Path

import pytest

sys.path.insert(0, str(Path(__file__).parents[3]))  # `tests` is found however pytest is started

from tests.benchmarks.diagnosis import Figures, measure
from tests.benchmarks.planted import at_random, chosen

pytestmark = pytest.mark.slow  # some hundred learners are diagnosed


@pytest.fixture(scope="module")
def figures() -> tuple[Figures, Figures]:
    """Of a chosen sitting, and of as many patients drawn blindly: the same kinds of patients."""
    return measure(chosen(31), 3), measure(at_random(31), 3)


def test_the_planted_idea_is_the_likeliest(figures):
    assert figures[0].share("likeliest of sixteen") >= 0.97


def test_one_idea_and_two_ideas_are_named(figures):
    assert figures[0].share("single named") >= 0.93
    assert figures[0].share("both named") >= 0.80
    assert figures[0].share("a third idea named") <= 0.03


def test_chosen_items_find_more_than_random_ones(figures):
    chosen_ones, blind = figures
    one = 1 / chosen_ones.asked["single named"]  # nearly all are named either way
    assert chosen_ones.share("single named") >= blind.share("single named") - 1.5 * one
    assert chosen_ones.share("left out: unexplained") > blind.share("left out: unexplained")


def test_sound_learners_are_rarely_given_an_idea(figures):
    assert figures[0].share("sound given an idea") <= 0.03
    assert figures[0].share("sound called unexplained") <= 0.05


def test_what_is_on_nobodys_list_is_called_unexplained(figures):
    # an idea taken off the list is often what a neighbor's name can mean as well
    assert figures[0].share("left out: unexplained") >= 0.25
    assert figures[0].share("left out: no name") >= 0.45
    assert figures[0].share("outside: unexplained") >= 0.70


def test_what_is_said_at_90_or_more_is_right_in_90_of_100(figures):
    said = right = 0
    for band, n, good in figures[0].calibration:
        if band.startswith("0.9"):
            said, right = said + n, right + good
    assert said >= 50
    assert right / said >= 0.90
