"""At sign-in the course is there, a learner's work stays, and what is wrong is one sentence."""

from __future__ import annotations

import json
import os
import shutil
import sys
from pathlib import Path

import pytest
from traitlets.config.loader import PyFileConfigLoader

from acidbase_lib import __version__
from acidbase_lib.classroom.hub.hub_files import write_hub_files
from acidbase_lib.classroom.hub.hub_plan import HubPlan
from acidbase_lib.classroom.hub.sign_in import prepare_home
from acidbase_lib.classroom.private import others_can_read
from acidbase_lib.classroom.released_course import course_folder, unit_ids_of

UNIT = "02_primary_disorder"


@pytest.fixture
def home(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.setenv("HOME", str(tmp_path / "anna"))
    (tmp_path / "anna").mkdir()
    return tmp_path / "anna"


def sign_in(tmp_path: Path, **plan: str):
    """Start as a learner's server would; its settings, and what the learner is told."""
    out = tmp_path / "hub"
    write_hub_files(HubPlan(str(out), "/srv/acidbase", str(tmp_path / "exchange"), **plan), out)
    before = os.umask(0o022)
    try:
        settings = PyFileConfigLoader("jupyter_server_config.py",
                                      path=str(out / "learner")).load_config()
    finally:
        left = os.umask(before)
    assert left == 0o077, "what a learner's server writes would be open to others"
    page = Path.home() / "please_tell.ipynb"
    return settings, json.loads(page.read_text())["cells"][0]["source"] if page.exists() else ""


def test_a_new_learner_has_the_home_page_and_every_unit(tmp_path: Path, home: Path) -> None:
    settings, told = sign_in(tmp_path)
    assert told == ""
    assert "default_url" not in settings.ServerApp, "the hub's own stays: the home page"
    assert {path.name for path in home.iterdir() if not path.name.startswith(".")} == {
        "home.ipynb", *unit_ids_of(course_folder())}


@pytest.mark.skipif(os.name == "nt", reason="Windows has other rights")
def test_nobody_else_can_read_a_learner_s_units_old_ones_included(
        tmp_path: Path, home: Path) -> None:
    released = tmp_path / "outbound"
    shutil.copytree(course_folder() / UNIT, released / UNIT)
    old = home / "03_compensation"
    shutil.copytree(course_folder() / old.name, old)
    for path in (*old.rglob("*"), old, *released.rglob("*")):
        path.chmod(0o755 if path.is_dir() else 0o644)
    assert prepare_home(home, __version__, released) == ""
    made = [home / unit for unit in unit_ids_of(course_folder())]
    assert list(others_can_read(made)) == []
    assert all(path.stat().st_mode & 0o400 for unit in made for path in unit.rglob("*"))
    assert (released / UNIT).stat().st_mode & 0o005, "what is handed out stays open"


def test_a_released_unit_is_taken_from_the_exchange(tmp_path: Path, home: Path) -> None:
    released = tmp_path / "outbound"
    shutil.copytree(course_folder() / UNIT, released / UNIT)
    (released / UNIT / f"{UNIT}.ipynb").write_text("the instructor's own form")
    (released / "half").mkdir()
    assert prepare_home(home, __version__, released) == ""
    assert (home / UNIT / f"{UNIT}.ipynb").read_text() == "the instructor's own form"
    assert not (home / "half").exists()


def test_what_a_learner_wrote_is_never_written_over(tmp_path: Path, home: Path) -> None:
    prepare_home(home, __version__, tmp_path)
    (home / UNIT / f"{UNIT}.ipynb").write_text("my answers")
    released = tmp_path / "outbound"
    shutil.copytree(course_folder() / UNIT, released / UNIT)
    prepare_home(home, __version__, released)
    assert (home / UNIT / f"{UNIT}.ipynb").read_text() == "my answers"


@pytest.mark.parametrize("made", [0o755, 0o711, 0o2775, 0o700])
def test_a_home_open_to_other_accounts_is_closed_at_sign_in(
        tmp_path: Path, home: Path, made: int) -> None:
    home.chmod(made)  # as useradd makes it where HOME_MODE is not set, and as others do
    assert sign_in(tmp_path)[1] == ""
    assert home.stat().st_mode & 0o777 == 0o700


def test_a_home_on_a_disk_without_such_rights_stops_nobody(
        tmp_path: Path, home: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def refused(*_: object, **__: object) -> None:
        raise PermissionError(1, "Operation not permitted")

    home.chmod(0o755)
    monkeypatch.setattr(Path, "chmod", refused)
    assert prepare_home(home, __version__, tmp_path) == ""
    assert (home / UNIT).is_dir()


def test_without_the_kit_one_sentence_says_whom_to_tell_what(
        tmp_path: Path, home: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setitem(sys.modules, "acidbase_lib.classroom.commands.home_notebook", None)
    settings, told = sign_in(tmp_path, contact="the skills lab")
    assert settings.ServerApp.default_url == "/notebooks/please_tell.ipynb"
    assert "Tell the skills lab this: \"the course's program, acidbase-lib" in told
    assert "is not installed on learners' servers" in told


def test_another_version_of_the_kit_is_told_and_gone_when_mended(
        tmp_path: Path, home: Path) -> None:
    settings, told = sign_in(tmp_path, version="0.0.1")
    assert f"learners' servers have acidbase-lib {__version__}" in told
    assert settings.ServerApp.default_url == "/notebooks/please_tell.ipynb"
    assert (home / "home.ipynb").is_file(), "the course is there all the same"
    shutil.rmtree(tmp_path / "hub")
    settings, told = sign_in(tmp_path)
    assert told == ""


def test_a_full_home_folder_is_told_and_not_raised(
        tmp_path: Path, home: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    from acidbase_lib.classroom.hub import sign_in as module

    def full(*_: object) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(module, "put_units", full)
    assert "No space left on device" in sign_in(tmp_path)[1]
