"""Everybody marked by their own numbers; another's are told as a fact, never marked wrong."""
from __future__ import annotations

import json
import subprocess
import sys
import zipfile
from pathlib import Path

import pytest
from own_class import NAME, file_of, filled, hand_in, make_class, right, seen_by

from acidbase_lib.classroom.commands.main import main
from acidbase_lib.classroom.gradebook.course_folder import CourseFolder
from acidbase_lib.classroom.gradebook.intake import take_in
from acidbase_lib.classroom.gradebook.mark_class import ClassMarks, mark_class
from acidbase_lib.classroom.gradebook.safekeeping.erase import erase
from acidbase_lib.classroom.notebooks.assignment import SourceError
from acidbase_lib.classroom.notebooks.for_each import MadeForEach
from acidbase_lib.classroom.notebooks.own_numbers import OwnNumbers
from acidbase_lib.classroom.phrases import DECIDE
from acidbase_lib.classroom.report.class_pages import results_of, unit_of_sitting
from acidbase_lib.classroom.report.report import class_report
from acidbase_lib.teaching.misconceptions.catalog import MISCONCEPTIONS
from acidbase_lib.teaching.questions.question_file import sitting_ids, unit_ids

pytestmark = pytest.mark.slow

PEOPLE = {f"n10{number}": f"Person {chr(65 + number)}" for number in range(6)}
IDEA = "backwards compensation"


@pytest.fixture(scope="module")
def blank(tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, MadeForEach]:
    out = tmp_path_factory.mktemp("own")
    return out, make_class(out, PEOPLE)


@pytest.fixture
def school(blank: tuple[Path, MadeForEach]) -> tuple[Path, MadeForEach]:
    import shutil

    out, made = blank
    shutil.rmtree(out / "grading", ignore_errors=True)
    return out, made


def marked(out: Path) -> ClassMarks:
    return mark_class(out, NAME)


def solved(made: MadeForEach, learner: str, idea: str = "") -> bytes:
    exercises = seen_by(made, learner)
    return filled(file_of(made, learner), right(exercises, idea), exercises)


def row(marks: ClassMarks, learner: str):
    return next(one for one in marks.learners if one.learner == learner)


def test_right_answers_to_ones_own_patients_earn_every_point(school) -> None:
    out, made = school
    for learner in PEOPLE:
        hand_in(out, NAME, learner, solved(made, learner))
    marks = marked(out)
    assert [(one.state, one.score) for one in marks.learners] == [("marked", 18.0)] * len(PEOPLE)
    assert [mark.question for mark in marks.learners[0].marks] == [
        f"q2-{number}" for number in range(1, 9)]  # joined by the question that everybody is asked


def test_anothers_file_is_told_and_not_marked(school) -> None:
    out, made = school
    hand_in(out, NAME, "n100", solved(made, "n100"))
    hand_in(out, NAME, "n101", solved(made, "n100"))
    one = row(marked(out), "n101")
    assert (one.state, one.score) == ("not marked", None)
    assert one.why.startswith(f"{DECIDE}these are n100's numbers, not n101's (8 of 8 questions")


@pytest.mark.parametrize("name", ["persond_5003_990002_{file}",
                                  "Person D_4711_assignsubmission_file_/{file}"])
@pytest.mark.parametrize("heading", ["id,first name,last name", "id,name"])
def test_anothers_file_under_ones_own_account_is_left_for_a_person_to_decide(
        school, tmp_path: Path, name: str, heading: str) -> None:
    """What a platform calls a file tells whose account it came from: no id in it overrides that."""
    out, made = school
    bundle, between = tmp_path / "in", "," if "," in heading[3:] else " "
    (tmp_path / "r.csv").write_text(f"{heading}\n" + "".join(
        f"{who},{called.replace(' ', between)}\n" for who, called in PEOPLE.items()))
    theirs, file = solved(made, "n104"), file_of(made, "n104").name
    for place, data in ((f"Person E_1_file_/{file}", theirs), (name.format(file=file), theirs)):
        (bundle / place).parent.mkdir(parents=True, exist_ok=True)
        (bundle / place).write_bytes(data)
    done = take_in(out, NAME, bundle, tmp_path / "r.csv")
    assert done.taken == {"n104": f"Person E_1_file_/{file}"}
    assert list(done.doubtful) == [name.format(file=file)]
    assert done.doubtful[name.format(file=file)].startswith("it may be n103 or n104")


