"""What opens and ends a lesson: earlier questions, guesses, worked steps that fade, twins."""
from __future__ import annotations

import json
from dataclasses import replace
from typing import Any

import pytest

from acidbase_lib import explore_steps_to_the_name, explore_steps_to_the_word
from acidbase_lib.teaching.feedback.feedback_on_answer import feedback_on
from acidbase_lib.teaching.lesson.asking import Asking, view_of
from acidbase_lib.teaching.lesson.earlier_questions import earlier_questions, earlier_units
from acidbase_lib.teaching.lesson.lesson_cells import AllThatIsAsked, opening_widget, twins_widget
from acidbase_lib.teaching.lesson.prompt_blocks import blocks_of
from acidbase_lib.teaching.lesson.twin_patients import (
    SAME_STORY,
    scene_of,
    twins_of,
    wrong_ones,
)
from acidbase_lib.teaching.lesson.worked_steps import Walk
from acidbase_lib.teaching.questions.answer_text import show_value, write_chart
from acidbase_lib.teaching.questions.first_try import FirstTry
from acidbase_lib.teaching.questions.question_file import UnitError, read_plan, unit_ids
from acidbase_lib.teaching.questions.which_try import said_before
from acidbase_lib.teaching.unit import Unit, open_unit

LESSONS = [name for name in unit_ids() if name not in ("00_start_here", "08_sitting")]
lessons = pytest.mark.parametrize("unit_id", LESSONS)


def right(asking: Asking) -> dict[str, str]:
    assert asking.exercise is not None
    key = asking.exercise.key or {}
    return {field.name: show_value(field, key[field.name]) for field in asking.exercise.fields}


# --- the opening ----------------------------------------------------------------------------------

@lessons
def test_three_questions_of_earlier_units_open_a_lesson(unit_id: str):
    asked = earlier_questions(unit_id, 1, "a")
    assert len(asked) == 3
    drawn = [place.draw(0) for place in asked]
    assert len({exercise.id for exercise in drawn}) == 3
    assert all(int(exercise.id[1]) < int(unit_id[:2]) for exercise in drawn)
    assert drawn[0].id[1] == str(int(earlier_units(unit_id)[0][:2])), "the last unit comes first"


@pytest.mark.slow
@lessons
def test_they_are_drawn_afresh_for_each_reader_and_form(unit_id: str):
    def prompts(form: int, seed: str) -> list[str]:
        return [place.draw(0).prompt for place in earlier_questions(unit_id, form, seed)]

    assert prompts(1, "a") == prompts(1, "a")
    assert prompts(1, "a") != prompts(1, "b")
    assert prompts(1, "a") != prompts(2, "a")


@pytest.mark.slow
@lessons
def test_a_question_can_be_answered_right_and_no_key_is_shown_before(unit_id: str):
    asking = Asking(earlier_questions(unit_id, 1, "c"))
    for _ in asking.asked:
        before = view_of(asking, "T")
        assert (before["answered"], before["lines"], before["reading"]) == (False, [], [])
        asking.answer({})
        assert "Still to answer" in asking.problem
        asking.answer(right(asking))
        after = view_of(asking, "T")
        assert after["verdict"].startswith("Right"), (asking.exercise, after["lines"])
        assert after["reading"]
        json.dumps(after)
        asking.go_on()
    assert asking.ended
    assert view_of(asking, "T", ended="That is all.")["says"] == "That is all."


def test_a_wrong_answer_is_told_beside_what_is_right():
    asking = Asking(earlier_questions("04_beyond_the_shortcut", 1, "d"))
    exercise = asking.exercise
    assert exercise is not None
    field = next(f for f in exercise.fields if f.kind == "one")
    given = right(asking) | {field.name: next(word for word in field.words
                                              if word != (exercise.key or {})[field.name])}
    asking.answer(given)
    view = view_of(asking, "T")
    assert view["verdict"].startswith("Not right yet")
    assert any("you chose" in line and "Not right. " in line for line in view["lines"])
    assert "gas or story" not in str(view["lines"])  # a fact has neither


@pytest.mark.slow
def test_every_prompt_of_the_course_becomes_plain_blocks():
    for unit_id in unit_ids():
        for exercise in open_unit(unit_id):
            blocks = blocks_of(exercise.prompt)
            assert blocks, exercise.id
            text = json.dumps(blocks)
            assert "**" not in text
            assert "Table:" not in text
            assert "Question" not in str(blocks[0].get("text", ""))[:9]
            rows = [line for line in exercise.prompt.splitlines() if line.startswith("|")]
            told = sum(2 + len(b["rows"]) for b in blocks if b["kind"] == "table")
            assert told == len(rows), exercise.id


def test_the_opening_waits_for_a_press_and_holds_no_question_before():
    widget = opening_widget("03_compensation", 1, "e")
    assert widget.view["before"] == "Three short questions from earlier units, for no points."
    assert "fields" not in widget.view
    widget._told(widget, {"want": "begin"}, [])
    assert (widget.view["before"], widget.view["count"]) == ("", "1 of 3")
    assert widget.view["fields"]


