"""`acidbase collect`: from files of a learning platform to grades, feedback and a report."""
from __future__ import annotations

import csv
import json
import re
import shutil
import zipfile
from functools import partial
from pathlib import Path

import pytest
from handing_in import REPOSITORY
from stopping import files, stopped

from acidbase_lib.classroom.commands.invented_class import InventedLearner, submission
from acidbase_lib.classroom.commands.main import main
from acidbase_lib.classroom.gradebook.safekeeping.history import History
from acidbase_lib.teaching.unit import open_unit

pytestmark = pytest.mark.slow

UNIT = "02_primary_disorder"
CLASS = {  # learner: first name, last name, habit, the name of the file in the zip
    "n101": ("Ada", "Quill", "all right", "Quill_Ada_9931_unit2.ipynb"),
    "n102": ("Ben", "Moss", "guesses", "n102.ipynb"),
    "n103": ("Chloé", "Reed", "copied cell", "Chloe Reed/work (2).ipynb"),
    "n104": ("Dev", "Pike", "broken file", "pike dev.ipynb"),
}


@pytest.fixture
def school(tmp_path: Path) -> Path:
    """A copy of what an instructor has, the zip of a learning platform, and a class list."""
    root = tmp_path / "kit"
    for part in ("course", "solutions"):
        shutil.copytree(REPOSITORY / part / UNIT, root / part / UNIT)
    shutil.copy(REPOSITORY / "course" / "nbgrader_config.py", root / "course")
    release = json.loads((root / "course" / UNIT / f"{UNIT}.ipynb").read_text("utf-8"))
    solved = (root / "solutions" / UNIT / f"{UNIT}.ipynb").read_bytes()
    exercises = open_unit(UNIT).exercises
    with zipfile.ZipFile(tmp_path / "handed_in.zip", "w") as archive:
        for learner, (first, last, habit, file) in CLASS.items():
            archive.writestr(file, solved if habit == "all right" else submission(
                InventedLearner(learner, f"{first} {last}", habit), release, exercises))
        archive.writestr("who is this.ipynb", b"{}")
        archive.writestr("notes.docx", b"x")
    (tmp_path / "roster.csv").write_text("Student Number;Surname;Given name\n" + "".join(
        f"{learner};{last};{first}\n" for learner, (first, last, *_) in CLASS.items())
        + "n105;Late;Lou\n", encoding="utf-8")
    return tmp_path


def collect(school: Path, *words: str) -> int:
    return main(["collect", *words, "--unit", UNIT, "--roster", str(school / "roster.csv"),
                 "--out", str(school / "back"), "--course", str(school / "kit")])


def grades(school: Path) -> dict[str, tuple[str, str]]:
    with (school / "back" / "grades.csv").open(encoding="utf-8", newline="") as file:
        return {row["id"]: (row["score"], row["state"]) for row in csv.DictReader(file)}


@pytest.fixture
def collected(school: Path, capsys: pytest.CaptureFixture[str]) -> str:
    assert collect(school, str(school / "handed_in.zip"), "--release-keys") == 0
    return capsys.readouterr().out


def test_everyone_on_the_roster_has_a_line_in_the_grade_file(school: Path, collected: str) -> None:
    full = sum(exercise.points for exercise in open_unit(UNIT))
    got = grades(school)
    assert {learner: state for learner, (_, state) in got.items()} == {
        "n101": "marked", "n102": "marked", "n103": "marked after repair", "n104": "not marked",
        "n105": "not handed in"}
    assert got["n101"][0] == f"{full:g}"
    assert got["n104"][0] == got["n105"][0] == ""


def test_what_fits_nobody_is_listed(school: Path, collected: str) -> None:
    assert "4 taken" in collected
    assert "2 left alone" in collected
    assert "nobody's: who is this.ipynb: no learner's id or name" in collected
    kept = (school / "back" / "intake.csv").read_text(encoding="utf-8-sig")
    assert "notes.docx" in kept
    assert "n105,no file" in kept


def test_every_learner_who_handed_in_has_a_page_and_the_report_is_there(school: Path,
                                                                        collected: str) -> None:
    pages = sorted(path.name for path in (school / "back" / "feedback").iterdir())
    assert pages == [f"{learner}.html" for learner in CLASS]
    report = (school / "back" / "report" / "class_report.html").read_text("utf-8")
    assert "Ada Quill" in report
    assert "invented" not in report.split("</h1>")[0]
    assert report.count("Lou Late") == 1  # handed in nothing: not a learner who knew nothing
    assert re.search(r"Handed in nothing: <span class=.cr-name.>Lou Late", report)
    assert str(school / "back" / "report" / "class_report.html") in collected