def test_the_questions_tell_which_of_two_namesakes(school, tmp_path: Path) -> None:
    out, made = school
    (tmp_path / "in").mkdir()
    (tmp_path / "in" / "Kim Lee.ipynb").write_bytes(solved(made, "n104"))
    (tmp_path / "r.csv").write_text("id,first name,last name\nn103,Kim,Lee\nn104,Kim,Lee\n")
    assert set(take_in(out, NAME, tmp_path / "in", tmp_path / "r.csv").taken) == {"n104"}


def test_an_empty_file_of_anothers_is_told_too(school) -> None:
    out, made = school
    hand_in(out, NAME, "n101", file_of(made, "n100").read_bytes())
    one = row(marked(out), "n101")
    assert one.state == "not marked"
    assert "these are n100's numbers" in one.why


def test_anothers_file_without_its_metadata_is_known_by_its_questions(school) -> None:
    out, made = school
    notebook = json.loads(solved(made, "n100"))
    notebook["metadata"] = {}
    for cell in notebook["cells"]:
        cell["metadata"] = {}
        cell.pop("id", None)
    hand_in(out, NAME, "n101", json.dumps(notebook).encode())
    assert "these are n100's numbers" in row(marked(out), "n101").why


def test_anothers_answers_in_ones_own_file_are_marked_by_ones_own_numbers(school) -> None:
    out, made = school
    answers = right(seen_by(made, "n100"))
    data = json.loads(file_of(made, "n101").read_text("utf-8"))
    theirs = json.loads(filled(file_of(made, "n100"), answers, seen_by(made, "n100")))
    texts = {cell["id"]: cell["source"] for cell in theirs["cells"]}
    for cell in data["cells"]:
        if cell["id"].endswith("-answer"):
            cell["source"] = texts[cell["id"]]
    hand_in(out, NAME, "n101", json.dumps(data).encode())
    one = row(marked(out), "n101")
    assert one.state == "marked"
    assert one.score < 0.5 * one.maximum


def test_whom_no_numbers_were_made_for_is_told(school) -> None:
    out, made = school
    hand_in(out, NAME, "n999", solved(made, "n100"))
    one = row(marked(out), "n999")
    assert one.state == "not marked"
    assert "for n999 no numbers were made" in one.why


def test_a_damaged_list_of_numbers_marks_nobody(school, tmp_path: Path) -> None:
    import shutil

    out = tmp_path / "copy"
    shutil.copytree(school[0], out)
    (out / "solutions" / school[1].numbers.name).write_bytes(b"PK nothing")
    hand_in(out, NAME, "n100", solved(school[1], "n100"))
    with pytest.raises(SourceError, match="backup"):
        marked(out)


def test_repairs_are_told_by_the_number_that_the_learner_sees(school) -> None:
    out, made = school
    notebook = json.loads(solved(made, "n100"))
    notebook["cells"] = [cell for cell in notebook["cells"] if cell["id"] != "q2-1-answer"]
    hand_in(out, NAME, "n100", json.dumps(notebook).encode())
    one = row(marked(out), "n100")
    assert one.state == "marked after repair"
    told = next(repair for repair in one.repairs if repair.kind == "deleted")
    first = next(iter(seen_by(made, "n100").values())).origin
    assert "q2-1" in told.sentence
    assert told.cell == f"{first}-answer"  # what the gradebook calls it
    lost = next(mark for mark in one.marks if mark.question == first)
    assert (lost.state, lost.points) == ("blank", 0.0)


def test_the_gradebook_has_one_row_a_question(school) -> None:
    import sqlite3

    out, made = school
    for learner in PEOPLE:
        hand_in(out, NAME, learner, solved(made, learner))
    marked(out)
    with sqlite3.connect(out / "grading" / "gradebook.db") as book:
        rows = book.execute("SELECT name FROM base_cell WHERE type = 'GradeCell' "
                            "ORDER BY name").fetchall()
        grades = book.execute("SELECT COUNT(*) FROM grade").fetchone()[0]
    book.close()
    assert rows == [(f"q2-{number}-check",) for number in range(1, 9)]
    assert grades == 8 * len(PEOPLE)


def test_the_report_finds_an_idea_across_different_numbers(school) -> None:
    out, made = school
    for number, learner in enumerate(PEOPLE):
        hand_in(out, NAME, learner, solved(made, learner, IDEA_HELD if number < 3 else ""))
    marked(out)
    unit = unit_of_sitting(out, NAME)
    report = class_report(results_of(out, NAME, PEOPLE), unit.exercises, MISCONCEPTIONS,
                          title="t", made_on="today")
    found = {idea.idea: {holder.learner for holder in (*idea.holders, *idea.perhaps)}
             for idea in report.ideas}
    assert found[IDEA_HELD] == {"n100", "n101", "n102"}
    assert all(not who & {"n103", "n104", "n105"} for who in found.values())
    assert any("patients of their own" in note for note in report.notes)
    for question in report.questions:
        for _, chosen in question.fields:
            rights = [one for one in chosen if one.right]
            assert len(rights) <= 1
            assert not any(one.answer in set("ABCDE") for one in chosen)  # no letter is counted


