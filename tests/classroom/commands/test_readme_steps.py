"""README's steps as written: collect, write a form, collect it, compare; each finds the last."""
from __future__ import annotations

import argparse
import json
import shutil
import zipfile
from importlib import import_module
from pathlib import Path

import pytest
from handing_in import REPOSITORY

from acidbase_lib.classroom.commands.invented_class import InventedLearner, submission
from acidbase_lib.classroom.commands.main import COMMANDS, main
from acidbase_lib.classroom.report.class_pages import unit_of_sitting
from acidbase_lib.classroom.short_names import ELSEWHERE, forms_folder, unit_called
from acidbase_lib.teaching.questions.question_file import unit_ids

UNIT = "02_primary_disorder"
FORM = f"{UNIT}_form_7"
IDEA = "directions swapped"


@pytest.fixture
def kit(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """The folder of the kit, in which the commands are given."""
    for part in ("course", "solutions"):
        shutil.copytree(REPOSITORY / part / UNIT, tmp_path / part / UNIT)
    shutil.copy(REPOSITORY / "course" / "nbgrader_config.py", tmp_path / "course")
    (tmp_path / "roster.csv").write_text("id\n" + "".join(f"s{n}\n" for n in range(6)))
    monkeypatch.chdir(tmp_path)
    return tmp_path


def hand_in(name: str, ideas: tuple[str, ...]) -> None:
    """What six learners hand in to a sitting, as a platform's zip."""
    release = json.loads(Path("course", name, f"{name}.ipynb").read_text("utf-8"))
    exercises = unit_of_sitting(Path(), name).exercises
    with zipfile.ZipFile("handed_in.zip", "w") as archive:
        for n in range(6):
            who = InventedLearner(f"s{n}", "", "one idea" if ideas else "sound", ideas)
            archive.writestr(f"s{n}.ipynb", submission(who, release, exercises))


@pytest.mark.slow
def test_the_steps_lead_to_a_compared_second_sitting(
        kit: Path, capsys: pytest.CaptureFixture[str]) -> None:
    hand_in(UNIT, (IDEA,))
    steps = ["collect", "handed_in.zip", "--roster", "roster.csv", "--out", "marked"]
    assert main([*steps, "--unit", UNIT]) == 0
    assert main(["form", "02", "--seed", "7"]) == 0
    hand_in(FORM, ())
    assert main([*steps, "--unit", "02_form_7"]) == 0
    capsys.readouterr()
    assert main(["report", "--unit", "02_form_7", "--before", "02", "--out", "compared"]) == 0
    assert "very sure: fewer now" in capsys.readouterr().out
    assert main(["term", "--roster", "roster.csv", "--out", "term"]) == 0
    page = Path("term", "term.html").read_text("utf-8")
    assert "It went, shown by answers without it, in 6 people." in page
    assert {path.name for path in kit.iterdir() if not path.name.startswith(".")} == {
        "course", "solutions", "grading", "roster.csv", "handed_in.zip", "marked", "compared",
        "term"}


@pytest.mark.parametrize("unit", unit_ids())
def test_each_unit_is_called_by_its_number(unit: str) -> None:
    number = unit.split("_")[0]
    assert unit_called(number) == unit_called(number.lstrip("0") or "0") == unit
    assert unit_called(f"{number}_form_12") == f"{unit}_form_12"


@pytest.mark.parametrize("home", [home for name, (home, _) in COMMANDS.items() if name != "study"])
def test_a_unit_is_called_by_its_number_in_every_command(home: str) -> None:
    """All but `study`, whose word may also be a folder."""
    parsers = [argparse.ArgumentParser()]
    import_module(f"acidbase_lib.classroom.commands.{home}").add_arguments(parsers[0])
    for parser in parsers:  # those within it are found on the way
        for one in parser._actions:
            if isinstance(one, argparse._SubParsersAction):
                parsers += one.choices.values()
            elif one.dest == "unit":
                assert one.type is unit_called, parser.format_usage()


@pytest.mark.parametrize("name", ["99", "twelve_charts", "", "7x", "our_unit_form_3", "٧"])
def test_other_names_stay_as_they_are(name: str) -> None:
    assert unit_called(name) == name


def test_forms_are_written_where_a_course_is_and_elsewhere_apart(kit: Path,
                                                                tmp_path: Path) -> None:
    assert forms_folder() == Path()
    assert forms_folder(tmp_path / "course") == ELSEWHERE


@pytest.mark.slow
@pytest.mark.parametrize("number", ["07", "08"])
def test_a_form_of_the_judged_units_is_written_without_a_word_more(number: str,
                                                                  kit: Path) -> None:
    assert main(["form", number, "--seed", "7"]) == 0
    unit = unit_called(number)
    assert Path("solutions", f"{unit}_form_7", f"{unit}_form_7.ipynb").is_file()
