"""The home page of a learner's folder: written whole, never over a file of the learner's own."""

from __future__ import annotations

import json

import pytest

from acidbase_lib.classroom.commands import home_notebook
from acidbase_lib.classroom.commands.home_notebook import HOME, opening_command, put_home
from acidbase_lib.classroom.released_course import template_notebook
from acidbase_lib.teaching.widgets.opens_ready import NAME

NEWEST = template_notebook("home").read_bytes()


def test_it_is_written_where_it_is_absent(tmp_path):
    assert put_home(tmp_path) == tmp_path / HOME
    assert (tmp_path / HOME).read_bytes() == NEWEST


def test_one_that_was_run_and_saved_is_left_alone(tmp_path):
    notebook = json.loads(NEWEST)
    notebook["cells"][1]["outputs"] = [{"output_type": "stream", "name": "stdout", "text": "x"}]
    (tmp_path / HOME).write_text(json.dumps(notebook))
    before = (tmp_path / HOME).read_bytes()
    assert put_home(tmp_path) == tmp_path / HOME
    assert (tmp_path / HOME).read_bytes() == before


def test_an_older_one_of_ours_is_written_anew(tmp_path):
    (tmp_path / HOME).write_text(json.dumps({"cells": [
        {"cell_type": "code", "source": ["from acidbase_lib import open_home\n", "open_home()"]}]}))
    assert put_home(tmp_path) == tmp_path / HOME
    assert (tmp_path / HOME).read_bytes() == NEWEST


@pytest.mark.parametrize("own", [
    b"", b"{", b"my notes", b'{"cells": []}', b"[]",
    b'{"cells": [{"cell_type": "code", "source": "print(1)"}]}',
    b'{"cells": [{"cell_type": "code", "source": "open_home()"},'
    b' {"cell_type": "code", "source": "mine = 1"}]}'])
def test_a_file_of_the_learners_own_is_left_alone(tmp_path, own):
    (tmp_path / HOME).write_bytes(own)
    assert put_home(tmp_path) is None
    assert (tmp_path / HOME).read_bytes() == own


def test_it_opens_in_the_notebook_view_with_settings_for_this_run_alone(tmp_path, monkeypatch):
    monkeypatch.setenv("JUPYTER_PATH", "/elsewhere")
    command, environment = opening_command(tmp_path / HOME, tmp_path)
    assert command[1:3] == ["-m", "notebook"]
    assert f"--ServerApp.root_dir={tmp_path}" in command
    assert environment["JUPYTER_PATH"].endswith("/elsewhere")
    ours = environment["JUPYTER_PATH"].split(":")[0]
    assert (home_notebook.Path(ours) / "labextensions" / NAME / "package.json").is_file()
    hidden = json.loads((home_notebook._SETTINGS / "labconfig" / "page_config.json").read_text())
    assert "@jupyterlab/launcher-extension" in hidden["disabledExtensions"]


def test_without_the_notebook_view_it_opens_in_lab(tmp_path, monkeypatch):
    monkeypatch.setattr(home_notebook, "find_spec", lambda name: name == "jupyterlab" or None)
    assert opening_command(tmp_path / HOME, tmp_path)[0][2] == "jupyterlab"
    monkeypatch.setattr(home_notebook, "find_spec", lambda name: None)
    with pytest.raises(ModuleNotFoundError):
        opening_command(tmp_path / HOME, tmp_path)