def test_a_learners_page_speaks_of_the_questions_that_they_saw(school, tmp_path: Path) -> None:
    out, made = school
    with zipfile.ZipFile(tmp_path / "in.zip", "w") as file:
        for learner in PEOPLE:
            file.writestr(f"upload {learner}.ipynb", solved(made, learner))
    (tmp_path / "roster.csv").write_text("id\n" + "\n".join(PEOPLE) + "\n")
    assert main(["collect", str(tmp_path / "in.zip"), "--unit", NAME, "--roster",
                 str(tmp_path / "roster.csv"), "--course", str(out), "--out",
                 str(tmp_path / "back"), "--release-keys"]) == 0
    page = (tmp_path / "back" / "feedback" / "n100.html").read_text("utf-8")
    places = [page.index(f"Question 2.{number}") for number in range(1, 9)]
    assert places == sorted(places)
    import html

    first = seen_by(made, "n100")["q2-1"].prompt
    words = [word for word in first.split() if word.isalpha() and len(word) > 6]
    assert all(html.escape(word) in page for word in words)


def test_a_file_that_nothing_names_is_known_by_its_questions(school, tmp_path: Path) -> None:
    out, made = school
    (tmp_path / "in").mkdir()
    (tmp_path / "in" / "my homework.ipynb").write_bytes(solved(made, "n103"))
    (tmp_path / "in" / "n104.ipynb").write_bytes(solved(made, "n104"))
    (tmp_path / "in" / "whose.ipynb").write_bytes(b"{}")
    roster = tmp_path / "roster.csv"
    roster.write_text("id\n" + "\n".join(PEOPLE) + "\n")
    done = take_in(CourseFolder.find(out), NAME, tmp_path / "in", roster)
    assert done.taken == {"n103": "my homework.ipynb", "n104": "n104.ipynb"}
    assert list(done.unmatched) == ["whose.ipynb"]


def test_who_is_erased_leaves_no_numbers_and_the_others_keep_theirs(tmp_path: Path) -> None:
    made = make_class(tmp_path, PEOPLE)
    before = file_of(made, "n101").read_bytes(), seen_by(made, "n101")
    for learner in ("n100", "n101"):
        hand_in(tmp_path, NAME, learner, solved(made, learner))
    marked(tmp_path)
    done = erase(CourseFolder.find(tmp_path), "n100", ["Person A"])
    assert (done.left, done.unread) == ((), ())
    assert not list(made.folder.glob("n100_*"))
    assert set(OwnNumbers(made.numbers).learners) == set(PEOPLE) - {"n100"}
    assert (file_of(made, "n101").read_bytes(), seen_by(made, "n101")) == before
    assert row(marked(tmp_path), "n101").score == 18.0


@pytest.mark.slow
@pytest.mark.parametrize("unit", [*unit_ids(), *sitting_ids()])
def test_every_unit_can_be_given_so(unit: str, tmp_path: Path) -> None:
    made = make_class(tmp_path, {"n1": "Ada Quill", "n2": "Ben Moss"}, unit)
    for learner in ("n1", "n2"):
        hand_in(tmp_path, made.source.stem, learner, solved(made, learner))
    for one in mark_class(tmp_path, made.source.stem).learners:
        kinds = {exercise.origin: exercise.kind for exercise in seen_by(made, one.learner).values()}
        short = {mark.question: mark.maximum for mark in one.marks if not mark.right}
        assert {kinds[question] for question in short} <= {"rationale"}  # a person marks those
        assert (one.state, one.score) == ("marked", one.maximum - sum(short.values()))


@pytest.mark.slow
def test_plain_nbgrader_says_that_it_cannot_mark_them(school) -> None:
    out, made = school
    hand_in(out, NAME, "n100", solved(made, "n100"))
    marked(out)
    done = subprocess.run([sys.executable, "-m", "nbgrader", "autograde", NAME, "--force"],
                          cwd=out / "course", capture_output=True, text=True)
    assert "acidbase collect" in done.stderr + done.stdout
    with_marks = {one.learner: one.score for one in results_of(out, NAME, {})}
    assert with_marks["n100"] in (18.0, None)  # as it was, or none: never another's key


IDEA_HELD = next(idea for idea in MISCONCEPTIONS if "direction" in idea.lower()
                 or "direction" in MISCONCEPTIONS[idea].name.lower())
