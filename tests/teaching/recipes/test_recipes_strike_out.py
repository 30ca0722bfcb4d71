"""Striking out by the pH alone: what the pH contradicts is the key, by every word of a label."""
from __future__ import annotations

import re
from dataclasses import replace

import pytest

from acidbase_lib.teaching.questions.question_file import load_plan
from acidbase_lib.teaching.recipes.book import cook_one

PLAN = load_plan("02_primary_disorder")
ASKED = next(question for question in PLAN.questions if question.recipe == "strike out by pH")
#: The same recipe for patients whose pH is back in range, as a school may wish for them.
BACK_IN_RANGE = replace(ASKED, wishes=tuple(
    {"disorder": disorder, "compensation": "fully compensated"}
    for disorder in ("metabolic acidosis", "metabolic alkalosis")))


@pytest.mark.parametrize("question", [ASKED, *ASKED.variants, BACK_IN_RANGE])
def test_every_label_that_the_ph_contradicts_is_in_the_key_and_no_other(question) -> None:
    """The unit's words: alkalosis goes with an alkaline pH; fully: the pH is back in 7.35-7.45."""
    offered = 0
    for form in range(1, 26):
        exercise = cook_one(PLAN, question, form, 0, 0)
        ph = float(re.search(r"\| pH \| ([\d.]+)", exercise.prompt)[1])
        side, in_range = ("acidosis" if ph < 7.40 else "alkalosis"), 7.35 <= ph <= 7.45
        for choice in exercise.fields[0].choices:
            fits = choice.text.endswith(side) and choice.text.startswith("Fully") is in_range
            assert (choice.word not in exercise.key["answer"]) is fits, (ph, choice.text)
            said = exercise.why["answer"][choice.word]
            assert ("the pH alone does not cross it out" in said) is fits
            offered += fits
    assert offered >= 25
