"""First and last tries: each policy gives the same marks by reading and by plain nbgrader.

What is expected is worked out here from a table of right and wrong, not by the kit.
"""
from __future__ import annotations

import json
from collections.abc import Callable
from itertools import cycle, product
from pathlib import Path

import pytest
from full_unit import EXERCISES
from handing_in import HERE, answered, find, hand_in_to, make_course, released
from lanes import by_nbgrader, by_reading
from test_equality import every_kind_source

from acidbase_lib.classroom.gradebook.mark_class import mark_class
from acidbase_lib.classroom.gradebook.read_gradebook import read_marks
from acidbase_lib.classroom.marking.reading_lane import mark_notebook
from acidbase_lib.classroom.notebooks.assignment import AssignmentSource
from acidbase_lib.teaching.questions.exercise import Mark
from acidbase_lib.teaching.questions.first_try import place_of, with_first_try
from acidbase_lib.teaching.questions.which_try import COUNTS

# What a learner may write that earns everything, and what earns nothing.
RIGHT = {"q1-1": "pH: low\nbicarbonate: high\ndisorder: respiratory acidosis", "q1-2": "answer: B",
         "q1-3": "signs: flushed skin, drowsiness",
         "q1-4": "steps: pH > PaCO2 > bicarbonate > name",
         "q1-5": "expected PaCO2: 4.0 kPa", "q1-7": "bed 1: low\nbed 2: normal\nbed 3: high",
         "q1-8": "disorder: metabolic acidosis\npH: low"}
WRONG = {"q1-1": "pH: high\nbicarbonate: low\ndisorder: metabolic alkalosis", "q1-2": "answer: A",
         "q1-3": "signs: muscle cramps", "q1-4": "steps: name > bicarbonate > PaCO2 > pH",
         "q1-5": "expected PaCO2: 33", "q1-7": "bed 1: high\nbed 2: low\nbed 3: normal",
         "q1-8": "disorder: metabolic acidosis\npH: high"}
NONE = dict.fromkeys(RIGHT, "")
POINTS = {exercise.id: exercise.points for exercise in EXERCISES}
FIELDS = {exercise.id: exercise.fields for exercise in EXERCISES}

Damage = Callable[[str], str]


def _drop(part: str) -> Damage:
    return lambda text: "\n".join(line for line in text.split("\n") if part not in line)


def _without_block(text: str) -> str:
    return text.split("\n# first try")[0]


def _forged(text: str) -> str:
    """Whatever was first, right answers are written over it; the seal stays."""
    head, _, block = text.partition("# first try")
    question = head.split()[1]
    seal = block.split("\n")[0]
    return f"{head}# first try{seal}\n" + "\n".join(
        f"# {line}" for line in RIGHT[question].split("\n"))


KEPT: dict[str, Damage] = {
    "as it is": str, "a note behind it": lambda text: text + "\n# a note of mine",
    "twice alike": lambda text: text + "\n" + text[text.index("# first"):] if "# first" in text else
    text, "Windows": lambda text: text.replace("\n", "\r\n")}
LOST: dict[str, Damage] = {"taken out": _without_block, "its title taken out": _drop("first try")}
BROKEN: dict[str, Damage] = {
    "written over": _forged, "its seal changed": lambda text: text.replace("kit): ", "kit): 1"),
    "a line taken out": _drop("# how sure"), "a word changed": lambda text: text.replace(
        "# how sure: unsure", "# how sure: sure")}
ALL = {**KEPT, **LOST, **BROKEN}


def submission(question: str, first: dict[str, str], last: dict[str, str], damage: str) -> str:
    before = f"%%chart {question}\n{first[question]}\nhow sure: unsure"
    text = before if not first[question] else with_first_try(before, FIELDS[question],
                                                             place_of(question, 1))
    assert (text == before) == (first is NONE)
    text = text.replace(first[question], last[question], 1) if first[question] else \
        f"%%chart {question}\n{last[question]}\nhow sure: unsure"
    return ALL[damage](text)


def expected(question: str, first: dict[str, str], last: dict[str, str], damage: str,
             counts: str) -> float:
    points, last_right = POINTS[question], last is RIGHT
    if first is NONE or damage in LOST:
        return points * last_right
    first_right = first is RIGHT and damage in KEPT
    return points * {"first try": float(first_right), "last try": float(last_right),
                     "mended half": 1.0 if first_right else 0.5 * last_right}[counts]


