"""Of 500 wrong answers over all units, none names an idea that another line of it contradicts."""
from __future__ import annotations

import pytest
from wrong_answers import every_exercise, wrong_answers

from acidbase_lib.teaching.feedback.feedback_on_answer import feedback_on
from acidbase_lib.teaching.feedback.named_idea import contradicted, named_idea
from acidbase_lib.teaching.misconceptions.catalog import MISCONCEPTIONS
from acidbase_lib.teaching.questions.answer_text import parse_chart, write_chart
from acidbase_lib.teaching.questions.exercise import Answers, Exercise, same

ANSWERS = tuple(wrong_answers(500))


def lines_of(exercise: Exercise, answer: Answers, idea: str) -> list[bool]:
    """For each line: whether a holder of the idea would have written it."""
    told = {**(exercise.key or {}), **exercise.predicted[idea]}
    return [same(f, answer[f.name], told[f.name], exercise.within.get(f.name, 0.0))
            for f in exercise.fields]


def test_no_named_idea_is_contradicted_by_another_line() -> None:
    named = [(e, a, idea) for e, a in ANSWERS if (idea := named_idea(e, a))]
    print(f"\nnamed: {len(named)} of {len(ANSWERS)} wrong answers")
    assert len(named) >= 10
    for exercise, answer, idea in named:
        assert all(lines_of(exercise, answer, idea)), (exercise.id, answer, idea)
        assert contradicted(exercise, answer, idea) == ()


def test_what_two_ideas_explain_names_none() -> None:
    ambiguous = 0
    for exercise, answer in ANSWERS:
        fits = [idea for idea in exercise.predicted if all(lines_of(exercise, answer, idea))]
        ambiguous += len(fits) > 1
        if len(fits) != 1:
            assert named_idea(exercise, answer) is None, (exercise.id, answer, fits)
    assert ambiguous >= 10


def test_the_button_says_what_the_one_function_says() -> None:
    for exercise, answer in ANSWERS[:100]:
        read = parse_chart(write_chart(exercise.id, exercise.fields, answer), exercise.fields)
        said = feedback_on(exercise, read)
        assert said.idea == named_idea(exercise, read.values)
        assert said.idea_says == (MISCONCEPTIONS[said.idea].suggests if said.idea else "")


def test_a_first_thought_and_a_right_answer_name_none() -> None:
    for _, _, exercise in every_exercise(range(1, 4)):
        assert named_idea(exercise, exercise.key or {}) is None
        if exercise.kind == "first thought":
            assert all(named_idea(exercise, told) is None for told in exercise.predicted.values())


def test_an_idea_is_named_only_where_two_lines_or_options_tell_of_it() -> None:
    for exercise, answer in ANSWERS:
        key = exercise.key or {}
        wrong = [f for f in exercise.fields if not same(
            f, answer[f.name], key[f.name], exercise.within.get(f.name, 0.0))]
        if len(wrong) == 1 and wrong[0].kind != "many":
            assert named_idea(exercise, answer) is None, (exercise.id, answer)


@pytest.mark.slow
def test_no_single_press_names_an_idea_in_any_question() -> None:
    """One option of a choice, one line more, or "none of them": the walker held no such rule."""
    for _, _, exercise in every_exercise(range(1, 3)):
        for asked in exercise.fields if exercise.key is not None else ():
            presses = asked.words if asked.kind == "one" else [()] if asked.kind == "many" else []
            for press in presses:
                one = {**exercise.key, asked.name: press}  # type: ignore[dict-item]
                assert named_idea(exercise, one) is None, (exercise.id, one)
