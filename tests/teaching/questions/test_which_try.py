"""Which try counts: the three ways, for every kind of question, sealed or not."""
from __future__ import annotations

import json

import pytest

from acidbase_lib.teaching.questions.answer_text import write_chart
from acidbase_lib.teaching.questions.exercise import Exercise, Mark, mark
from acidbase_lib.teaching.questions.fields import STANDARD_FIELDS, Choice, Field
from acidbase_lib.teaching.questions.first_try import place_of, read_answer, with_first_try
from acidbase_lib.teaching.questions.question_file import UnitError
from acidbase_lib.teaching.questions.which_try import COUNTS, mark_tries, said_before
from acidbase_lib.teaching.unit import open_unit

GAS = Exercise("q1", "several parts", 3.0, "", tuple(
    STANDARD_FIELDS[name] for name in ("pH", "bicarbonate", "disorder")),
    {"pH": "low", "bicarbonate": "high", "disorder": "respiratory acidosis"})
RIGHT, WRONG, NONE = ("low", "high", "resp acidosis"), ("high", "low", "met alkalosis"), ("",) * 3
HALF = ("low", "low", "metabolic acidosis")
SIGNS = Exercise("q1", "select all", 2.0, "", (
    Field("signs", "many", tuple(Choice(w) for w in "abcd")),), {"signs": ("a", "c")})
PAIR = Exercise("q1", "linked pair", 1.0, "", GAS.fields[:2], dict(list(GAS.key.items())[:2])
                if GAS.key else None)
PLACE = place_of("q1", 1)


def cell(exercise: Exercise, values: tuple[str, ...]) -> str:
    lines = [f"{field.name}: {v}" for field, v in zip(exercise.fields, values, strict=False)]
    return "\n".join(["%%chart q1", *lines])


def tried(exercise: Exercise, first: tuple[str, ...], last: tuple[str, ...]) -> str:
    before = cell(exercise, first)
    kept = with_first_try(before, exercise.fields, PLACE)
    assert kept != before
    return kept.replace(before, cell(exercise, last), 1)


def points(exercise: Exercise, text: str, counts: str) -> float:
    return mark_tries(exercise, read_answer(text, exercise.fields, PLACE), counts).points


@pytest.mark.parametrize(("first", "last", "half", "by_first", "by_last"), [
    (RIGHT, RIGHT, 3, 3, 3), (WRONG, RIGHT, 1.5, 0, 3), (WRONG, WRONG, 0, 0, 0),
    (HALF, RIGHT, 2, 1, 3), (HALF, HALF, 1, 1, 1), (RIGHT, WRONG, 3, 3, 0), (RIGHT, NONE, 3, 3, 0),
    (HALF, ("high", "high", "metabolic acidosis"), 1.5, 1, 1)])
def test_each_way_gives_what_it_says(first: tuple[str, ...], last: tuple[str, ...], half: float,
                                     by_first: float, by_last: float) -> None:
    text = tried(GAS, first, last)
    assert [points(GAS, text, counts) for counts in COUNTS] == [half, by_first, by_last]


@pytest.mark.parametrize(("exercise", "first", "last", "half"), [
    (SIGNS, ("a, b",), ("a, c",), 1.0), (SIGNS, ("a",), ("a, c",), 1.5),
    (SIGNS, ("a, c",), ("b",), 2.0), (PAIR, ("low", "low"), ("low", "high"), 0.5),
    (PAIR, ("low", "low"), ("high", "high"), 0.0)])  # both right, but never at once
def test_half_of_what_a_rule_gives_beyond_the_first_try(
        exercise: Exercise, first: tuple[str, ...], last: tuple[str, ...], half: float) -> None:
    assert points(exercise, tried(exercise, first, last), "mended half") == half


@pytest.mark.parametrize("counts", COUNTS)
@pytest.mark.parametrize("values", [RIGHT, HALF, WRONG, NONE])
def test_without_a_first_try_the_record_is_what_it_always_was(values: tuple[str, ...],
                                                              counts: str) -> None:
    answer = read_answer(cell(GAS, values), GAS.fields, PLACE)
    assert json.dumps(mark_tries(GAS, answer, counts).record()) == json.dumps(
        mark(GAS, answer).record())


