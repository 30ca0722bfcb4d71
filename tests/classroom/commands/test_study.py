"""Studying at home: the course is copied, and a learner's work is never overwritten."""
from __future__ import annotations

import copy
import hashlib
import json
import os
import subprocess

import pytest
from handing_in import answered, find, released, small_source

from acidbase_lib.classroom.commands import main as command
from acidbase_lib.classroom.commands import study
from acidbase_lib.classroom.notebooks.assignment import AssignmentSource, SourceCell, checksum


@pytest.fixture
def course(tmp_path):
    folder = tmp_path / "kit"
    for unit in ("01_one", "02_two"):
        (folder / unit).mkdir(parents=True)
        (folder / unit / f"{unit}.ipynb").write_text(f'{{"unit": "{unit}", "version": 1}}')
    (folder / "nbgrader_config.py").write_text("c = get_config()")
    return folder


def fates(copied):
    return {c.path.name: c.fate for c in copied}


def test_every_unit_is_copied_and_nothing_else(course, tmp_path):
    copied = study.copy_course(course, tmp_path / "mine")
    assert fates(copied) == {"01_one.ipynb": "copied", "02_two.ipynb": "copied"}
    assert not (tmp_path / "mine" / "nbgrader_config.py").exists()


def test_one_unit_alone(course, tmp_path):
    study.copy_course(course, tmp_path / "mine", "02_two")
    assert [p.name for p in (tmp_path / "mine").glob("0*")] == ["02_two"]


def test_work_that_was_begun_is_kept(course, tmp_path):
    study.copy_course(course, tmp_path / "mine")
    mine = tmp_path / "mine" / "01_one" / "01_one.ipynb"
    mine.write_text("my answers")
    assert fates(study.copy_course(course, tmp_path / "mine"))["01_one.ipynb"] == "kept"
    assert mine.read_text() == "my answers"


def test_a_newer_unit_is_put_beside_begun_work(course, tmp_path):
    study.copy_course(course, tmp_path / "mine")
    mine = tmp_path / "mine" / "01_one" / "01_one.ipynb"
    mine.write_text("my answers")
    (course / "01_one" / "01_one.ipynb").write_text("version 2")
    assert fates(study.copy_course(course, tmp_path / "mine"))[
        "01_one (newer).ipynb"] == "newer version put beside yours"
    assert mine.read_text() == "my answers"
    assert mine.with_name("01_one (newer).ipynb").read_text() == "version 2"
    (course / "01_one" / "01_one.ipynb").write_text("version 3")
    study.copy_course(course, tmp_path / "mine")
    assert mine.with_name("01_one (newer).ipynb").read_text() == "version 2"
    assert mine.with_name("01_one (newer 2).ipynb").read_text() == "version 3"


def test_a_unit_nobody_has_touched_is_updated(course, tmp_path):
    study.copy_course(course, tmp_path / "mine")
    (course / "01_one" / "01_one.ipynb").write_text("version 2")
    assert fates(study.copy_course(course, tmp_path / "mine"))["01_one.ipynb"] == "updated"


def test_a_notebook_that_was_there_before_is_never_overwritten(course, tmp_path):
    mine = tmp_path / "mine" / "01_one" / "01_one.ipynb"
    mine.parent.mkdir(parents=True)
    mine.write_text("something of my own")
    study.copy_course(course, tmp_path / "mine")
    assert mine.read_text() == "something of my own"


def test_a_damaged_record_loses_nothing(course, tmp_path):
    study.copy_course(course, tmp_path / "mine")
    mine = tmp_path / "mine" / "01_one" / "01_one.ipynb"
    mine.write_text("my answers")
    (tmp_path / "mine" / study.RECORD).write_text("][")
    study.copy_course(course, tmp_path / "mine")
    assert mine.read_text() == "my answers"


@pytest.mark.parametrize("says", ["not touched", "has the new version"])
@pytest.mark.parametrize("kind", ["notebook", "no notebook"])
def test_a_record_that_was_forged_costs_nobody_a_word(kind, says, tmp_path):
    """It lies among the learner's files; who shares a folder can write what they like into it."""
    released_now = released(AssignmentSource.from_notebook(small_source(), "small"))
    before = copy.deepcopy(released_now)
    asked, prompt = "Another patient: pH 7.11.", find(before, "q1-1-prompt")
    prompt["source"] = asked
    prompt["metadata"]["nbgrader"]["checksum"] = checksum(
        SourceCell("markdown", "locked", asked, asked, "q1-1-prompt"), asked)
    worked = answered(before, {"q1-2": "%%chart q1-2\nanswer: B"})
    worked["cells"].append({"cell_type": "markdown", "metadata": {}, "source": "my own note"})
    text = json.dumps(worked) if kind == "notebook" else "my own words"
    kit, mine = tmp_path / "kit" / "01_one" / "01_one.ipynb", tmp_path / "mine" / "01_one"
    for path, held in ((kit, json.dumps(released_now)), (mine / "01_one.ipynb", text)):
        path.parent.mkdir(parents=True)
        path.write_text(held)
    told = text if says == "not touched" else kit.read_text()
    (tmp_path / "mine" / study.RECORD).write_text(json.dumps({
        "01_one/01_one.ipynb": hashlib.sha256(told.encode()).hexdigest()}))
    study.copy_course(tmp_path / "kit", tmp_path / "mine")
    assert text in [path.read_text() for path in mine.glob("*.ipynb")]
    if kind == "notebook":  # and the new version is there
        assert "pH 7.11" not in (mine / "01_one.ipynb").read_text()
        assert "my own note" in (mine / "01_one.ipynb").read_text()
    study.copy_course(tmp_path / "kit", tmp_path / "mine")
    assert text in [path.read_text() for path in mine.glob("*.ipynb")]


