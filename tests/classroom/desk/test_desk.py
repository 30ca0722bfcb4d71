"""The desk runs the kit's own commands, finds again what was chosen, and goes on after a stop."""
from __future__ import annotations

import base64
import os
import shutil
import signal
import time
import zipfile
from itertools import count
from pathlib import Path

import nbformat
import pytest
from handing_in import REPOSITORY

from acidbase_lib.classroom.commands.main import main
from acidbase_lib.classroom.desk.desk import Desk, open_desk
from acidbase_lib.classroom.desk.desk_notebook import NAME, desk_notebook, put_desk
from acidbase_lib.classroom.desk.panels import DeskError
from acidbase_lib.classroom.gradebook.course_folder import CourseFolder
from acidbase_lib.classroom.gradebook.ledger import Ledger
from acidbase_lib.classroom.gradebook.read_gradebook import marks_by_hand

UNIT = "07_clinical_priority"  # it holds a written answer
CLASS = {"unit": UNIT, "roster": "roster.csv", "files": "in.zip"}
NUMBER = count(1)


@pytest.fixture
def school(tmp_path: Path) -> Path:
    """A course with one unit, a class list, and a zip in which a file may be two people's."""
    school = tmp_path / "school"
    for part in ("course", "solutions"):
        shutil.copytree(REPOSITORY / part / UNIT, school / part / UNIT)
    shutil.copy(REPOSITORY / "course" / "nbgrader_config.py", school / "course")
    (school / "roster.csv").write_text("id,name\nada,Ada Lind\nben,Ben Roe\ncy,Cy Lind\n")
    answered = (school / "solutions" / UNIT / f"{UNIT}.ipynb").read_bytes()
    with zipfile.ZipFile(school / "in.zip", "w") as packed:
        for number, who in enumerate(("ada", "ben", "cy or ada")):  # no two files alike
            packed.writestr(f"{who}_{UNIT}.ipynb", answered + b" " * number)
    return school


def wish(desk: Desk, kind: str, **more: object) -> dict[str, object]:
    desk.wish = {"kind": kind, "n": next(NUMBER), **more}
    return dict(desk.shown)


def press(desk: Desk, panel: str, name: str, **values: str) -> dict[str, object]:
    """Press, and look until it is done."""
    return until_done(desk, wish(desk, "press", panel=panel, press=name, values=values))


def until_done(desk: Desk, told: dict[str, object]) -> dict[str, object]:
    end = time.monotonic() + 60
    while told["running"]:
        assert time.monotonic() < end
        time.sleep(0.02)
        told = wish(desk, "look")
    return told


@pytest.mark.slow
def test_from_the_zip_to_the_report_and_the_waiting_file_is_one_press_away(school: Path) -> None:
    desk = open_desk(school)
    told = press(desk, "take in", "take", **CLASS)
    assert told["said"] == "Done.", told["lines"]
    assert [(one["label"], one["path"]) for one in told["links"]] == [
        ("Class report", f"marked/{UNIT}/report/class_report.html"),
        ("Feedback, a page a learner", f"marked/{UNIT}/feedback"),
        ("Grades", f"marked/{UNIT}/grades.csv"), ("Every file of every run",
                                                f"marked/{UNIT}/intake.csv")]
    (file,) = told["waiting"]
    assert file["file"] == f"cy or ada_{UNIT}.ipynb"
    assert file["people"][-1][0] == "ben"  # the likely ones first
    told = until_done(desk, wish(desk, "decide", number=file["number"], who="cy"))
    assert (told["said"], told["waiting"]) == ("Done.", [])
    assert sorted(CourseFolder.find(school).learners(UNIT)) == ["ada", "ben", "cy"]

    # the same press again takes nothing twice
    before = (school / f"marked/{UNIT}/grades.csv").read_bytes()
    told = press(desk, "take in", "take", **CLASS)
    assert any(line.startswith("Files: 0 taken, ") for line in told["lines"])
    assert (school / f"marked/{UNIT}/grades.csv").read_bytes() == before

    # written answers on the screen that `written --screen` opens
    told = press(desk, "written", "show", unit=UNIT)
    assert told["said"] == f"The answers of {UNIT} are below.", told["said"]
    screen = desk._screen
    assert screen is not None
    assert told["written"] == screen.place
    row = screen.shown
    screen.wish = {"kind": "keep", "row": row["row"], "ticks": "", "points": "2", "comment": "",
                   "points so far": "", "comment so far": "", "n": 1}
    assert sorted(given.get("q7-7-answer", 0.0)
                  for given in marks_by_hand(school, UNIT).values())[-1] == 2.0

    # an adjustment is shown before it is done, and Do does the very thing that was shown
    void = {"unit": UNIT, "what": "void", "question": "7.2", "reason": "two answers fit"}
    assert "See first what would change" in str(press(desk, "adjust", "do", **void)["said"])
    told = press(desk, "adjust", "show", **void)
    assert "Nothing was changed yet: run it again with --do." in told["lines"]
    other = void | {"question": "7.3"}
    assert "See first what would change" in str(press(desk, "adjust", "do", **other)["said"])
    assert press(desk, "adjust", "show", **void)["said"] == "Done."
    assert any(line.startswith("Done: adjustment ")
               for line in press(desk, "adjust", "do", **void)["lines"])
    assert "See first" in str(press(desk, "adjust", "do", **void)["said"])  # not twice

    told = press(desk, "term", "write", roster="roster.csv")
    assert [one["label"] for one in told["links"]] == ["The term", "As a table",
                                                       "A page a learner"]


