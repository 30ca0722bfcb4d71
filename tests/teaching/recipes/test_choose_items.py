"""Choosing a sitting: every pair of ideas told apart, better than by chance, the same each time."""
from __future__ import annotations

import random

import pytest

from acidbase_lib.teaching.misconceptions.catalog import MISCONCEPTIONS
from acidbase_lib.teaching.questions.exercise import Exercise
from acidbase_lib.teaching.questions.fields import Field, lettered
from acidbase_lib.teaching.questions.question_file import load_plan
from acidbase_lib.teaching.recipes.book import candidates
from acidbase_lib.teaching.recipes.choose_items import NONE, choose_sitting, separates, separation

IDEAS = ("one", "two", "three")
ASKED = (Field("answer", "one", lettered(["w", "x", "y", "z"])),)


def item(name: str, **answers: str) -> Exercise:
    """A question whose key is A; each idea named answers as given."""
    return Exercise(name, "choose one", 1.0, "", ASKED, {"answer": "A"},
                    predicted={idea: {"answer": letter} for idea, letter in answers.items()})


def test_an_item_separates_ideas_that_answer_it_differently() -> None:
    asked = item("q", one="B", two="B")
    assert separates(asked, (NONE, "one")) == 1
    assert separates(asked, ("one", "two")) == 0
    assert separates(asked, (NONE, "three")) == 0


def test_an_idea_that_finds_no_option_separates_nothing() -> None:
    asked = Exercise("q", "choose one", 1.0, "", ASKED, {"answer": "A"}, predicted={"one": {}})
    assert separates(asked, (NONE, "one")) == 0


def test_the_choice_tells_every_pair_apart_where_it_can() -> None:
    dull = item("dull")
    sharp = item("sharp", one="B", two="C", three="D")
    half = item("half", one="B")
    chosen = choose_sitting([[dull, half, sharp], [dull, sharp, half], [sharp]], IDEAS)
    assert chosen == (2, 1, 0)
    table = separation([sharp, sharp], IDEAS)
    assert not table.below(2)
    assert table.below(3)


@pytest.mark.slow
@pytest.mark.parametrize("unit", ["01_ranges", pytest.param("05_oxygenation",
                                                            marks=pytest.mark.slow)])
def test_two_choices_as_good_are_told_apart_by_their_place_and_not_by_rounding(unit: str) -> None:
    """Added up in another order the risk may differ in its last bit; the choice may not."""
    slots, ideas = candidates(load_plan(unit), 7), list(MISCONCEPTIONS)
    chosen = choose_sitting(slots, ideas)
    random.Random(7).shuffle(ideas)
    assert choose_sitting(slots, ideas) == chosen


def test_what_cannot_be_told_apart_is_listed() -> None:
    table = separation([item("q", one="B", two="B", three="C")], IDEAS)
    assert table.below(1) == (("one", "two"),)
