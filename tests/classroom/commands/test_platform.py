"""`collect` gives a platform its own back: the grade table filled in, feedback named as it came."""
from __future__ import annotations

import csv
import json
import shutil
import zipfile
from pathlib import Path

import pytest
from handing_in import REPOSITORY

from acidbase_lib.classroom.commands.invented_class import InventedLearner, submission
from acidbase_lib.classroom.commands.main import main
from acidbase_lib.classroom.commands.marks.platform import _told as told_of
from acidbase_lib.classroom.report.platform.grade_template import (
    Filled,
    TemplateError,
    fill_template,
)
from acidbase_lib.classroom.report.results import LearnerResult
from acidbase_lib.teaching.unit import open_unit

pytestmark = pytest.mark.slow

UNIT = "02_primary_disorder"
CAME = {"n101": "Ada Quill_9931_file/work (2).ipynb", "n102": "moss_ben_n102_77_unit2.ipynb",
        "n103": "Chloé Reed/my work.ipynb"}
TABLE = ("Name,School number,Unit 2 (44),Comment\r\n    Points Possible,,18.00,\r\n"
         "\"Quill, Ada\",n101,{n101},\r\n\"Moss, Ben\",n102,{n102},-\r\n"
         "\"Late, Lou\",n105,,\r\n")


@pytest.fixture
def school(tmp_path: Path) -> Path:
    root = tmp_path / "kit"
    for part in ("course", "solutions"):
        shutil.copytree(REPOSITORY / part / UNIT, root / part / UNIT)
    shutil.copy(REPOSITORY / "course" / "nbgrader_config.py", root / "course")
    release = json.loads((root / "course" / UNIT / f"{UNIT}.ipynb").read_text("utf-8"))
    exercises = open_unit(UNIT).exercises
    with zipfile.ZipFile(tmp_path / "handed in.zip", "w") as archive:
        for learner, file in CAME.items():
            archive.writestr(file, submission(InventedLearner(learner, learner, "guesses"), release,
                                              exercises))
    (tmp_path / "roster.csv").write_text(
        "id,first name,last name\nn101,Ada,Quill\nn102,Ben,Moss\nn103,Chloé,Reed\nn105,Lou,Late\n",
        encoding="utf-8")
    (tmp_path / "platform.csv").write_bytes(TABLE.format(n101="", n102="").encode())
    return tmp_path


def collect(school: Path, *words: str) -> int:
    return main(["collect", *words, "--unit", UNIT, "--roster", str(school / "roster.csv"),
                 "--out", str(school / "back"), "--course", str(school / "kit")])


def test_table_and_zip_go_back_as_they_came(school: Path,
                                            capsys: pytest.CaptureFixture[str]) -> None:
    assert collect(school, str(school / "handed in.zip"), "--fill", str(school / "platform.csv"),
                   "--column", "Unit 2", "--zip-feedback") == 0
    told = capsys.readouterr().out
    with (school / "back" / "grades.csv").open(encoding="utf-8", newline="") as file:
        scores = {row["id"]: row["score"] for row in csv.DictReader(file)}
    assert (school / "back" / "platform.csv").read_bytes() == TABLE.format(**scores).encode()
    assert "2 marks in the column 'Unit 2 (44)', by the ids in 'School number'" in told
    assert "left as they were, the mark is not whole yet: n105" in told
    assert "not in the table: n103" in told
    with zipfile.ZipFile(school / "back" / "feedback.zip") as archive:
        assert sorted(archive.namelist()) == sorted(
            name.replace(".ipynb", ".html") for name in CAME.values())
        for learner, name in CAME.items():
            page = (school / "back" / "feedback" / f"{learner}.html").read_bytes()
            assert archive.read(name.replace(".ipynb", ".html")) == page
    assert main(["report", str(school / "kit"), "--unit", UNIT, "--out", str(school / "again"),
                 "--fill", str(school / "platform.csv"), "--column", "Unit 2"]) == 0
    assert (school / "again" / "platform.csv").read_bytes() == TABLE.format(**scores).encode()
    before = (school / "back" / "feedback.zip").read_bytes()
    assert collect(school, "--zip-feedback") == 0  # without the files: names are remembered
    assert (school / "back" / "feedback.zip").read_bytes() == before


@pytest.mark.parametrize("named", ["Unit 2", "unit 2 (44)"])
def test_a_heading_named_whole_wins_over_one_that_begins_so(named: str, tmp_path: Path) -> None:
    table = tmp_path / "t.csv"
    table.write_text("ID,Unit 2 test (45),Unit 2 (44),Unit 20 (46)\nn101,,,\n", encoding="utf-8")
    results = [LearnerResult("n101", "Ada", "marked", 1.0, 2.0)]
    assert fill_template(table, tmp_path / "out.csv", results, named).column == "Unit 2 (44)"
    with pytest.raises(TemplateError, match="several columns"):
        fill_template(table, tmp_path / "out.csv", results, "Unit")


def test_erasing_somebody_takes_the_zip_that_held_their_page(
        school: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert collect(school, str(school / "handed in.zip"), "--zip-feedback") == 0
    assert main(["erase", "n101", "--course", str(school / "kit")]) == 0
    assert not (school / "back" / "feedback.zip").exists()
    assert collect(school, "--zip-feedback") == 0
    with zipfile.ZipFile(school / "back" / "feedback.zip") as archive:
        assert not any("Quill" in name for name in archive.namelist())


@pytest.mark.parametrize(("words", "why"), [
    (("--fill", "platform.csv"), "name the column that holds the marks with --column"),
    (("--column", "Unit 2"), "--column and --id-column go with --fill"),
    (("--fill", "nowhere.csv", "--column", "x"), "there is no table nowhere.csv"),
])
def test_what_is_missing_is_said_before_anything_is_done(
        words: tuple[str, ...], why: str, school: Path,
        capsys: pytest.CaptureFixture[str]) -> None:
    assert collect(school, *words) == 2
    assert why in capsys.readouterr().err
    assert not (school / "back").exists()


@pytest.mark.parametrize(("filled", "said"), [(0, "0 marks in"), (1, "1 mark in"),
                                              (2, "2 marks in")])
def test_one_mark_is_no_marks(filled: int, said: str) -> None:
    assert f": {said} the column" in told_of(Filled(Path("t.csv"), "Unit 2", "id", filled, (), (),
                                                    0))[0]
