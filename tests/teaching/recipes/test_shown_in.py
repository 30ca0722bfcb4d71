"""What is asked before its teaching names, once answered, the unit that teaches it."""
from __future__ import annotations

from dataclasses import replace

import pytest

from acidbase_lib.teaching.feedback.feedback_on_answer import feedback_on
from acidbase_lib.teaching.feedback.review import review_lines
from acidbase_lib.teaching.questions.answer_text import parse_chart
from acidbase_lib.teaching.questions.exercise import mark
from acidbase_lib.teaching.questions.question_file import UnitError, load_plan, unit_ids
from acidbase_lib.teaching.recipes.book import cook_one
from acidbase_lib.teaching.unit import open_unit

FIRST = tuple(open_unit(unit_ids()[0]))


@pytest.mark.parametrize("exercise", FIRST, ids=lambda one: one.id)
def test_every_look_back_of_the_first_unit_names_a_later_unit(exercise) -> None:
    """Its text promises that: "which unit shows how"."""
    fields = exercise.fields
    words = "\n".join(f"{f.name}: {' > '.join(f.words) if f.kind == 'order' else f.words[0]}"
                      for f in fields)
    answer = parse_chart(words, fields)
    assert answer.complete
    for lines in (review_lines(exercise, mark(exercise, answer)),
                  feedback_on(exercise, answer).reading):
        told = [line for line in lines if line.endswith("shows how.")]
        assert told, lines
        assert 1 <= int(told[0].split()[1]) < len(unit_ids())
        assert "Later units" not in " ".join(lines)


def test_a_unit_that_is_not_there_is_told_with_those_that_are() -> None:
    plan = load_plan(unit_ids()[0])
    question = replace(plan.questions[0], more={**plan.questions[0].more, "shown_in": "11_soon"})
    with pytest.raises(UnitError, match=r"11_soon.* units are: 00_start_here,"):
        cook_one(plan, question, 1, 0, 0)