def test_a_file_in_the_way_is_named(course, tmp_path):
    (tmp_path / "taken").write_text("x")
    with pytest.raises(command.CommandError, match="is a file"):
        study.copy_course(course, tmp_path / "taken")


def test_the_command_copies_a_unit_by_its_number(course, tmp_path, monkeypatch, capsys):
    monkeypatch.setattr(study, "course_folder", lambda: course)
    monkeypatch.chdir(tmp_path)
    assert command.main(["study", "2", "--no-open"]) == 0
    told = capsys.readouterr().out
    assert "copied: 02_two.ipynb" in told
    assert "jupyter notebook" in told
    assert (tmp_path / "acidbase-course" / "02_two" / "02_two.ipynb").is_file()


def test_the_home_page_is_put_beside_the_units(course, tmp_path, monkeypatch, capsys):
    monkeypatch.setattr(study, "course_folder", lambda: course)
    opened = []
    monkeypatch.setattr(study.subprocess, "run", lambda words, env, check: opened.append(words)
                        or type("Done", (), {"returncode": 0}))
    assert command.main(["study", "--to", str(tmp_path / "mine")]) == 0
    assert opened[0][-1].endswith("home.ipynb")
    (tmp_path / "mine" / "home.ipynb").write_text("my own")
    assert command.main(["study", "--to", str(tmp_path / "mine")]) == 0
    assert "is a file of your own and was left alone" in capsys.readouterr().out
    assert opened[1][-1].endswith("mine")


def test_it_opens_the_notebook_view_on_the_unit(course, tmp_path, monkeypatch):
    opened = []
    monkeypatch.setattr(study, "course_folder", lambda: course)
    monkeypatch.setattr(study.subprocess, "run", lambda words, env, check: opened.append(words)
                        or type("Done", (), {"returncode": 0}))
    assert command.main(["study", "01", "--to", str(tmp_path / "mine")]) == 0
    assert opened[0][1:3] == ["-m", "notebook"]
    assert opened[0][-1].endswith("01_one.ipynb")


# --- whose it is to read --------------------------------------------------------------------------

POSIX = pytest.mark.skipif(os.name == "nt", reason="Windows has other rights")


@pytest.fixture
def lax():
    """The mask of most machines: what is made, everyone may read."""
    before = os.umask(0o022)
    yield
    os.umask(before)


@POSIX
@pytest.mark.usefixtures("lax")
def test_on_a_shared_machine_nobody_else_can_read_a_learner_s_folder(tmp_path, monkeypatch):
    """Nor what Jupyter saves in it, which study starts with the same mask."""
    seen = []

    def look(command, **given):
        seen.append(os.umask(0o077))
        return subprocess.CompletedProcess(command, 0)
    monkeypatch.setattr(study.subprocess, "run", look)
    assert command.main(["study", "02", "--to", str(tmp_path / "mine")]) == 0
    assert seen == [0o077]
    assert (tmp_path / "mine" / study.RECORD).is_file()
    assert (tmp_path / "mine" / study.HOME).is_file()
    every = [tmp_path / "mine", *(tmp_path / "mine").rglob("*")]
    assert len(every) > 4
    assert [path for path in every if path.stat().st_mode & 0o077] == []
    assert os.umask(0o022) == 0o022


@POSIX
@pytest.mark.usefixtures("lax")
def test_what_an_earlier_kit_left_open_is_closed_with_the_work_in_it(course, tmp_path):
    mine = tmp_path / "mine"
    study.copy_course(course, mine)
    work = mine / "01_one" / "01_one.ipynb"
    work.write_text("my answers")
    work.with_name("01_one (before 2026-03-01).ipynb").write_text("my earlier answers")
    every = [mine, *mine.rglob("*")]
    for path in every:
        path.chmod(0o755 if path.is_dir() else 0o644)
    study.copy_course(course, mine, "02_two")
    assert [path for path in every if path.stat().st_mode & 0o077
            and path.name != ".acidbase.lock"] == []
    assert work.read_text() == "my answers"


@POSIX
@pytest.mark.usefixtures("lax")
def test_a_home_folder_and_what_else_is_in_it_keep_their_rights(course, tmp_path, monkeypatch):
    monkeypatch.setenv("HOME", str(tmp_path))
    (tmp_path / "pages").mkdir(mode=0o755)
    tmp_path.chmod(0o755)
    for _ in range(2):
        study.copy_course(course, tmp_path)
    assert tmp_path.stat().st_mode & 0o055
    assert (tmp_path / "pages").stat().st_mode & 0o055
    assert not (tmp_path / "01_one").stat().st_mode & 0o077
