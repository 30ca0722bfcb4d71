"""Odd files and folders given to commands: one clear sentence, no waiting, nobody's work lost."""
from __future__ import annotations

import json
import os

import pytest

from acidbase_lib.classroom.atomic_write import replace_folder
from acidbase_lib.classroom.commands import study
from acidbase_lib.classroom.commands.form import read_template
from acidbase_lib.classroom.commands.main import main
from acidbase_lib.classroom.errors import CommandError
from acidbase_lib.classroom.folder_lock import NAME, one_at_a_time

UNIT = "02_primary_disorder"
NO_NOTEBOOKS = {
    "a table": b"id,name\n1,Ana\n",
    "UTF-16": '{"cells": []}'.encode("utf-16"),
    "no metadata": b'{"nbformat": 4, "nbformat_minor": 5, "cells": []}',
    "metadata of null": b'{"nbformat": 4, "nbformat_minor": 5, "metadata": null, "cells": []}',
    "cells that are none": b'{"nbformat": 4, "nbformat_minor": 5, "metadata": {}, "cells": [1]}',
    "too deep": b'{"nbformat": 4, "metadata": ' + b'{"a":' * 9_000 + b"1" + b"}" * 9_000
                + b', "cells": []}',
    "empty": b"",
}
needs_pipes = pytest.mark.skipif(not hasattr(os, "mkfifo"), reason="this system has no pipes")


@pytest.mark.parametrize("data", NO_NOTEBOOKS.values(), ids=NO_NOTEBOOKS)
def test_a_source_that_is_no_notebook_is_one_sentence(data, tmp_path):
    path = tmp_path / "mine.ipynb"
    path.write_bytes(data)
    with pytest.raises(CommandError, match=r"mine\.ipynb"):
        read_template(path)


@pytest.mark.parametrize("words", [
    ["form", "07_clinical_priority", "--seed", "3"], ["worksheet", "07_clinical_priority"],
    ["quiz", "07_clinical_priority"]], ids=lambda words: words[0])
def test_each_command_that_takes_a_source_says_so(words, tmp_path, capsys):
    path = tmp_path / "mine.ipynb"
    path.write_text("id,name")
    out = tmp_path / "out.zip" if words[0] == "quiz" else tmp_path / "out"
    assert main([*words, "--source", str(path), "--out", str(out)]) == 2
    told = capsys.readouterr().err
    assert told.count("\n") == 1
    assert "mine.ipynb" in told
    assert not out.exists()


@pytest.mark.slow
def test_a_form_is_not_written_over_a_folder_that_holds_other_files(tmp_path, capsys):
    theirs = tmp_path / "course" / f"{UNIT}_form_3" / "work.txt"
    theirs.parent.mkdir(parents=True)
    theirs.write_text("weeks of work")
    assert main(["form", UNIT, "--seed", "3", "--out", str(tmp_path)]) == 2
    assert "is there already" in capsys.readouterr().err
    assert theirs.read_text() == "weeks of work"


def test_a_link_in_the_place_of_a_folder_is_replaced_again_and_again(tmp_path):
    new, other = tmp_path / "new", tmp_path / "other"
    for folder in (new, other):
        folder.mkdir()
        (folder / "file").write_text(folder.name)
    target = tmp_path / "target"
    target.symlink_to(other, target_is_directory=True)
    for _ in range(2):
        replace_folder(new, target)
        assert (target / "file").read_text() == "new"
        assert not target.is_symlink()
        assert sorted(p.name for p in tmp_path.iterdir()) == ["new", "other", "target"]
    assert (other / "file").read_text() == "other"


def test_feedback_is_not_written_over_another_notebook(tmp_path, capsys):
    mine, other = tmp_path / "mine.ipynb", tmp_path / "other.ipynb"
    for path in (mine, other):
        path.write_text("work")
    assert main(["mark", str(mine), "--html", str(other)]) == 2
    assert ".html" in capsys.readouterr().err
    assert other.read_text() == "work"


@pytest.fixture
def course(tmp_path):
    folder = tmp_path / "kit"
    (folder / "01_one").mkdir(parents=True)
    (folder / "01_one" / "01_one.ipynb").write_text('{"version": 1}')
    return folder


@needs_pipes
def test_a_pipe_in_the_place_of_a_unit_is_told_and_not_waited_at(course, tmp_path):
    mine = tmp_path / "mine" / "01_one"
    mine.mkdir(parents=True)
    os.mkfifo(mine / "01_one.ipynb")
    with pytest.raises(CommandError, match="is no file"):
        study.copy_course(course, tmp_path / "mine")


@needs_pipes
def test_a_lock_that_is_a_pipe_is_not_waited_at(tmp_path):
    os.mkfifo(tmp_path / NAME)
    with one_at_a_time(tmp_path):
        (tmp_path / "done").touch()
    assert (tmp_path / "done").exists()


def _pipe(path):
    os.mkfifo(path)


def _deep(path):
    path.write_text("[" * 200_000)


@pytest.mark.parametrize("spoil", [pytest.param(_pipe, marks=needs_pipes), _deep])
def test_a_spoiled_record_of_copies_loses_no_work(spoil, course, tmp_path):
    study.copy_course(course, tmp_path / "mine")
    mine = tmp_path / "mine" / "01_one" / "01_one.ipynb"
    mine.write_text("my answers")
    record = tmp_path / "mine" / study.RECORD
    record.unlink()
    spoil(record)
    study.copy_course(course, tmp_path / "mine")
    assert mine.read_text() == "my answers"
    assert record.is_file()


def test_the_kits_own_course_is_not_studied_in(course, tmp_path):
    with pytest.raises(CommandError, match="own course"):
        study.copy_course(course, course / "01_one" / "..")
    assert [p.name for p in course.iterdir()] == ["01_one"]


@pytest.mark.parametrize("call", [
    'open_unit("' + "x" * 10_000 + '")', f'open_unit("{UNIT}", order="' + "a" * 10_000 + '")',
    f'open_unit("{UNIT}", picks="' + "a" * 10_000 + '")',
    f'open_unit("{UNIT}", form=' + "9" * 4_000 + ")"], ids=["unit", "order", "picks", "form"])
def test_an_endless_name_in_a_notebook_is_not_repeated_in_full(call, tmp_path, capsys):
    path = tmp_path / "mine.ipynb"
    path.write_text(json.dumps({"nbformat": 4, "nbformat_minor": 5, "metadata": {}, "cells": [
        {"cell_type": "code", "metadata": {}, "outputs": [], "source": call}]}))
    assert main(["mark", str(path)]) == 2
    assert len(capsys.readouterr().err) < 700


@pytest.mark.parametrize("typed", ["7_35", "7.3_5"])
def test_an_underscore_is_no_part_of_a_number(typed, capsys):
    assert main(["read", typed, "40", "24"]) == 2
    assert "is not a number" in capsys.readouterr().err
