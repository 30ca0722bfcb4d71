"""A school's own unit survives an upgrade of the kit, a moved folder, and a Windows path.

`form_of_an_older_kit` was written by this kit at commit d779c93 (2026-12-01, before PaCO2 could be
told in kPa): the instructor's notebook of form 5 of a ward round, and one that was handed in with
every key of that version.
"""
from __future__ import annotations

import re
import shutil
from pathlib import Path

import nbformat
import pytest
from own_school import WARD_ROUND, make_school

from acidbase_lib.classroom.commands.main import main
from acidbase_lib.classroom.gradebook.course_folder import CourseFolder
from acidbase_lib.classroom.marking.own_notebook import unit_of
from acidbase_lib.classroom.released_course import course_folder
from acidbase_lib.classroom.report.class_pages import results_of

OLD = Path(__file__).parent / "form_of_an_older_kit"
NAME = "ward_round_form_5"


@pytest.fixture
def course(tmp_path: Path) -> Path:
    """The older course, in a folder that it was not written in; its school is gone."""
    root = tmp_path / "moved" / "course"
    (root / "solutions" / NAME).mkdir(parents=True)
    (root / "course").mkdir()
    shutil.copy(OLD / "source.ipynb", root / "solutions" / NAME / f"{NAME}.ipynb")
    shutil.copy(course_folder() / "nbgrader_config.py", root / "course")
    (root / "files").mkdir()
    shutil.copy(OLD / "handed_in.ipynb", root / "files" / "ann.ipynb")
    (root / "roster.csv").write_text("id,name\nann,Ann\n", encoding="utf-8")
    return root


def collected(root: Path) -> object:
    assert main(["collect", str(root / "files"), "--unit", NAME, "--course", str(root), "--roster",
                 str(root / "roster.csv"), "--out", str(root / "out")]) == 0
    (result,) = results_of(CourseFolder.find(root), NAME, {})
    return result


@pytest.mark.slow
def test_a_form_of_an_older_kit_is_marked_as_it_was_asked(course: Path) -> None:
    """Every key of then earns its points now, by the ranges of then."""
    unit = unit_of(nbformat.read(OLD / "handed_in.ipynb", as_version=4))
    assert unit.settings.hco3.high == 28
    result = collected(course)
    earned = {mark.question: mark.points for mark in result.marks}
    asked = {one.id: one.points for one in unit if one.key is not None}
    assert len(asked) == 5
    assert {name: earned[name] for name in asked} == asked


@pytest.mark.slow
def test_a_question_that_was_changed_since_is_not_marked_and_says_why(course: Path,
                                                                      tmp_path: Path) -> None:
    """The same form from a file whose sodium is now 150: the older 26 is wrong there, not here."""
    newer = WARD_ROUND.replace("Sodium is 140", "Sodium is 150").replace("number: 26", "number: 36")
    school = make_school(tmp_path / "newer", newer, "hco3 = [21, 28]\n")
    assert main(["form", "ward_round", "--seed", "5", "--school", str(school), "--out",
                 str(course), "--force"]) == 0
    asked = unit_of(nbformat.read(OLD / "handed_in.ipynb", as_version=4))
    (gap,) = (one.id for one in asked if one.kind == "number")
    result = collected(course)
    told = {mark.question: mark for mark in result.marks}
    assert told[gap].state == "waits for the instructor"
    assert [one for one in told if told[one].state == "waits for the instructor"] == [
        gap, *(one.id for one in asked if one.kind == "rationale")]
    (page,) = (course / "out" / "feedback").glob("*.html")
    text = " ".join(re.sub(r"<[^>]+>", " ", page.read_text(encoding="utf-8")).split())
    assert "Question 1 is not the one that was released: an older version" in text
    assert gap == "q1"


def notebooks(folder: Path, tmp_path: Path) -> str:
    out = tmp_path / f"out {folder.name[:3]}"
    assert main(["form", "ward_round", "--seed", "3", "--school", str(folder), "--out",
                 str(out)]) == 0
    (path,) = (out / "course").glob("*/*.ipynb")
    return path.read_text(encoding="utf-8")


@pytest.mark.slow
def test_where_a_folder_lies_is_in_no_notebook_and_its_lines_may_end_as_on_windows(
        tmp_path: Path) -> None:
    """A name with a drive, backslashes, a space and an umlaut; CRLF and a byte order mark."""
    plain = make_school(tmp_path / "school")
    windows = make_school(tmp_path / "C:\\Users\\J Müller\\school",
                          "\ufeff" + WARD_ROUND.replace("\n", "\r\n"))
    one, other = notebooks(plain, tmp_path), notebooks(windows, tmp_path)
    assert "Users" not in other
    assert str(tmp_path) not in one + other
    packed = re.compile(r'questions=\\"[^"]+\\"')
    assert packed.sub("", one) == packed.sub("", other)
