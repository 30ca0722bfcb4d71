"""The invented class: every habit is there, nothing is half-written, and the parts agree."""
from __future__ import annotations

import csv
import json
from collections import Counter

import pytest

from acidbase_lib.classroom.commands import demo
from acidbase_lib.classroom.commands.invented_class import (
    MIX,
    answers_of,
    invent_class,
    submission,
    typed,
)
from acidbase_lib.classroom.commands.main import main
from acidbase_lib.classroom.errors import CommandError
from acidbase_lib.classroom.report.report import ideas_asked
from acidbase_lib.teaching.misconceptions.catalog import MISCONCEPTIONS
from acidbase_lib.teaching.questions.answer_text import parse_chart
from acidbase_lib.teaching.unit import open_unit

SIZE = 12


@pytest.fixture(scope="module")
def unit():
    return open_unit(demo.UNIT, form=1)


@pytest.fixture(scope="module")
def told(tmp_path_factory):
    """One small demo, run as a user runs it: its folder, and what was printed."""
    import contextlib
    import io

    out, printed = tmp_path_factory.mktemp("demo") / "made", io.StringIO()
    with contextlib.redirect_stdout(printed):
        assert main(["demo", "--out", str(out), "--learners", str(SIZE)]) == 0
    return out, printed.getvalue()


def rows(path, encoding="utf-8"):
    with path.open(encoding=encoding, newline="") as file:
        return list(csv.DictReader(file))


def test_twenty_four_learners_show_every_habit():
    habits = Counter(x.habit for x in invent_class(24, ["a", "b", "c", "d"]))
    assert habits == Counter(dict(MIX))


@pytest.mark.parametrize("size", [3, 10, 24, 100])
def test_any_size_can_be_invented_with_names_that_differ(size):
    learners = invent_class(size, ["a", "b"])
    assert len({x.learner for x in learners}) == len({x.name for x in learners}) == size


def test_the_same_seed_gives_the_same_class_and_another_another():
    assert invent_class(24, ["a"], 5) == invent_class(24, ["a"], 5)
    assert invent_class(24, ["a"], 5) != invent_class(24, ["a"], 6)


def test_a_learner_with_one_idea_answers_as_it_would(unit):
    planted = demo.ideas_to_plant(unit.exercises, ideas_asked(unit.exercises, MISCONCEPTIONS))
    assert len(planted) >= 3
    holder = next(x for x in invent_class(24, planted) if x.habit == "one idea")
    given = answers_of(holder, unit.exercises)
    told = [(given[q][name], value) for q, e in unit.exercises.items()
            for name, value in e.predicted.get(holder.ideas[0], {}).items()]
    assert sum(a == b for a, b in told) >= 0.8 * len(told)


@pytest.mark.parametrize("style", ["as offered", "shorter", "capitals"])
def test_however_it_is_typed_it_means_the_same(unit, style):
    for exercise in unit:
        written = typed(exercise, exercise.key, style)
        assert dict(parse_chart(written, exercise.fields).values) == dict(exercise.key)


def test_a_broken_file_is_no_json_and_a_copied_cell_is_there_twice(unit):
    release = {"cells": [{"cell_type": "code", "id": "a", "source": "%%chart q2-1\ndisorder:",
                          "metadata": {"nbgrader": {"grade_id": "q2-1-answer"}}}]}
    learners = {x.habit: x for x in invent_class(24, ["a"])}
    with pytest.raises(json.JSONDecodeError):
        json.loads(submission(learners["broken file"], release, unit.exercises))
    twice = json.loads(submission(learners["copied cell"], release, unit.exercises))
    assert [c["metadata"]["nbgrader"]["grade_id"] for c in twice["cells"]] == ["q2-1-answer"] * 2


@pytest.mark.slow
def test_the_first_line_says_that_the_class_is_invented(told):
    assert told[1].splitlines()[0] == demo.FIRST_LINE


@pytest.mark.slow
def test_it_says_where_everything_is_and_shows_its_progress(told):
    out, printed = told
    assert f"marking: {SIZE} of {SIZE}" in printed
    assert "Open first" in printed
    for path in (out / "report" / "class_report.html", out / "grades.csv", out / "feedback",
                 out / "grading" / "submitted"):
        assert str(path) in printed
        assert path.exists()


@pytest.mark.slow
def test_everyone_has_a_page_and_a_line_in_the_grade_file(told):
    out, _ = told
    grades = rows(out / "grades.csv")
    assert {r["id"] for r in grades} == {p.stem for p in (out / "feedback").glob("*.html")}
    assert len(grades) == SIZE


def test_the_broken_file_is_not_marked_and_is_not_a_zero(told):
    out, _ = told
    planted = {r["id"]: r["habit"] for r in rows(out / "report" / "planted_habits.csv",
                                                 "utf-8-sig")}
    for row in rows(out / "grades.csv"):
        assert (row["state"] == "not marked") == (planted[row["id"]] == "broken file")
        assert (row["score"] == "") == (row["state"] == "not marked")
        if planted[row["id"]] in {"sound", "copied cell"}:
            assert row["score"] == row["maximum"]


def test_planted_ideas_are_found_and_sound_learners_are_left_alone(told):
    out, _ = told
    planted = {r["id"]: r for r in rows(out / "report" / "planted_habits.csv", "utf-8-sig")}
    found = {r["id"]: r["ideas"] for r in rows(out / "report" / "learners.csv", "utf-8-sig")}
    one = [who for who, r in planted.items() if r["habit"] == "one idea"]
    assert sum(found[who] == planted[who]["ideas"] for who in one) >= len(one) - 1
    assert not any(found[who] for who, r in planted.items()
                   if r["habit"] in {"sound", "careless", "copied cell"})


def test_nbgrader_finds_the_course_and_its_marks(told):
    from nbgrader.api import Gradebook

    out, _ = told
    with Gradebook(f"sqlite:///{out / 'grading' / 'gradebook.db'}") as book:
        marked = list(book.assignment_submissions(demo.UNIT))
        assert len(marked) >= SIZE - 1


@pytest.mark.slow
def test_another_demo_may_replace_it_and_keeps_files_of_your_own(told):
    out, _ = told
    (out / "my notes.txt").write_text("mine")
    demo.make_demo(out, 3, seed=2)
    assert len(rows(out / "grades.csv")) == 3
    assert (out / "my notes.txt").read_text() == "mine"
    assert not list(out.parent.glob(".*.part"))


def test_a_folder_with_anything_else_in_it_is_refused(tmp_path):
    (tmp_path / "thesis.txt").write_text("mine")
    with pytest.raises(CommandError, match="not a demo's"):
        demo.make_demo(tmp_path)
    assert [p.name for p in tmp_path.iterdir()] == ["thesis.txt"]


def test_a_stop_halfway_leaves_nothing(tmp_path):
    def stop(stage, done, total):
        if stage == "inventing submissions" and done == 2:
            raise KeyboardInterrupt
    with pytest.raises(KeyboardInterrupt):
        demo.make_demo(tmp_path / "made", 3, step=stop)
    assert list(tmp_path.iterdir()) == []


def test_the_note_counts_honestly():
    class Found:
        def __init__(self, *ideas):
            self.ideas = ideas
    learners = invent_class(24, ["a", "b"])
    missed = {x.learner: Found() for x in learners}
    note = " ".join(demo.agreement(learners, missed))
    assert "of 10 learners with one planted idea, 0 were given that idea" in note
    assert "and 10 none" in note
    assert "Of 1 with two ideas, 0 were given both" in note
