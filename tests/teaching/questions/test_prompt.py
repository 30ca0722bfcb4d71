"""What stands above an answer: its heading, and the same words in an older writing."""
from __future__ import annotations

import re

import pytest

from acidbase_lib.teaching.questions.prompt import HEADING, what_it_says, without_heading
from acidbase_lib.teaching.questions.question_file import unit_ids
from acidbase_lib.teaching.unit import open_unit


@pytest.mark.parametrize("unit_id", [*unit_ids(), "twelve_charts"])
def test_every_question_has_a_heading_with_number_and_points(unit_id: str) -> None:
    for exercise in open_unit(unit_id):
        first, empty, how = exercise.prompt.split("\n")[:3]
        assert first.startswith("### Question ")
        assert empty == ""
        assert how
        found = HEADING.match(exercise.prompt)
        assert found
        assert f"q{found['number'].replace('.', '-')}" == exercise.id
        assert float(found["points"].split()[0]) == exercise.points


@pytest.mark.parametrize("older", [
    "**Question 2.1** (1 point). Choose one.\n\nWhat is it?\n\n"
    "| number | result |\n|:--|--:|\n| pH | 7.28 |",
    "### Question 2.1 (1 point)\n\nChoose one. What is it?\n\n| number | result |\n|---|---|\n"
    "| pH | 7.28 |",
])
def test_a_prompt_says_the_same_in_an_older_writing(older: str) -> None:
    now = ("### Question 2.1 (1 point)\n\nChoose one.\n\nWhat is it?\n\nTable: The blood gas\n\n"
           "| number | result |\n|:--|--:|\n| pH | 7.28 |")
    assert what_it_says(older) == what_it_says(now)


@pytest.mark.parametrize("change", [("7.28", "7.29"), ("2.1", "2.2"), ("1 point", "2 points"),
                                    ("What is it", "What is not")])
def test_another_number_question_or_worth_is_another_prompt(change: tuple[str, str]) -> None:
    now = "### Question 2.1 (1 point)\n\nChoose one.\n\nWhat is it? pH 7.28"
    assert what_it_says(now.replace(*change)) != what_it_says(now)


def test_a_page_that_heads_the_question_itself_leaves_it_out() -> None:
    for exercise in open_unit("02_primary_disorder"):
        assert not re.search(r"Question \d", without_heading(exercise.prompt))