@pytest.mark.slow
def test_a_run_that_was_ended_goes_on_with_the_same_press_and_nothing_is_doubled(
        school: Path) -> None:
    desk = open_desk(school)
    wish(desk, "press", panel="take in", press="take", values=CLASS)
    run = desk._run
    assert run is not None
    end = time.monotonic() + 60
    while not any(line.startswith("Files: 2 taken") for line in run.lines):  # marking comes next
        assert run.code is None
        assert time.monotonic() < end
        time.sleep(0.005)
    os.kill(run.process_id, signal.SIGKILL)
    run.wait(20)  # the kernel ended with it: nobody looked

    desk = open_desk(school)
    assert desk.shown["active"] == "take in"
    assert "was ended before it was done. Press it again" in desk.shown["said"]
    chosen = {one["name"]: one["value"] for one in desk.shown["panels"][0]["fields"]}
    assert CLASS.items() <= chosen.items()
    told = press(desk, "take in", "take")
    assert told["said"] == "Done.", told["lines"]
    assert any(line.startswith("Files: 0 taken, 2 the same") for line in told["lines"])
    taken = [one.learner for one in Ledger(CourseFolder.find(school)).of(UNIT) if one.learner]
    assert sorted(taken) == ["ada", "ben"]
    assert open_desk(school).shown["said"] == ""


@pytest.mark.slow
def test_what_a_command_refuses_is_said_in_its_own_sentence(school: Path) -> None:
    told = press(open_desk(school), "take in", "take", **CLASS | {"due": "tomorrow"})
    assert str(told["said"]).startswith("Not done: ")
    assert "tomorrow" in str(told["said"])
    assert told["links"] == []


def test_what_stands_in_the_folder_is_to_choose(school: Path) -> None:
    (school / "handed_in").mkdir()
    (school / "handed_in" / "ada.ipynb").write_text("{}")
    desk = open_desk(school)
    options = {one["name"]: [value for value, _ in one["options"]]
               for one in desk.shown["panels"][0]["fields"]}
    assert options["files"] == ["", "handed_in", "in.zip"]  # none of the course's own folders
    assert options["unit"] == [UNIT]
    assert options["roster"] == ["", "roster.csv"]
    told = wish(desk, "values", panel="take in", values=CLASS)
    assert told["panels"][0]["same"] == (
        f"acidbase collect in.zip --unit {UNIT} --roster roster.csv --out marked/{UNIT}")
    assert told["panels"][4]["same"] == "Choose or write the class list first."


def send(desk: Desk, name: str, body: bytes, size: int = 20_000) -> dict[str, object]:
    parts = [body[at:at + size] for at in range(0, len(body), size)]
    for part, data in enumerate(parts):
        told = wish(desk, "upload", panel="take in", field="files", name=name, part=part,
                    parts=len(parts), data=base64.b64encode(data).decode())
    return told


def test_a_file_that_is_put_in_is_there_whole_and_chosen(school: Path) -> None:
    desk, body = open_desk(school), (school / "in.zip").read_bytes()
    told = send(desk, "../../week 1.zip", body)
    place = school / "grading" / "incoming"
    assert (place / "week 1.zip").read_bytes() == body
    assert told["panels"][0]["fields"][0]["value"] == "grading/incoming/week 1.zip"
    send(desk, "week 1.zip", body)  # the same again
    send(desk, "week 1.zip", body + b"0")  # another of that name: the earlier one stays
    assert sorted(path.name for path in place.iterdir()) == ["week 1.zip", "week 1_2.zip"]
    assert (place / "week 1.zip").read_bytes() == body
    if os.name != "nt":
        assert (place / "week 1.zip").stat().st_mode & 0o077 == 0


@pytest.mark.parametrize(("part", "data"), [(1, "AAAA"), (0, "no base64!")])
def test_a_file_that_does_not_come_whole_is_not_there(school: Path, part: int, data: str) -> None:
    desk = open_desk(school)
    told = wish(desk, "upload", panel="take in", field="files", name="in.zip", part=part, parts=3,
                data=data)
    assert told["said"] == "in.zip did not come whole. Choose it again."
    assert list((school / "grading").glob("incoming/*.zip")) == []


def test_a_file_that_could_not_be_chosen_is_not_put_in(school: Path) -> None:
    told = wish(open_desk(school), "upload", panel="take in", field="roster", name="class.xlsx",
                part=0, parts=1, data="AAAA")
    assert "class.xlsx cannot be used here: its name must end in .csv" in str(told["said"])
    assert told["refused"]
    assert not (school / "grading" / "incoming").exists()


def test_its_notebook_is_locked_and_a_file_of_your_own_is_left_alone(
        school: Path, capsys: pytest.CaptureFixture[str]) -> None:
    nbformat.validate(nbformat.from_dict(desk_notebook("there")))
    assert main(["desk", "--course", str(school), "--no-open"]) == 0
    assert str(school / NAME) in capsys.readouterr().out
    made = nbformat.read(school / NAME, 4)
    code = [cell for cell in made.cells if cell.cell_type == "code"]
    assert [cell.source for cell in code] == [
        "from acidbase_lib.classroom.desk.desk import open_desk\nopen_desk()"]
    assert code[0].metadata == {"deletable": False, "editable": False}
    assert put_desk(school, "there").is_file()  # an older desk is written anew
    (school / NAME).write_text("my own")
    with pytest.raises(DeskError, match="was left alone"):
        put_desk(school)
    assert (school / NAME).read_text() == "my own"
