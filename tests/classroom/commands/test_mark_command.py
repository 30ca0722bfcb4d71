"""`acidbase mark`: a learner marks their own notebook at home."""
from __future__ import annotations

import json

import pytest

from acidbase_lib.classroom.commands.invented_class import InventedLearner, submission
from acidbase_lib.classroom.commands.main import main
from acidbase_lib.classroom.report.feedback import ASK_FIRST
from acidbase_lib.teaching.questions.answer_text import write_chart
from acidbase_lib.teaching.unit import open_unit

UNIT = open_unit("02_primary_disorder", form=1)
RELEASE = {
    "nbformat": 4, "nbformat_minor": 5, "metadata": {}, "cells": [
        {"cell_type": "code", "id": "setup", "execution_count": None, "outputs": [],
         "metadata": {"nbgrader": {"grade_id": "setup"}},
         "source": 'from acidbase_lib import open_unit\n'
                   'unit = open_unit("02_primary_disorder", form=1)'},
        *({"cell_type": "code", "id": f"{e.id}-answer", "execution_count": None, "outputs": [],
           "metadata": {"nbgrader": {"grade_id": f"{e.id}-answer"}},
           "source": write_chart(e.id, e.fields)} for e in UNIT),
    ]}


@pytest.fixture
def hand_in(tmp_path):
    def write(habit="sound", ideas=()):
        path = tmp_path / "mine.ipynb"
        path.write_bytes(submission(InventedLearner("me", "Me", habit, ideas), RELEASE,
                                    UNIT.exercises))
        return path
    return write


def test_right_answers_earn_full_marks_and_say_why(hand_in, capsys):
    assert main(["mark", str(hand_in())]) == 0
    told = capsys.readouterr().out
    full = sum(e.points for e in UNIT)
    assert f"{full:g} of {full:g} points" in told
    assert "Why" in told
    assert "What to practice next" in told


def test_a_wrong_idea_is_explained_with_its_card(hand_in, capsys):
    assert main(["mark", str(hand_in(ideas=("directions swapped",)))]) == 0
    told = " ".join(capsys.readouterr().out.split())
    assert "What your answers suggest" in told
    assert 'reading "same direction" as respiratory' in told
    assert "right answer:" in told


def test_the_text_fits_80_columns_and_the_file_is_not_changed(hand_in, capsys):
    path = hand_in("guesses")
    before = path.read_bytes()
    assert main(["mark", str(path)]) == 0
    assert all(len(line) <= 80 for line in capsys.readouterr().out.splitlines())
    assert path.read_bytes() == before


def test_what_was_left_out_is_asked_for_and_not_told(tmp_path, capsys):
    """A learner at home can still answer it: no right answer, no reason, in text or page."""
    path, out = tmp_path / "mine.ipynb", tmp_path / "page.html"
    grid = next(exercise for exercise in UNIT if len(exercise.fields) > 1 and exercise.key)
    name = grid.fields[0].name
    half = write_chart(grid.id, grid.fields, {name: grid.key[name]})
    path.write_text(json.dumps({**RELEASE, "cells": [
        {**cell, "source": half} if cell["id"] == f"{grid.id}-answer" else cell
        for cell in RELEASE["cells"]]}))
    assert main(["mark", str(path), "--html", str(out)]) == 0
    told, seen = " ".join(capsys.readouterr().out.split()), out.read_text("utf-8")
    assert told.count(ASK_FIRST) == seen.count(ASK_FIRST) == 1
    assert "right answer" not in told + seen
    assert "Why" not in told + seen


def test_a_page_can_be_written(hand_in, tmp_path, capsys):
    out = tmp_path / "feedback.html"
    assert main(["mark", str(hand_in()), "--html", str(out)]) == 0
    assert out.read_text("utf-8").startswith("<!DOCTYPE html>")
    assert str(out) in capsys.readouterr().out


def test_the_page_never_overwrites_the_notebook(hand_in, capsys):
    path = hand_in()
    before = path.read_bytes()
    assert main(["mark", str(path), "--html", str(path)]) == 2
    assert path.read_bytes() == before
    assert "overwrite" in capsys.readouterr().err


def test_a_broken_file_is_one_sentence(hand_in, capsys):
    assert main(["mark", str(hand_in("broken file"))]) == 2
    told = capsys.readouterr()
    assert told.out == ""
    assert len(told.err.splitlines()) == 1
    assert "could not be marked" in told.err


def test_an_untouched_notebook_earns_nothing_and_blames_nobody(tmp_path, capsys):
    import json

    path = tmp_path / "untouched.ipynb"
    path.write_text(json.dumps(RELEASE))
    assert main(["mark", str(path)]) == 0
    told = capsys.readouterr().out
    assert "0 of" in told
    assert "not answered" in told
    assert "What your answers suggest" not in told
