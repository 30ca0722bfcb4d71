"""A unit of a school's own from its file to marks: handed out, handed in, marked, compared."""
from __future__ import annotations

import shutil
from pathlib import Path

import pytest
from own_school import WARD_ROUND, hand_in, make_school

from acidbase_lib.classroom.commands.main import main
from acidbase_lib.classroom.marking.own_notebook import mark_own_notebook

PEOPLE = [f"n{number}" for number in range(101, 121)]
FORM = "ward_round_form_3"


@pytest.fixture
def place(tmp_path: Path, monkeypatch) -> Path:
    """A working folder with a school, and a roster of twenty."""
    make_school(tmp_path / "school")
    monkeypatch.chdir(tmp_path)
    (tmp_path / "roster.csv").write_text("id,name\n" + "".join(
        f"{who},Student {who}\n" for who in PEOPLE), encoding="utf-8")
    (tmp_path / "in").mkdir()
    return tmp_path


def collect(unit: str, *more: str) -> int:
    return main(["collect", "in", "--unit", unit, "--roster", "roster.csv", "--out", "back",
                 "--school", "school", *more])


@pytest.mark.slow
def test_a_class_of_twenty_is_marked_and_an_idea_is_found(place: Path, capsys) -> None:
    assert main(["form", "ward_round", "--seed", "3", "--school", "school"]) == 0
    given = place / "acidbase-forms" / "course" / FORM / f"{FORM}.ipynb"
    shutil.rmtree(place / "school" / "questions")  # what was handed out carries its questions
    for who in PEOPLE:
        hand_in(given, place / "in" / f"{who}.ipynb", right=who != "n101")
    assert collect(FORM, "--release-keys") == 0
    rows = (place / "back" / "grades.csv").read_text(encoding="utf-8").splitlines()
    assert len(rows) == 21
    assert [row.split(",")[:3] for row in rows[1:3]] == [["n101", "6", "11"], ["n102", "8", "11"]]
    page = (place / "back" / "feedback" / "n101.html").read_text(encoding="utf-8")
    assert "PaCO2 is high: a push of the lungs." in page
    assert main(["report", "acidbase-forms", "--unit", FORM, "--roster", "roster.csv",
                 "--school", "school"]) == 0
    assert capsys.readouterr().out.count("School: Harbor Lane School (school)") == 3


@pytest.mark.slow
def test_the_lesson_that_study_copies_is_the_one_that_collect_marks(place: Path, capsys) -> None:
    assert main(["study", "ward_round", "--to", "mine", "--no-open", "--school", "school"]) == 0
    lesson = place / "mine" / "ward_round" / "ward_round.ipynb"
    hand_in(lesson, place / "in" / "n101.ipynb")
    assert collect("ward_round") == 0
    row = (place / "back" / "grades.csv").read_text("utf-8").splitlines()[1]
    assert row == 'n101,8,11,"marked, 1 waiting"'


@pytest.mark.slow
def test_a_hand_in_for_an_older_version_of_a_question_is_not_marked(place: Path, capsys) -> None:
    assert main(["form", "ward_round", "--seed", "3", "--school", "school"]) == 0
    given = place / "acidbase-forms" / "course" / FORM / f"{FORM}.ipynb"
    hand_in(given, place / "in" / "n101.ipynb")
    (place / "school" / "questions" / "ward_round.txt").write_text(WARD_ROUND.replace(
        "Sodium is 140, chloride 100", "Sodium is 150, chloride 110"), encoding="utf-8")
    assert main(["form", "ward_round", "--seed", "3", "--force", "--school", "school"]) == 0
    assert collect(FORM) == 0
    page = " ".join((place / "back" / "feedback" / "n101.html").read_text("utf-8").split())
    assert "is not the one that was released: an older version" in page
    assert "this question waits for a person" in page
    scored = (place / "back" / "grades.csv").read_text("utf-8").splitlines()[1].split(",")
    assert scored[:3] == ["n101", "7", "11"]  # the number is worth a point, the written answer 3


def test_a_learner_marks_a_copy_on_any_machine(place: Path) -> None:
    assert main(["study", "ward_round", "--to", "mine", "--no-open", "--school", "school"]) == 0
    hand_in(place / "mine" / "ward_round" / "ward_round.ipynb", place / "in" / "x.ipynb")
    shutil.rmtree(place / "school")
    marked = mark_own_notebook(place / "in" / "x.ipynb").marked
    assert sum(mark.points for mark in marked.marks if mark.question != "q6") == 8.0


def test_a_notebook_whose_questions_were_cut_is_told_so(place: Path) -> None:
    assert main(["study", "ward_round", "--to", "mine", "--no-open", "--school", "school"]) == 0
    path = place / "mine" / "ward_round" / "ward_round.ipynb"
    path.write_text(path.read_text(encoding="utf-8").replace("questions=\\\"text.",
                                                             "questions=\\\"text.0"), "utf-8")
    assert "were changed or cut off" in mark_own_notebook(path).marked.why
