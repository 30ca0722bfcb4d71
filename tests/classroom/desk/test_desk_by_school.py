"""The desk of a school with a folder of its own: its units are offered, its folder is named."""
from __future__ import annotations

import json
from pathlib import Path

import pytest
from own_school import make_school

from acidbase_lib.classroom.commands.main import main
from acidbase_lib.classroom.desk.desk import open_desk
from acidbase_lib.classroom.desk.panels import OF_A_SCHOOL, PANELS
from acidbase_lib.classroom.released_course import course_folder


@pytest.fixture
def course(tmp_path: Path) -> Path:
    home = tmp_path / "course of ours"
    (home / "course").mkdir(parents=True)
    (home / "course" / "nbgrader_config.py").write_bytes(
        (course_folder() / "nbgrader_config.py").read_bytes())
    return home


def shown(desk: object, panel: str) -> dict:
    return next(one for one in desk.shown["panels"] if one["name"] == panel)


def test_every_command_of_a_panel_that_takes_a_school_is_given_it() -> None:
    from acidbase_lib.classroom.commands.main import WITH_SCHOOL

    used = {{"take in": "collect"}.get(name, name) for name in PANELS}
    assert used & WITH_SCHOOL == OF_A_SCHOOL


def test_the_desk_remembers_the_school_and_its_commands_name_it(course: Path, tmp_path: Path,
                                                                capsys) -> None:
    """Told from the course's folder, so that both may be moved together."""
    make_school(tmp_path / "school", settings="hco3 = [21, 28]\n")
    assert main(["desk", "--course", str(course), "--no-open", "--school",
                 str(tmp_path / "school")]) == 0
    assert capsys.readouterr().out.startswith("School: Harbor Lane School (")
    code = json.loads((course / "desk.ipynb").read_text("utf-8"))["cells"][1]["source"]
    assert code.endswith('open_desk(school="../school")')
    moved = tmp_path / "moved"
    moved.mkdir()
    for one in (course, tmp_path / "school"):
        one.rename(moved / one.name)
    desk = open_desk(moved / course.name, school="../school")
    panel = shown(desk, "worksheet")
    units = next(field for field in panel["fields"] if field["name"] == "unit")
    assert ["ward_round", "ward_round"] in units["options"]
    assert panel["same"].endswith(" --school ../school")


def test_a_course_inside_a_schools_folder_needs_nothing_named(course: Path, tmp_path: Path) -> None:
    school = make_school(tmp_path / "school")
    course.rename(school / "course of ours")
    panel = shown(open_desk(school / "course of ours"), "form")
    units = next(field for field in panel["fields"] if field["name"] == "unit")
    assert ["ward_round", "ward_round"] in units["options"]
    assert "--school" not in panel["same"]
    (school / "school.toml").write_text("name = 3\n", encoding="utf-8")
    assert shown(open_desk(school / "course of ours"), "form")["fields"]