@pytest.mark.parametrize("counts", COUNTS)
@pytest.mark.parametrize("last", [RIGHT, HALF, WRONG, NONE])
def test_a_forged_first_try_gains_nothing(last: tuple[str, ...], counts: str) -> None:
    forged = tried(GAS, WRONG, last).replace("# pH: high", "# pH: low").replace(
        "# bicarbonate: low", "# bicarbonate: high")
    assert points(GAS, forged, counts) <= points(GAS, tried(GAS, WRONG, last), counts)


def test_a_broken_seal_says_nothing_of_what_was_answered_first() -> None:
    forged = tried(GAS, WRONG, RIGHT).replace("# pH: high", "# pH: low")
    first = mark_tries(GAS, read_answer(forged, GAS.fields, PLACE)).first
    assert first is not None
    assert (first.points, first.parts, first.sealed, first.last) == (0, (), False, 3)


def test_a_first_thought_and_a_text_earn_what_they_always_did() -> None:
    thought = Exercise("q1", "first thought", 1.0, "", GAS.fields, GAS.key)
    assert {points(thought, tried(thought, WRONG, RIGHT), counts) for counts in COUNTS} == {1.0}
    why = Exercise("q1", "rationale", 2.0, "", (Field("why", "text"),), None)
    text = tried(why, ("so",), ("otherwise",))
    assert mark_tries(why, read_answer(text, why.fields, PLACE)).state == "waits for the instructor"


def test_a_record_is_read_back_with_its_first_try_and_how_sure() -> None:
    text = with_first_try(cell(GAS, HALF) + "\nhow sure: guess", GAS.fields, PLACE)
    told = mark_tries(GAS, read_answer(text, GAS.fields, PLACE))
    assert (told.how_sure, told.first and told.first.how_sure) == ("guess", "guess")
    assert Mark.from_record(json.loads(json.dumps(told.record()))) == told


def test_what_counts_is_one_sentence_for_each_way_and_kind() -> None:
    assert len({said_before(GAS, counts) for counts in COUNTS}) == len(COUNTS)


def test_a_unit_marks_by_the_policy_of_its_setup_cell() -> None:
    text = {}
    for counts in COUNTS:
        unit = open_unit("02_primary_disorder", counts=counts)
        asked = unit.exercise("q2-2")
        assert asked.key is not None
        wrong = {**asked.key, "pH": "low" if asked.key["pH"] != "low" else "high"}
        before = write_chart("q2-2", asked.fields, wrong)
        kept = with_first_try(before, asked.fields, place_of("q2-2", 1))
        unit.record("q2-2", kept.replace(before, write_chart("q2-2", asked.fields, asked.key)))
        text[counts] = unit.mark_of("q2-2").points
    assert text == {"mended half": 3.5, "first try": 3.0, "last try": 4.0}


def test_an_unknown_policy_is_told() -> None:
    with pytest.raises(UnitError, match="counts = 'best' is none of 'mended half', 'first try'"):
        open_unit("02_primary_disorder", counts="best")


def test_a_sitting_marks_the_answer_as_it_stands() -> None:
    unit = open_unit("08_sitting")
    assert unit.sitting
    asked = next(e for e in unit if e.key is not None)
    kept = with_first_try(write_chart(asked.id, asked.fields, asked.key), asked.fields,
                          place_of(asked.id, 1))
    assert unit.record(asked.id, kept).first is None
    assert not open_unit("02_primary_disorder").sitting


def test_a_guess_without_points_is_not_said_to_earn_any():
    guess = Exercise("guess-1", "first thought", 0.0, "", GAS.fields, GAS.key)
    assert said_before(guess, "mended half") == (
        "A guess: no points. It is kept, so that you can look back.")
    thought = Exercise("q1", "first thought", 1.0, "", GAS.fields, GAS.key)
    assert "earns the points" in said_before(thought, "mended half")
