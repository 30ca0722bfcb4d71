"""`acidbase adjust`: shown first, done on request, taken back to the byte, said in sentences."""
from __future__ import annotations

import json
import shutil
from pathlib import Path

import pytest
from handing_in import REPOSITORY, hand_in_to
from stopping import files, stopped

from acidbase_lib.classroom.commands.invented_class import InventedLearner, submission
from acidbase_lib.classroom.commands.main import main
from acidbase_lib.classroom.gradebook.mark_class import mark_class
from acidbase_lib.classroom.gradebook.safekeeping.adjustments import adjustments_of
from acidbase_lib.classroom.report.class_pages import results_of, unit_of_sitting
from acidbase_lib.teaching.questions.answer_text import show_value
from acidbase_lib.teaching.unit import Unit, open_unit

pytestmark = pytest.mark.slow

UNIT = "02_primary_disorder"


@pytest.fixture(scope="module")
def _marked(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A copy of the unit, with one learner who has all right and two who guess."""
    root = tmp_path_factory.mktemp("school") / "kit"
    for part in ("course", "solutions"):
        shutil.copytree(REPOSITORY / part / UNIT, root / part / UNIT)
    shutil.copy(REPOSITORY / "course" / "nbgrader_config.py", root / "course")
    release = json.loads((root / "course" / UNIT / f"{UNIT}.ipynb").read_text("utf-8"))
    exercises = open_unit(UNIT).exercises
    hand_in_to(root, "n101", (root / "solutions" / UNIT / f"{UNIT}.ipynb").read_bytes(), UNIT)
    for learner in ("n102", "n103"):
        hand_in_to(root, learner, submission(InventedLearner(learner, learner, "guesses"), release,
                                             exercises), UNIT)
    mark_class(root, UNIT)
    return root


@pytest.fixture
def school(_marked: Path, tmp_path: Path) -> Path:
    return Path(shutil.copytree(_marked, tmp_path / "kit"))


def adjust(school: Path, *words: str) -> int:
    return main(["adjust", "02", "--course", str(school), *words])


def scores(school: Path) -> dict[str, tuple[float | None, float]]:
    return {one.learner: (one.score, one.maximum) for one in results_of(school, UNIT, {})}


def wrong_answer(school: Path) -> tuple[str, Unit]:
    """A wrong answer that somebody gave to a question of one line, as it is typed."""
    unit = unit_of_sitting(school, UNIT)
    for result in results_of(school, UNIT, {}):
        for mark in result.marks:
            (part, *more) = mark.parts
            asked = unit.exercises[mark.question]
            if not more and part.given and not part.right and asked.fields[0].kind == "one":
                return f"{mark.question} {show_value(asked.fields[0], part.given)}", unit
    raise AssertionError("nobody guessed wrong")


def test_without_do_it_is_shown_and_nothing_is_changed(
        school: Path, capsys: pytest.CaptureFixture[str]) -> None:
    before, there = scores(school), files(school / "grading" / "history")
    assert adjust(school, "--void", "2.2", "--reason", "the gas was misprinted") == 0
    told = capsys.readouterr().out
    full = sum(one.points for one in open_unit(UNIT))
    assert "Question 2.2 does not count." in told
    assert f"  n101: from {full:g} of {full:g} to {full - 4:g} of {full - 4:g}\n" in told
    assert "3 of 3 learners change." in told
    assert "Nothing was changed yet: run it again with --do." in told
    assert scores(school) == before
    assert files(school / "grading" / "history") == there


def test_with_do_it_holds_for_all_and_undo_gives_back_what_was(
        school: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    roster = tmp_path / "roster.csv"
    roster.write_text("id\nn101\nn102\nn103\n")
    again = ["collect", "--unit", UNIT, "--course", str(school), "--roster", str(roster), "--out",
             str(tmp_path / "back")]
    assert main(again) == 0
    before = files(tmp_path / "back")
    assert adjust(school, "--void", "q2-2", "--reason", "misprinted", "--do") == 0
    assert "Done: adjustment 1." in capsys.readouterr().out
    assert main(again) == 0
    page = (tmp_path / "back" / "feedback" / "n102.html").read_text()
    assert "This question does not count: misprinted" in page
    assert main(["check", "--course", str(school)]) == 0  # the chain of the history holds
    assert adjust(school, "--undo", "1", "--reason", "it was right after all", "--do") == 0
    assert main(again) == 0
    assert files(tmp_path / "back") == before
    capsys.readouterr()
    assert adjust(school) == 0
    told = capsys.readouterr().out
    assert "1. question 2.2 does not count." in told
    assert "Taken back 20" in told
    assert "it was right after all" in told


def test_a_second_answer_is_one_of_the_questions_choices(
        school: Path, capsys: pytest.CaptureFixture[str]) -> None:
    question, _, answer = wrong_answer(school)[0].partition(" ")
    before = scores(school)
    assert adjust(school, "--accept", question, answer, "--reason", "the book has it", "--do") == 0
    gained = {who: now[0] - before[who][0] for who, now in scores(school).items()}
    assert gained["n101"] == 0
    assert max(gained.values()) > 0
    assert adjust(school, "--accept", question, answer, "--reason", "again") == 2
    assert "that holds already" in capsys.readouterr().err


@pytest.mark.parametrize(("words", "why"), [
    (["--void", "9.9"], "02_primary_disorder has no question '9.9'; its questions are 2.1, 2.2"),
    (["--accept", "2.1", "a lemon"], "is not one of"),
    (["--accept", "2.2", "low"], "name the line that the answer is for"),
    (["--points", "2.2", "many"], "--points 'many' is not a number"),
    (["--points", "2.2", "nan"], "--points nan is outside"),
    (["--points", "2.2", "0"], "A question that is not to count is made void: --void."),
    (["--points", "2.2", "4"], "is worth 4 already"),
    (["--allow", "2"], "name whom with --for LEARNER"),
    (["--allow", "2", "--for", "n999"], "knows no learner 'n999'"),
    (["--points", "2.2", "2", "--for", "n101"], "are for everyone alike"),
    (["--undo", "7"], "has no adjustment 7; those that hold are: none"),
    (["--void", "2.2", "--within", "2"], "--within goes with --accept"),
])
def test_what_cannot_be_done_is_one_sentence_and_nothing_changes(
        words: list[str], why: str, school: Path, capsys: pytest.CaptureFixture[str]) -> None:
    before = files(school)
    assert adjust(school, *words, "--reason", "why", "--do") == 2
    said = capsys.readouterr().err
    assert why in said
    assert said.count("\n") == 1
    assert {name: data for name, data in files(school).items() if "backups" not in name} == before


def test_the_right_answer_itself_is_no_second_one(school: Path,
                                                  capsys: pytest.CaptureFixture[str]) -> None:
    question, unit = wrong_answer(school)[0].split(" ")[0], wrong_answer(school)[1]
    (field,) = unit.exercises[question].fields
    key = show_value(field, unit.exercises[question].key[field.name])
    assert adjust(school, "--accept", question, key, "--reason", "why") == 2
    assert "is the right answer already" in capsys.readouterr().err


def test_a_reason_is_asked_for(school: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert adjust(school, "--void", "2.2") == 2
    assert "give the reason in a few words, with --reason" in capsys.readouterr().err


def test_the_last_question_stays(school: Path, capsys: pytest.CaptureFixture[str]) -> None:
    names = list(open_unit(UNIT).exercises)
    for name in names[:-1]:
        assert adjust(school, "--void", name, "--reason", "why", "--do") == 0
    assert adjust(school, "--void", names[-1], "--reason", "why", "--do") == 2
    assert "no question would be left that counts" in capsys.readouterr().err


@pytest.mark.slow
def test_killed_at_any_moment_it_holds_or_not_and_can_be_done_again(school: Path,
                                                                    tmp_path: Path) -> None:
    words = ("--void", "2.2", "--reason", "misprinted", "--do")
    before = scores(school)
    whole = Path(shutil.copytree(school, tmp_path / "whole"))
    operations = int(stopped(lambda: adjust(whole, *words), whole, sql=True))
    after = scores(whole)
    assert after != before
    seen = set()
    for at in sorted({1, *range(2, operations, max(1, operations // 12)), operations - 1,
                      operations}):
        course = Path(shutil.copytree(school, tmp_path / f"at{at}"))
        assert stopped(lambda course=course: adjust(course, *words), course, at, sql=True) == ""
        held = bool(adjustments_of_(course))
        seen.add(held)
        assert scores(course) == (after if held else before)
        if not held:
            assert adjust(course, *words) == 0
        assert scores(course) == after
        shutil.rmtree(course)
    assert seen == {True, False}


def adjustments_of_(course: Path) -> tuple[object, ...]:
    from acidbase_lib.classroom.gradebook.course_folder import CourseFolder

    return adjustments_of(CourseFolder.find(course), UNIT)
