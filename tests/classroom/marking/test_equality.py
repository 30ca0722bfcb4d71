"""Generated submissions of every kind of question: reading = plain nbgrader = the rules by hand."""
from __future__ import annotations

import random
from pathlib import Path
from typing import get_args

import pytest
from full_unit import ANSWERS, EXERCISES
from handing_in import (
    HERE,
    Notebook,
    _cell,
    answered,
    find,
    hand_in_to,
    make_course,
    released,
    small_source,
)
from lanes import auto_scores, by_nbgrader, by_reading

from acidbase_lib.classroom.gradebook.mark_class import mark_class
from acidbase_lib.classroom.notebooks.assignment import AssignmentSource
from acidbase_lib.teaching.questions.exercise import ExerciseKind

Expected = dict[str, dict[str, float | None]]


def every_kind_source() -> Notebook:
    """The instructor's notebook: the small one, and the three questions it lacks."""
    notebook = small_source()
    find(notebook, "01-setup")["source"] = ("from full_unit import open_all_kinds\n"
                                            "unit = open_all_kinds()")
    for exercise in EXERCISES:
        if exercise.id in {"q1-7", "q1-8", "q1-9"}:
            lines, points = ANSWERS[exercise.id][0]
            assert points == exercise.points
            notebook["cells"] += [
                _cell("code", f"{exercise.id}-answer", f"%%chart {exercise.id}\n{lines}",
                      solution=True),
                _cell("code", f"{exercise.id}-check", f'unit.check("{exercise.id}")\n'
                      f'### BEGIN HIDDEN TESTS\nunit.mark("{exercise.id}")\n'
                      "### END HIDDEN TESTS", grade=True, locked=True, points=exercise.points)]
    return notebook


def hand_in_generated(course: Path, size: int) -> Expected:
    """Hand in so many submissions; return what the rules give them."""
    release = released(AssignmentSource.from_notebook(every_kind_source(), "small"))
    dice, expected = random.Random(300), {}
    for number in range(size):
        texts, marks = {}, {}
        for question, choices in ANSWERS.items():
            # the first submissions go through every choice once, the others mix them
            lines, points = choices[number % len(choices)] if number < 7 else dice.choice(choices)
            if lines:
                texts[question] = f"%%chart {question}\n{lines}"
            part = "answer" if question == "q1-6" else "check"
            marks[f"{question}-{part}"] = points
        hand_in_to(course, f"l{number:03d}", answered(release, texts))
        expected[f"l{number:03d}"] = marks
    return expected


def test_every_kind_of_question_is_in_it() -> None:
    assert {exercise.kind for exercise in EXERCISES} == set(get_args(ExerciseKind))


@pytest.mark.slow
@pytest.mark.parametrize("size", [7, pytest.param(300, marks=pytest.mark.long)])
def test_both_lanes_give_what_the_rules_give(size: int, tmp_path: Path,
                                             monkeypatch: pytest.MonkeyPatch) -> None:
    course = make_course(tmp_path / "school", "small", every_kind_source())
    mark_class(course, "small")
    expected = hand_in_generated(course, size)
    assert by_reading(course, "small", tmp_path) == expected
    monkeypatch.setenv("PYTHONPATH", str(HERE))  # the kernels import the unit
    assert by_nbgrader(course, "small", tmp_path, plain=True) == expected


@pytest.mark.parametrize("size", [30, pytest.param(300, marks=pytest.mark.slow)])
def test_by_reading_alone(size: int, tmp_path: Path) -> None:
    course = make_course(tmp_path / "school", "small", every_kind_source())
    expected = hand_in_generated(course, size)
    mark_class(course, "small")
    assert auto_scores(course) == expected
