"""Wherever a disk is full, a command says so in one sentence, and does its work when there is room.

The disk is full at one of a command's changes, to a file or to the gradebook, and from there on.
"""
from __future__ import annotations

import json
import shutil
from pathlib import Path

import nbgrader.api  # noqa: F401 (once, and not anew in each process)
import pytest
import small_unit
from full_disk import Said, on_a_full_disk
from handing_in import RIGHT, answered, make_course, released, small_source

from acidbase_lib.classroom.commands import collect
from acidbase_lib.classroom.commands.main import main
from acidbase_lib.classroom.commands.safekeeping import backup, check, erase, restore  # noqa: F401
from acidbase_lib.classroom.notebooks.assignment import AssignmentSource
from acidbase_lib.classroom.released_course import course_folder

UNIT = "02_primary_disorder"
#: What is done before each, with room enough.
BEFORE = {
    "collect": (), "backup": ("collect",), "erase": ("collect", "backup"),
    "restore": ("collect", "backup"), "check": ("collect", "backup"),
    "study": (), "worksheet": (), "quiz": (), "mark": (), "hub": (),
}


@pytest.fixture
def place(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A course without a gradebook, and three files of learners."""
    monkeypatch.setattr(collect, "_unit", lambda *_: small_unit.open_small_unit())
    place = tmp_path / "place"
    make_course(place / "school", "small", small_source())
    release = released(AssignmentSource.from_notebook(small_source(), "small"))
    (place / "in").mkdir()
    for number in range(3):
        (place / "in" / f"n{number}01.ipynb").write_text(
            json.dumps(answered(release, dict(list(RIGHT.items())[:number * 3]))))
    (place / "roster.csv").write_text("id\nn001\nn101\nn201\n")
    return place


def words(name: str, place: Path) -> list[str]:
    course = ["--course", f"{place}/school"]
    return [name, *{
        "collect": [f"{place}/in", "--unit", "small", "--roster", f"{place}/roster.csv",
                    "--out", f"{place}/out", *course],
        "erase": ["n101", *course],
        "study": ["02", "--to", f"{place}/mine", "--no-open"],
        "worksheet": [UNIT, "--out", f"{place}/sheets"],
        "quiz": [UNIT, "--out", f"{place}/quiz.zip"],
        "mark": [str(course_folder() / UNIT / f"{UNIT}.ipynb"), "--html", f"{place}/mine.html"],
        "hub": [f"{place}/hub", *course],
    }.get(name, course)]


def run(name: str, place: Path, at: int = 0) -> Said:
    return on_a_full_disk(lambda: main(words(name, place)), place, at)


QUICK = ("study", "mark", "hub")


@pytest.mark.parametrize(("name", "few"), [
    *(pytest.param(name, True, marks=() if name in QUICK else pytest.mark.slow, id=name)
      for name in BEFORE),
    *(pytest.param(name, False, marks=pytest.mark.long, id=f"{name}-many") for name in BEFORE)])
def test_a_full_disk_is_told_in_one_sentence_by_every_command(
        name: str, few: bool, place: Path) -> None:
    for earlier in BEFORE[name]:
        assert run(earlier, place).code == 0
    kept = shutil.copytree(place, place.with_name("kept"))

    def anew(at: int) -> Said:
        shutil.rmtree(place)
        shutil.copytree(kept, place)
        return run(name, place, at)
    whole = anew(0)
    assert whole.code == 0, whole
    told = 0
    every = range(1, whole.changes + 1, max(whole.changes // 60, 1))
    for at in sorted({1, whole.changes // 3, *whole.commits} if few else {*every, *whole.commits}):
        said = anew(at)
        assert "Traceback" not in said.out + said.err, (at, said)
        if said.code == 0:  # what it could not write was not needed, such as a lock's file
            continue
        told += 1
        assert said.code in (1, 2), (at, said)
        assert len(said.err.splitlines()) == 1, (at, said)
        assert len(said.err.replace(str(place), "")) < 300, (at, said)
        assert said.err.startswith(f"acidbase {name}: "), (at, said)
        assert "No space" in said.err or "make room" in said.err, (at, said)
        assert few or run(name, place).code == 0, (at, said)
    assert told or name == "check"