def test_a_widget_follows_what_is_pressed():
    widget = opening_widget("03_compensation", 1, "e")
    widget._told(widget, {"want": "begin"}, [])
    widget._told(widget, {"want": "answer", "values": right(widget.asking)}, [])
    assert widget.view["answered"]
    widget._told(widget, {"want": "next"}, [])
    assert widget.view["count"] == "2 of 3"
    for nonsense in ({}, {"want": "answer", "values": 3}, {"want": "answer", "values": {"x": 1}}):
        widget._told(widget, nonsense, [])
    assert "Run this cell" in widget.reopened


# --- the twins ------------------------------------------------------------------------------------

def unit_with_slips() -> tuple[Unit, list[str]]:
    unit = open_unit("02_primary_disorder")
    wrong = []
    for exercise in unit:
        answers: dict[str, Any] = dict(exercise.key or {})
        if exercise.id in ("q2-1", "q2-3", "q2-7"):
            field = exercise.fields[0]
            answers[field.name] = next(
                word if field.kind == "one" else (word,) for word in field.words
                if word != answers[field.name] and (word,) != answers[field.name])
            wrong.append(exercise.id)
        unit.record(exercise.id, write_chart(exercise.id, exercise.fields, answers))
    return unit, wrong


def test_what_was_wrong_comes_back_with_a_twin_of_the_same_request():
    unit, wrong = unit_with_slips()
    found = wrong_ones(unit.exercises, unit.answer)
    assert list(found) == wrong
    for name, place in zip(wrong, twins_of(unit.plan, unit.exercises, found, "a"), strict=True):
        first = unit.exercises[name]
        twins = [place.draw(turn) for turn in range(4)]
        assert place.note.startswith("Not right at your first try: ")
        assert {twin.id for twin in twins} == {name}
        assert {twin.kind for twin in twins} == {first.kind}
        assert first.prompt not in {twin.prompt for twin in twins}
        assert len({twin.prompt for twin in twins}) == 4, "another patient at every press"


@pytest.mark.parametrize("name", ["q7-1", "q7-2", "q7-4", "q7-5", "q7-6"])
def test_a_twin_shows_another_scene_while_there_is_one_and_then_says_so(name: str):
    unit = open_unit("07_clinical_priority")
    question = next(one for one in unit.plan.questions if one.id == name)
    scenes = len(question.more["scenes"])
    (place,) = twins_of(unit.plan, unit.exercises, {name: unit.mark_of(name)}, "a")
    told = [scene_of(question, unit.exercises[name])]
    for turn in range(scenes):
        told.append(scene_of(question, place.draw(turn)))
        last = turn == scenes - 1
        assert place.more_note(turn) == (SAME_STORY if last else "")
    assert sorted(told[:scenes]) == list(range(scenes))
    assert view_of(Asking([place]), "Twins")["note"] == place.note
    # each scene is told from the others by its own words
    seen = {scene_of(question, exercise): exercise.prompt for exercise in
            (open_unit("07_clinical_priority", form).exercises[name] for form in range(1, 9))}
    assert len(seen) == scenes


def test_the_first_try_is_read_even_where_it_was_corrected_later():
    unit = open_unit("02_primary_disorder")
    exercise = unit.exercises["q2-1"]
    answer = unit.record("q2-1", write_chart("q2-1", exercise.fields, exercise.key))

    other = next(word for word in exercise.fields[0].words
                 if word != (exercise.key or {})["disorder"])
    assert not wrong_ones({"q2-1": exercise}, lambda _: answer)
    corrected = replace(answer, first=FirstTry({"disorder": other}, "sure", None, sealed=True))
    assert list(wrong_ones({"q2-1": exercise}, lambda _: corrected)) == ["q2-1"]


def test_where_nothing_is_wrong_or_answered_it_says_so():
    unit = open_unit("02_primary_disorder")
    assert "Nothing is answered yet" in unit.twins().view["says"]
    exercise = unit.exercises["q2-1"]
    unit.record("q2-1", write_chart("q2-1", exercise.fields, exercise.key))
    assert "right at the first try" in twins_widget(unit.plan, unit.exercises,
                                                    unit.answer).view["says"]