def course_of(folder: Path, counts: str) -> Path:
    notebook = every_kind_source()
    find(notebook, "01-setup")["source"] = ("from full_unit import open_all_kinds\n"
                                            f"unit = open_all_kinds({counts!r})")
    return make_course(folder, "small", notebook)


def hand_in_tries(course: Path, counts: str, size: int) -> dict[str, dict[str, float]]:
    """Hand in so many notebooks: each question its own pair of tries and its own damage."""
    source = course / "solutions" / "small" / "small.ipynb"
    release = released(AssignmentSource.from_file(source))
    turns = cycle(product((RIGHT, WRONG, NONE), (RIGHT, WRONG, NONE), ALL))
    told: dict[str, dict[str, float]] = {}
    for number in range(size):
        mine = {question: next(turns) for question in RIGHT}
        notebook = answered(release, {q: submission(q, *case) for q, case in mine.items()})
        if number % 5 == 4:  # a kinder policy written into the learner's own setup cell
            find(notebook, "01-setup")["source"] = "unit = open_all_kinds('last try')"
        hand_in_to(course, f"l{number:03d}", notebook)
        told[f"l{number:03d}"] = {f"{q}-check": expected(q, *case, counts)
                                  for q, case in mine.items()}
    return told


def only(marks: object, questions: object) -> dict[str, dict[str, float]]:
    return {who: {cell: row[cell] for cell in questions[who]}  # type: ignore[index]
            for who, row in marks.items()}  # type: ignore[attr-defined]


@pytest.mark.parametrize("counts", COUNTS)
def test_reading_gives_what_the_table_says_for_every_pair_and_damage(
        counts: str, tmp_path: Path) -> None:
    course = course_of(tmp_path / "school", counts)
    source = AssignmentSource.from_file(course / "solutions" / "small" / "small.ipynb")
    release = released(source)
    for first, last, damage in product((RIGHT, WRONG, NONE), (RIGHT, WRONG, NONE), ALL):
        done = mark_notebook(answered(release, {
            q: submission(q, first, last, damage) for q in RIGHT}), source)
        got = {q: done.scores[f"{q}-check"] for q in RIGHT}
        assert got == {q: expected(q, first, last, damage, counts) for q in RIGHT}, (damage, got)


@pytest.mark.slow
@pytest.mark.parametrize(("size", "counts"), [
    *((8, counts) for counts in COUNTS),
    *(pytest.param(100, counts, marks=pytest.mark.long) for counts in COUNTS)])
def test_plain_nbgrader_agrees_with_it(size: int, counts: str, tmp_path: Path,
                                       monkeypatch: pytest.MonkeyPatch) -> None:
    course = course_of(tmp_path / "school", counts)
    mark_class(course, "small")
    told = hand_in_tries(course, counts, size)
    read = only(by_reading(course, "small", tmp_path), told)
    assert read == told
    monkeypatch.setenv("PYTHONPATH", str(HERE))  # the kernels import the unit
    assert only(by_nbgrader(course, "small", tmp_path, plain=True), told) == told


def test_the_gradebook_keeps_both_tries_how_sure_and_the_policy(tmp_path: Path) -> None:
    course = course_of(tmp_path / "school", "mended half")
    release = released(AssignmentSource.from_file(course / "solutions" / "small" / "small.ipynb"))
    hand_in_to(course, "ada", answered(release, {
        "q1-1": submission("q1-1", WRONG, RIGHT, "as it is")}))
    mark_class(course, "small")
    (kept,) = read_marks(course, "small")
    (mark,) = (mark for mark in kept.marks if mark.question == "q1-1")
    assert mark.first is not None
    assert (mark.points, mark.first.points, mark.first.last) == (1.5, 0.0, 3.0)
    assert (mark.first.how_sure, mark.how_sure, mark.first.counts) == (
        "unsure", "unsure", "mended half")
    assert [part.given for part in mark.first.parts] == ["high", "low", "metabolic alkalosis"]
    assert Mark.from_record(json.loads(json.dumps(mark.record()))) == mark


def test_an_authors_own_first_try_is_no_part_of_the_model_answer(tmp_path: Path) -> None:
    notebook = every_kind_source()
    cell = find(notebook, "q1-1-answer")
    cell["source"] = submission("q1-1", WRONG, RIGHT, "as it is")
    source = AssignmentSource.from_notebook(notebook, "small")
    assert "first try" not in str(source.answers["q1-1"].solution)
    assert source.answers["q1-1"].text == "%%chart q1-1\npH:\nbicarbonate:\ndisorder:"
