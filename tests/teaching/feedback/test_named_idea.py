"""An idea is named only if its program explains the whole answer."""
from __future__ import annotations

from acidbase_lib.teaching.feedback.named_idea import contradicted, named_idea
from acidbase_lib.teaching.questions.exercise import Exercise
from acidbase_lib.teaching.questions.fields import STANDARD_FIELDS, Field, lettered

ASKED = tuple(STANDARD_FIELDS[name] for name in ("pH", "bicarbonate", "disorder"))
KEY = {"pH": "low", "bicarbonate": "low", "disorder": "metabolic acidosis"}
EXERCISE = Exercise("q", "several parts", 3.0, "", ASKED, KEY, predicted={
    "directions swapped": KEY | {"disorder": "respiratory acidosis"},
    "sides swapped": {"pH": "high", "bicarbonate": "low", "disorder": "metabolic alkalosis"},
    "twin one": KEY | {"bicarbonate": "normal"},
    "twin two": KEY | {"bicarbonate": "normal"}})


def test_an_idea_that_explains_every_line_is_named() -> None:
    assert named_idea(EXERCISE, EXERCISE.predicted["sides swapped"]) == "sides swapped"


def test_an_idea_that_one_line_contradicts_is_not_named() -> None:
    assert named_idea(EXERCISE, KEY | {"disorder": "metabolic alkalosis"}) is None
    assert contradicted(EXERCISE, KEY | {"disorder": "metabolic alkalosis"},
                        "sides swapped") == ("pH",)


def test_a_wrong_line_that_no_idea_writes_names_none() -> None:
    assert named_idea(EXERCISE, KEY | {"pH": "normal", "disorder": "respiratory acidosis"}) is None


def test_two_ideas_that_fit_equally_name_none() -> None:
    assert named_idea(EXERCISE, KEY | {"bicarbonate": "normal"}) is None


def test_a_right_answer_names_none() -> None:
    assert named_idea(EXERCISE, KEY) is None
    assert named_idea(EXERCISE, {}) is None


def test_one_wrong_line_names_none_and_two_do() -> None:
    assert named_idea(EXERCISE, KEY | {"disorder": "respiratory acidosis"}) is None
    assert named_idea(EXERCISE, {"pH": "high", "bicarbonate": "low"}) is None
    two = {"pH": "high", "disorder": "metabolic alkalosis"}
    assert named_idea(EXERCISE, two) == "sides swapped"


def test_of_a_choice_of_several_two_options_tell_and_none_of_them_does_not() -> None:
    asked = Field("answer", "many", lettered(["a", "b", "c"]))
    question = Exercise("q", "select all", 3.0, "", (asked,), {"answer": ("A", "B")}, predicted={
        "sides swapped": {"answer": ("B", "C")}, "directions swapped": {"answer": ()},
        "PaCO2 sign reversed": {"answer": ("A",)}})
    assert named_idea(question, {"answer": ("B", "C")}) == "sides swapped"
    assert named_idea(question, {"answer": ()}) is None
    assert named_idea(question, {"answer": ("A",)}) is None
