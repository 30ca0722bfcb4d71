"""Ids that differ in small and capital letters alone are two people, or are refused."""
from __future__ import annotations

import json
import os
import zipfile
from collections.abc import Callable
from pathlib import Path

import pytest
from handing_in import RIGHT, answered, make_course, released, small_source

from acidbase_lib.classroom.commands import collect
from acidbase_lib.classroom.commands.main import main
from acidbase_lib.classroom.gradebook import letter_case
from acidbase_lib.classroom.gradebook.course_folder import CourseFolder
from acidbase_lib.classroom.gradebook.intake import take_in
from acidbase_lib.classroom.gradebook.letter_case import alike, takes_for_one
from acidbase_lib.classroom.gradebook.read_gradebook import grades_table
from acidbase_lib.classroom.gradebook.roster import IntakeError, read_roster
from acidbase_lib.classroom.gradebook.safekeeping.check_course import check_course
from acidbase_lib.classroom.notebooks.assignment import AssignmentSource

pytestmark = pytest.mark.slow

CLASS = {"A1xk": ("Ada", "Quill"), "a1xk": ("Ben", "Moss"), "b2": ("Cy", "Reed")}
Say = Callable[..., int]


@pytest.fixture
def say(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Say:
    """Run a command on a course in which two ids are alike."""
    import small_unit

    monkeypatch.setattr(collect, "_unit", lambda *_: small_unit.open_small_unit())
    root = make_course(tmp_path / "school", "small", small_source())
    release = released(AssignmentSource.from_notebook(small_source(), "small"))
    with zipfile.ZipFile(tmp_path / "in.zip", "w") as archive:
        for number, learner in enumerate(CLASS):
            archive.writestr(f"{learner}.ipynb", json.dumps(answered(
                release, dict(list(RIGHT.items())[:number + 1]))))
    (tmp_path / "roster.csv").write_text("id,first name,last name\n" + "".join(
        f"{learner},{first},{last}\n" for learner, (first, last) in CLASS.items()))

    def run(name: str, *words: str) -> int:
        more = ["--unit", "small", "--roster", str(tmp_path / "roster.csv"), "--out",
                str(root / "grading" / "back")] if name == "collect" else []
        return main([name, *words, *more, "--course", str(root)])
    return run


@pytest.fixture
def school(say: Say, tmp_path: Path) -> Path:
    assert say("collect", str(tmp_path / "in.zip")) == 0
    assert say("backup") == 0
    return tmp_path / "school"


def words(root: Path) -> str:
    return "\n".join(f"{path.relative_to(root)} {path.read_bytes().decode('latin-1')}"
                     for path in sorted(root.rglob("*")) if path.is_file())


@pytest.mark.parametrize(("gone", "name", "stays"), [("A1xk", "Quill", "a1xk"),
                                                     ("a1xk", "Moss", "A1xk")])
def test_one_is_erased_and_the_other_keeps_everything(
        gone: str, name: str, stays: str, school: Path, say: Say, tmp_path: Path,
        capsys: pytest.CaptureFixture[str]) -> None:
    before = {row.learner: row.score for row in grades_table(school, "small")}
    capsys.readouterr()
    assert say("erase", gone, "--roster", str(tmp_path / "roster.csv")) == 0
    assert "It stands in none of them." in capsys.readouterr().out
    assert gone not in words(school)
    assert name not in words(school)
    assert (school / "grading" / "back" / "feedback" / f"{stays}.html").is_file()
    assert [line.split(",")[0] for line in (school / "grading" / "back" / "grades.csv")
            .read_text().splitlines()[1:]] == sorted({*CLASS} - {gone})
    assert say("collect", str(tmp_path / "in.zip")) == 0  # brings back neither, bars nobody
    after = {row.learner: row.score for row in grades_table(school, "small")}
    assert after == {learner: score for learner, score in before.items() if learner != gone}
    assert gone not in words(school)
    assert [one.sentence for one in check_course(CourseFolder.find(school)) if not one.well] == []


def test_one_who_is_let_return_is_that_one(school: Path, say: Say, tmp_path: Path) -> None:
    assert say("erase", "A1xk", "--name", "Ada Quill") == 0
    assert say("erase", "A1xk", "--allow-again") == 0
    assert say("collect", str(tmp_path / "in.zip")) == 0
    assert {row.learner for row in grades_table(school, "small")} == set(CLASS)


def test_an_id_in_letters_that_nobody_has_is_refused(school: Path, say: Say,
                                                     capsys: pytest.CaptureFixture[str]) -> None:
    before = words(school)
    assert say("erase", "A1XK") == 2
    assert "Nobody is called 'A1XK'" in capsys.readouterr().err
    assert words(school) == before


def test_a_disk_that_takes_both_for_one_is_noticed(
        say: Say, tmp_path: Path, monkeypatch: pytest.MonkeyPatch,
        capsys: pytest.CaptureFixture[str]) -> None:
    """As on most Macs and Windows machines; here the system's answer is put in its place."""
    root = tmp_path / "school"
    real = os.path.lexists

    def as_there(path: object) -> bool:
        place = Path(os.fspath(path))  # type: ignore[arg-type]
        return real(place) or (place.parent.is_dir() and any(
            name.casefold() == place.name.casefold() for name in os.listdir(place.parent)))
    assert not takes_for_one(root)
    monkeypatch.setattr(letter_case.os.path, "lexists", as_there)
    assert takes_for_one(root)
    before = words(root)
    assert say("collect", str(tmp_path / "in.zip")) == 2
    assert "'A1xk' and 'a1xk' differ in small and capital letters alone" in capsys.readouterr().err
    with pytest.raises(IntakeError, match="takes them for one name"):
        take_in(root, "small", tmp_path / "in.zip", tmp_path / "roster.csv")
    assert words(root) == before


def test_an_accent_written_in_two_ways_is_one_id(tmp_path: Path) -> None:
    (tmp_path / "r.csv").write_text("id\nch\u00e9\nche\u0301\n", encoding="utf-8")
    with pytest.raises(IntakeError, match="stands twice"):
        read_roster(tmp_path / "r.csv")


def test_which_are_alike() -> None:
    assert alike(["A1", "b", "a1", "B2", "\uff21\uff11", "c"]) == (("A1", "a1", "\uff21\uff11"),)