def test_the_rate_and_the_repairs_are_told(collected: str) -> None:
    assert "marking: 4 of 4 (" in collected
    assert "a second, 1 repaired, 1 not marked)" in collected


def test_receipts_and_the_end_of_the_history_are_told(school: Path, collected: str) -> None:
    assert "receipts: " in collected
    assert "; the history has " in collected
    with (school / "back" / "receipts.csv").open(encoding="utf-8-sig", newline="") as file:
        receipts = {row["id"]: row["file"] for row in csv.DictReader(file)}
    assert set(receipts) == {"n101", "n102", "n103", "n104"}
    page = (school / "back" / "feedback" / "n101.html").read_text()
    assert f"file {receipts['n101']}, received " in page


def test_again_without_files_writes_the_same_grades(school: Path, collected: str) -> None:
    before = grades(school)
    assert collect(school) == 0
    assert grades(school) == before


@pytest.mark.slow
def test_two_processes_give_the_same(school: Path, collected: str) -> None:
    before = grades(school)
    assert collect(school, "--workers", "2") == 0
    assert grades(school) == before


@pytest.mark.parametrize(("words", "why"), [
    (["--unit", "99_none"], "The assignments are: 02_primary_disorder"),
    (["--roster", "nowhere.csv"], "The roster nowhere.csv cannot be read"),
    (["--course", "/"], r"There is no nbgrader_config.py"),
    (["--workers", "0"], "--workers 0 is outside 1 to 64"),
    (["no_such.zip"], "neither a folder nor a zip"),
])
def test_bad_input_is_one_sentence_and_writes_nothing(
        words: list[str], why: str, school: Path, capsys: pytest.CaptureFixture[str]) -> None:
    usual = {"--unit": UNIT, "--roster": str(school / "roster.csv"),
             "--out": str(school / "back"), "--course": str(school / "kit")}
    usual |= dict(zip(words[::2], words[1::2], strict=False)) if words[0][0] == "-" else {}
    files = [] if words[0][0] == "-" else words
    assert main(["collect", *files, *(w for pair in usual.items() for w in pair)]) == 2
    told = capsys.readouterr()
    assert len(told.err.splitlines()) == 1
    assert why in told.err
    assert not (school / "back").exists()


def _came_of_it(school: Path) -> dict[str, bytes]:
    """Every file but what holds drawn ids or times, and the list of what this run took."""
    drawn = ("gradebook.db", "intake.csv", "log.jsonl", "receipts.csv")
    return {name: re.sub(rb"<p[^>]*>Receipt: .*", b"", data) for name, data in files(school).items()
            if not name.endswith(drawn) and not re.search(r"/backups/automatic-[\d-]+\.db$", name)}


def _told(school: Path) -> set[tuple[str, str, str]]:
    """Who handed in which file, and who was marked, by a history that holds."""
    history = History(school / "kit" / "grading" / "history")
    assert list(history.faults()) == []
    return {(line.what, line.details["learner"], line.details["file"]) for line in history.lines()
            if line.details and "learner" in line.details}


@pytest.mark.parametrize("step", [pytest.param(31, marks=pytest.mark.slow),
                                  pytest.param(1, marks=pytest.mark.long)])
def test_a_collect_killed_at_any_moment_comes_to_the_same_at_the_next(
        step: int, school: Path, tmp_path_factory: pytest.TempPathFactory) -> None:
    """From set-up to the last page: at each write, rename and statement of the whole command."""
    work = partial(collect, school, str(school / "handed_in.zip"))
    before = tmp_path_factory.mktemp("before") / "school"
    shutil.copytree(school, before)
    count = int(stopped(work, school, sql=True))
    whole, marks, told = _came_of_it(school), grades(school), _told(school)
    for at in range(1, count + 1, step):
        shutil.rmtree(school)
        shutil.copytree(before, school)
        assert stopped(work, school, at, sql=True) == ""
        assert work() == 0
        assert _came_of_it(school) == whole, f"killed at operation {at} of {count}"
        assert grades(school) == marks
        assert _told(school) == told
    assert count > 100
