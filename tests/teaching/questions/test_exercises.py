"""Marks: every kind's rule, always a built-in float, never outside zero and the points."""
from __future__ import annotations

from types import MappingProxyType

import pytest
from hypothesis import given
from hypothesis import strategies as st

from acidbase_lib.teaching.questions.answer_text import parse_chart
from acidbase_lib.teaching.questions.exercise import Exercise, ExerciseKind, Mark, mark, shown
from acidbase_lib.teaching.questions.fields import STANDARD_FIELDS, Choice, Field, Value, lettered

SIX = Field("answer", "many", lettered(["a", "b", "c", "d", "e", "f"]))
STEPS = Field("order", "order", tuple(Choice(word) for word in ("one", "two", "three", "four")))
PARTS = tuple(STANDARD_FIELDS[name] for name in ("pH", "bicarbonate", "disorder"))


def exercise(kind: ExerciseKind, fields: tuple[Field, ...], key: dict[str, Value] | None,
             points: float = 1, **more: object) -> Exercise:
    return Exercise("q1", kind, points, "", fields, key, **more)  # type: ignore[arg-type]


def points(asked: Exercise, text: str) -> float:
    return mark(asked, parse_chart(text, asked.fields)).points


def test_select_all_scores_as_the_published_example() -> None:
    """One up for a right choice, one down for a wrong one, never below zero (common practice):
    4 right and 2 wrong of 4 keys is 2 of 4."""
    asked = exercise("select all", (SIX,), {"answer": ("A", "B", "C", "D")}, points=4)
    assert points(asked, "answer: A, B, C, D, E, F") == 2.0


def test_select_all_never_goes_below_zero() -> None:
    asked = exercise("select all", (SIX,), {"answer": ("A",)})
    assert points(asked, "answer: B, C, D") == 0.0


def test_select_all_gives_nothing_for_nothing() -> None:
    asked = exercise("select all", (SIX,), {"answer": ("A", "B")}, points=2)
    assert points(asked, "answer:") == 0.0
    assert points(asked, "answer: none") == 0.0


def test_where_none_fits_none_is_right() -> None:
    asked = exercise("select all", (SIX,), {"answer": ()})
    assert points(asked, "answer: none") == 1.0
    assert points(asked, "answer: A") == 0.0


def test_several_parts_give_one_mark_a_part() -> None:
    key: dict[str, Value] = {"pH": "low", "bicarbonate": "high", "disorder": "respiratory acidosis"}
    asked = exercise("several parts", PARTS, key, points=3)
    assert points(asked, "pH: low\nbicarbonate: low\ndisorder: resp acidosis") == 2.0


def test_a_linked_pair_is_both_or_nothing() -> None:
    asked = exercise("linked pair", PARTS[:2], {"pH": "low", "bicarbonate": "high"}, points=2)
    assert points(asked, "pH: low\nbicarbonate: high") == 2.0
    assert points(asked, "pH: low\nbicarbonate: low") == 0.0


def test_an_order_earns_for_every_step_that_follows_rightly() -> None:
    asked = exercise("put in order", (STEPS,), {"order": ("one", "two", "three", "four")}, points=3)
    assert points(asked, "order: one > two > three > four") == 3.0
    assert points(asked, "order: four > one > two > three") == 2.0
    assert points(asked, "order: four > three > two > one") == 0.0


def test_a_number_counts_within_its_tolerance_and_in_either_unit() -> None:
    paco2 = Field("expected PaCO2", "number", unit="mmHg")
    asked = exercise("number", (paco2,), {"expected PaCO2": 26.0},
                     within=MappingProxyType({"expected PaCO2": 2.0}))
    assert points(asked, "expected PaCO2: 28") == 1.0
    assert points(asked, "expected PaCO2: 28.1") == 0.0
    assert points(asked, "expected PaCO2: 3.5 kPa") == 1.0


def test_a_rationale_waits_for_the_instructor() -> None:
    asked = exercise("rationale", (Field("why", "text"),), None, points=2)
    result = mark(asked, parse_chart("why: he is tiring", asked.fields))
    assert (result.points, result.state) == (0.0, "waits for the instructor")


def test_an_authored_key_is_used_where_the_exercise_has_none() -> None:
    asked = exercise("choose one", (Field("answer", "one", lettered(["x", "y"])),), None)
    answer = parse_chart("answer: B", asked.fields)
    assert mark(asked, answer).state == "waits for the instructor"
    assert mark(asked, answer, {"answer": "B"}).points == 1.0


def test_a_wrong_answer_names_the_ideas_that_give_it() -> None:
    asked = exercise("several parts", PARTS, {"pH": "low", "bicarbonate": "high",
                                              "disorder": "respiratory acidosis"},
                     predicted={"swapped": {"pH": "low", "disorder": "metabolic acidosis"}})
    result = mark(asked, parse_chart("pH: high\ndisorder: metabolic acidosis", PARTS))
    assert [part.suggests for part in result.parts] == [(), (), ("swapped",)]


def test_a_mark_goes_through_its_record_unchanged() -> None:
    asked = exercise("select all", (SIX,), {"answer": ("A", "B")}, points=2)
    result = mark(asked, parse_chart("answer: A, C", asked.fields))
    assert Mark.from_record(result.record()) == result


def test_an_option_is_shown_with_its_text() -> None:
    asked = exercise("select all", (SIX,), {"answer": ("A",)})
    assert shown(asked, "answer", ("A", "F")) == "A. a; F. f"


@pytest.mark.parametrize("kind", ["choose one", "several parts", "grid", "linked pair"])
@given(text=st.text(alphabet="pH: bicarnotedslwghm\n,>ABC", max_size=120))
def test_points_are_a_float_within_bounds(kind: ExerciseKind, text: str) -> None:
    key: dict[str, Value] = {"pH": "low", "bicarbonate": "high", "disorder": "respiratory acidosis"}
    earned = points(exercise(kind, PARTS, key, points=3), text)
    assert type(earned) is float
    assert 0.0 <= earned <= 3.0
