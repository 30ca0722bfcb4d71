"""The first day: a first thought earns its mark whatever it is, and still says what is believed."""
from __future__ import annotations

import pytest

from acidbase_lib.classroom.diagnosis.diagnosis import diagnose, observe
from acidbase_lib.teaching.misconceptions.catalog import MISCONCEPTIONS
from acidbase_lib.teaching.questions.answer_text import parse_chart, write_chart
from acidbase_lib.teaching.questions.exercise import Exercise, mark
from acidbase_lib.teaching.questions.question_file import UnitError, load_plan, read_plan
from acidbase_lib.teaching.recipes.book import cook
from acidbase_lib.teaching.unit import open_unit

FORMS = range(1, 16)
PLAN = load_plan("00_start_here")


def thoughts(form: int) -> list[Exercise]:
    return [e for e in cook(PLAN, form) if e.kind == "first thought"]


def given(exercise: Exercise, answers):
    return parse_chart(write_chart(exercise.id, exercise.fields, answers), exercise.fields)


@pytest.mark.parametrize("form", FORMS)
def test_any_complete_answer_earns_the_mark(form: int):
    """Wrong on purpose, as each idea answers; what was left out earns nothing."""
    for exercise in thoughts(form):
        for answers in exercise.predicted.values():
            share = len(answers) / len(exercise.fields)
            assert mark(exercise, given(exercise, answers)).points == pytest.approx(share)
        assert mark(exercise, parse_chart("", exercise.fields)).points == 0


def test_a_word_that_is_not_understood_is_no_answer():
    exercise = next(e for e in thoughts(1) if e.id == "q0-3")
    assert mark(exercise, parse_chart("answer: banana", exercise.fields)).points == 0


@pytest.mark.parametrize("form", FORMS)
def test_a_wrong_first_thought_is_kept_as_wrong_and_tells_its_idea(form: int):
    for exercise in thoughts(form):
        for idea, answers in exercise.predicted.items():
            result = mark(exercise, given(exercise, answers))
            wrong = [part for part in result.parts if not part.right and part.given is not None]
            assert all(idea in part.suggests for part in wrong)


@pytest.mark.parametrize("form", FORMS)
def test_every_option_is_what_somebody_believes(form: int):
    for exercise in thoughts(form):
        if exercise.fields[0].name != "answer":
            continue
        believed = {answers.get("answer") for answers in exercise.predicted.values()}
        assert set(exercise.fields[0].words) == {exercise.key["answer"]} | (believed - {None})


@pytest.mark.slow
def test_letters_of_the_key_vary():
    keys = {e.key["answer"] for form in FORMS for e in thoughts(form) if e.id == "q0-3"}
    assert keys == set("ABCD")


@pytest.mark.parametrize("form", FORMS)
def test_the_low_oxygen_is_low(form: int):
    exercise = next(e for e in thoughts(form) if e.id == "q0-6")
    row = next(line for line in exercise.prompt.splitlines() if line.startswith("| PaO2"))
    assert int(row.split("|")[2].split()[0]) < 80


def test_a_prompt_says_that_a_first_thought_counts():
    for exercise in thoughts(1):
        assert "any complete answer earns the point" in exercise.prompt


@pytest.mark.parametrize("idea", ["sides swapped", "PaCO2 decides everything",
                                  "shortcut trusted where it is silent", "normal pH means normal",
                                  "kPa read as mmHg", "bicarbonate range wrong"])
def test_the_first_day_points_to_the_idea_that_was_planted(idea: str):
    """One answer is weak evidence: the idea is named, or is the first of the candidates."""
    for form in (1, 2, 3):
        unit = open_unit("00_start_here", form=form)
        for exercise in unit:
            answers = {**exercise.key, **exercise.predicted.get(idea, {})}
            unit.record(exercise.id, write_chart(exercise.id, exercise.fields, answers))
        found = diagnose(observe(unit.exercises, [unit.mark_of(q) for q in unit.exercises]),
                         tuple(MISCONCEPTIONS))
        assert idea in (*found.ideas, *found.candidates[:1])


def test_an_unknown_way_to_ask_is_told():
    plan = read_plan('id = "x"\ntitle = "y"\n[[question]]\nid = "q1"\nrecipe = "first thought"\n'
                     'asks = "soup"\nstem = "s"', "mine")
    with pytest.raises(UnitError, match="what it shows"):
        list(cook(plan, 1))


def test_the_review_says_that_any_answer_counts():
    unit = open_unit("00_start_here")
    shown = []
    unit.show = lambda bundle: shown.append(bundle["text/plain"])
    exercise = unit.exercises["q0-4"]
    unit.record("q0-4", write_chart("q0-4", exercise.fields,
                                    exercise.predicted["normal pH means normal"]))
    unit.review()
    text = "\n".join(shown)
    assert "1 of 1. Any complete answer counts." in text
    assert MISCONCEPTIONS["normal pH means normal"].suggests not in text  # nothing is taught yet


@pytest.mark.parametrize("form", FORMS)
def test_the_first_day_reads_by_ranges_alone(form: int):
    """No rule that a later unit teaches stands in a reading: only ranges, or "later units"."""
    for exercise in cook(PLAN, form):
        told = " ".join((*exercise.because, *exercise.settles.values(), *(
            text for each in exercise.why.values() for text in each.values())))
        assert "direction" not in told
        assert "moved opposite" not in told
        assert "so the name is" not in told
