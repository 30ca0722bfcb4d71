"""Late is what the platform marks, or what a time says that is that of the hand-in."""
from __future__ import annotations

import csv
import datetime
import json
import os
import zipfile
from pathlib import Path

import pytest
from handing_in import Notebook

from acidbase_lib.classroom.gradebook.course_folder import CourseFolder
from acidbase_lib.classroom.gradebook.intake import take_in
from acidbase_lib.classroom.gradebook.lateness import IN_TIME, Deadline, deadline_of, due_at
from acidbase_lib.classroom.gradebook.ledger import Ledger
from acidbase_lib.classroom.gradebook.mark_class import mark_class
from acidbase_lib.classroom.gradebook.roster import IntakeError, RosterLine
from acidbase_lib.classroom.report.class_pages import results_of
from acidbase_lib.classroom.report.grade_file import write_grade_file

DUE = datetime.datetime(2031, 12, 1, 12)
ROSTER = "id,first name,last name\n" + "".join(f"n10{n},Ada{n},Quill\n" for n in range(1, 6))


def at(hour: int, minute: int = 0) -> datetime.datetime:
    return datetime.datetime(2031, 12, 1, hour, minute)


@pytest.mark.parametrize(("name", "late"), [
    ("n101_2031-12-01-11-59-59.ipynb", False), ("n101_attempt_2031-12-01-12-00-01_x.ipynb", True),
    ("n101 2031-12-01 1159.ipynb", False), ("n101_20311201T1201.ipynb", True),
    ("2031-11-30_10-00 made, 2031-12-01_12.01 handed in/n101.ipynb", True),
])
def test_a_time_in_the_name_tells(name: str, late: bool) -> None:
    told = Deadline(DUE, True).told(name, at(23))
    assert (told.startswith("late: 2031-12-01 12:0") and "the file's name" in told) if late \
        else told == IN_TIME


@pytest.mark.parametrize("name", ["n101.ipynb", "n101_2031-13-41-77-99.ipynb", "884213_2.ipynb"])
def test_without_a_time_nothing_is_known(name: str) -> None:
    assert Deadline(DUE).told(name, at(23)) == ""
    assert Deadline(None, True).told(name, at(23)) == ""


def test_the_platforms_mark_tells_without_a_time_but_a_name_is_no_mark() -> None:
    lou = RosterLine("n105", ("n105",), ("lou", "late"))
    assert "the mark" in Deadline().told("quillada_LATE_8812_work.ipynb", None)
    assert Deadline().told("Late_Lou_8813.ipynb", None, lou) == ""
    assert "the mark" in Deadline().told("Late_Lou_LATE_8813.ipynb", None, lou)
    assert "the mark" in Deadline().told("n101 late.ipynb", None, RosterLine("n101", ("n101",), ()))


def test_times_that_are_all_alike_are_those_of_the_download() -> None:
    assert not deadline_of(DUE, [at(13), at(13, 4), None]).by_files
    assert not deadline_of(DUE, [None]).by_files
    assert deadline_of(DUE, [at(9), at(13)]).by_files


@pytest.mark.parametrize("text", ["tomorrow", "1.12.2031", "2031-12-01T25:00", ""])
def test_a_deadline_that_is_no_time_is_told(text: str) -> None:
    with pytest.raises(IntakeError, match="is no time; write it as"):
        due_at(text)


def test_a_deadline_of_another_place_is_turned_to_this_computers_time() -> None:
    there = due_at("2031-12-01T12:00+05:00")
    assert there.astimezone(datetime.UTC).hour == 7
    assert due_at("2031-12-01T12:00") == DUE


def take(course: Path, bundle: Path, due: datetime.datetime | None = None) -> dict[str, str]:
    """Take in and mark; the state of each in the grade file."""
    (course / "r.csv").write_text(ROSTER)
    folder = CourseFolder.find(course)
    done = take_in(course, "small", bundle, course / "r.csv", due=due)
    Ledger(folder).note("small", done.offers)
    mark_class(course, "small")
    path = write_grade_file(course / "grades.csv", results_of(course, "small", {"n105": ""}))
    with path.open(encoding="utf-8", newline="") as file:
        return {row["id"]: row["state"] for row in csv.DictReader(file)}


@pytest.mark.slow
def test_who_is_late_stands_in_the_grade_file_and_stays_there(course: Path, right: Notebook,
                                                              tmp_path: Path) -> None:
    with zipfile.ZipFile(tmp_path / "in.zip", "w") as archive:
        for name, hour in (("n101.ipynb", 9), ("n102.ipynb", 13), ("n103_2031-12-01-11-30.ipynb",
                                                                   13), ("n104_LATE.ipynb", 9)):
            archive.writestr(zipfile.ZipInfo(name, (2031, 12, 1, hour, 0, 0)), json.dumps(right))
    states = take(course, tmp_path / "in.zip", DUE)
    assert states == {"n101": "marked, 1 waiting", "n102": "marked, 1 waiting, late",
                      "n103": "marked, 1 waiting", "n104": "marked, 1 waiting, late",
                      "n105": "not handed in"}
    assert take(course, tmp_path / "in.zip") == states  # again, without the deadline
    later = take(course, tmp_path / "in.zip", DUE + datetime.timedelta(hours=2))
    assert later["n102"] == "marked, 1 waiting"  # the deadline was moved
    assert later["n104"] == "marked, 1 waiting, late"


def test_a_folder_of_a_download_makes_nobody_late(course: Path, right: Notebook,
                                                  tmp_path: Path) -> None:
    bundle = tmp_path / "in"
    bundle.mkdir()
    for name in ("n101.ipynb", "n102.ipynb"):
        (bundle / name).write_text(json.dumps(right))
        os.utime(bundle / name, (4_000_000_000, 4_000_000_000))
    assert set(take(course, bundle, DUE).values()) == {"marked, 1 waiting", "not handed in"}