@pytest.mark.parametrize("unit_id", ["04_beyond_the_shortcut", "07_clinical_priority"])
@pytest.mark.parametrize("slips", [True, False])
def test_a_question_that_a_person_reads_has_no_twin_and_that_is_said(unit_id: str, slips: bool):
    unit = open_unit(unit_id)
    (hand,) = (exercise.id for exercise in unit if exercise.kind == "rationale")
    says = f"Question {hand[1:].replace('-', '.')} has no twin: a person reads what you wrote"
    first = next(exercise for exercise in unit if exercise.kind == "choose one")
    given = dict(first.key or {})
    if slips:
        asked = first.fields[0]
        given[asked.name] = next(word for word in asked.words if word != given[asked.name])
    unit.record(first.id, write_chart(first.id, first.fields, given))
    assert says not in unit.twins().view["says"], "it was not answered"
    unit.record(hand, f"%%chart {hand}\nanswer: in my own words")
    widget = unit.twins()
    if slips:
        assert not widget.view["ended"]
        widget._told(widget, {"want": "next"}, [])
    assert says in widget.view["says"]


# --- guesses --------------------------------------------------------------------------------------

@lessons
def test_a_guess_is_kept_and_earns_nothing(unit_id: str):
    unit = open_unit(unit_id)
    assert unit.unmarked
    for name, exercise in unit.unmarked.items():
        assert name not in unit.exercises
        assert exercise.points == 0
        assert exercise.because
        unit.record(name, "answer: A" if exercise.key else "answer: in my own words")
        assert unit.answer(name).values
        assert unit.mark_of(name).points == 0
    assert set(unit.unmarked) <= set(AllThatIsAsked(unit).exercises)


@lessons
def test_a_guess_is_shown_beside_what_holds_and_is_never_tried_again(unit_id: str):
    unit = open_unit(unit_id)
    for name, exercise in unit.unmarked.items():
        words = exercise.fields[0].words or ("some words",)
        for word in words:
            said = feedback_on(exercise, unit.record(name, f"answer: {word}"))
            assert (said.lines, said.reasons, said.hints, said.idea) == ((), (), (), None)
            assert said.reading[-len(exercise.because):] == exercise.because
            if exercise.key is None:
                assert said.verdict.startswith("Kept.")
                continue
            holds = exercise.key["answer"]
            assert said.verdict.startswith("Right" if word == holds else "Not right yet")
            assert said.reading[0].startswith(f"Your guess: {word}. ")
            assert said.reading[1].startswith(f"What holds: {holds}. ")
        assert "no points" in said_before(exercise, "mended half")


def test_a_form_asks_nothing_beside():
    from acidbase_lib.teaching.questions.question_file import load_plan
    from acidbase_lib.teaching.recipes.deal import draw_order

    plan = load_plan("02_primary_disorder")
    assert not Unit(plan, 3, order=draw_order(plan, 3)).unmarked


@pytest.mark.parametrize(("line", "told"), [
    ("", "no text 'asks'"), ('asks = "Which?"\noptions = ["a", "b"]\nfits = 3', "fits = 3"),
    ('asks = "Which?"\noptions = ["a", "b"]', "fits = None")])
def test_an_unmarked_question_that_is_not_whole_is_told(line: str, told: str):
    text = ('id = "x"\ntitle = "X"\n[[question]]\nid = "q1"\nrecipe = "r"\nstem = "s"\n'
            f'[[unmarked]]\nid = "guess"\n{line}\n')
    with pytest.raises(UnitError, match=told):
        read_plan(text, "x.toml")


# --- worked steps ---------------------------------------------------------------------------------

@pytest.mark.parametrize("make", [explore_steps_to_the_name, explore_steps_to_the_word])
def test_worked_steps_fade(make: Any):
    """None of the first reading is left to the reader, half of the next, all of the last."""
    for seed in map(str, range(12)):
        readings = make(seed).walk.readings
        assert [reading.blanks for reading in readings] == [0, 2, 4]
        for reading in readings:
            assert all(step.key in step.choices for step in reading.steps)


@pytest.mark.parametrize("make", [explore_steps_to_the_name, explore_steps_to_the_word])
def test_a_line_comes_at_each_press_and_a_blank_only_after_an_answer(make: Any):
    widget = make("a")
    for reading in widget.walk.readings:
        for number, step in enumerate(reading.steps):
            view = widget.view
            assert len(view["said"]) == number
            assert step.reason not in json.dumps(view["said"])
            blank = number >= len(reading.steps) - reading.blanks
            assert bool(view["choices"]) is blank
            if blank:
                widget._told(widget, {"want": "next"}, [])
                assert len(widget.view["said"]) == number, "nothing is shown before an answer"
            widget._told(widget, {"want": "next", "choice": step.key}, [])
            assert widget.view["said"][-1].endswith(step.reason)
            assert widget.view["said"][-1].startswith("Right.") is blank
        widget._told(widget, {"want": widget.view["want"]}, [])
    assert all(step.reason in widget.text for reading in widget.walk.readings
               for step in reading.steps)


def test_a_wrong_blank_says_so_and_goes_on():
    walk = Walk(explore_steps_to_the_name("b").walk.readings[2:])
    step = walk.reading.steps[0]
    wrong = next(word for word in step.choices if word != step.key)
    walk.go_on(wrong)
    assert walk.said == [f"Not {wrong}. {step.reason}"]
