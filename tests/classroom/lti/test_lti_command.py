"""A whole class: 60 grades go back by the command, with a refusal, a time-out and a replay."""

from __future__ import annotations

import json
import shutil
import subprocess
import sys
import time
from pathlib import Path

import pytest
from handing_in import RIGHT, answered, hand_in_to, make_course, released, small_source
from lti_platform import INSTRUCTOR, ISSUER, LEARNER, Platform

from acidbase_lib.classroom.commands.main import main
from acidbase_lib.classroom.gradebook.course_folder import CourseFolder
from acidbase_lib.classroom.gradebook.mark_class import mark_class
from acidbase_lib.classroom.gradebook.read_gradebook import grades_table
from acidbase_lib.classroom.lti.launch import keep_launch
from acidbase_lib.classroom.lti.own_folder import own_folder
from acidbase_lib.classroom.lti.platform import learner_id, write_platform
from acidbase_lib.classroom.lti.service import PlatformService
from acidbase_lib.classroom.lti.tool_key import make_key
from acidbase_lib.classroom.notebooks.assignment import AssignmentSource

pytestmark = pytest.mark.slow
GRADED = [f"u{number}" for number in range(60)]
UNREAD, WAITING, ABSENT, STRANGER = "unread", "waiting", "absent", "stranger"
REFUSED, SLOW, SLIPPED = "u5", "u17", "u33"  # refused; no answer, taken; no answer, not taken


@pytest.fixture(scope="module")
def marked(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A course of 60 marked learners, and one in each other state, by their ids with us."""
    from nbgrader.api import Gradebook

    root = make_course(tmp_path_factory.mktemp("class") / "school", "small", small_source())
    blank = released(AssignmentSource.from_notebook(small_source(), "small"))
    for number, user in enumerate([*GRADED, WAITING, STRANGER]):
        some = {**dict(list(RIGHT.items())[:number % 6]), "q1-6": RIGHT["q1-6"]}
        hand_in_to(root, learner_id(ISSUER, user), answered(blank, some))
    hand_in_to(root, learner_id(ISSUER, UNREAD), b"{cut o")
    mark_class(root, "small")
    with Gradebook(CourseFolder.find(root).db_url) as book:
        for number, user in enumerate([*GRADED, STRANGER]):
            grade = book.find_grade("q1-6-answer", "small", "small", learner_id(ISSUER, user))
            grade.manual_score, grade.needs_manual_grade = number % 5 / 2, False
        book.add_student(learner_id(ISSUER, ABSENT))
        book.db.commit()
    return root


@pytest.fixture
def tool(marked: Path, tmp_path: Path, school: Platform, registered, key_file: Path) -> Path:
    """That course, registered with the platform, from which the instructor came once."""
    root = Path(shutil.copytree(marked, tmp_path / "school"))
    folder = own_folder(root)
    shutil.copy(key_file, folder)
    school.tool_keys = make_key(folder)
    write_platform(folder, registered)
    for user in [*GRADED, UNREAD, WAITING, ABSENT]:
        school.member(user, LEARNER, given_name="Given", family_name=user)
    school.member("teacher", INSTRUCTOR)
    keep_launch(folder, ISSUER, school.launch_claims("teacher", "n", INSTRUCTOR))
    assert main(["lti", "roster", str(root / "roster.csv"), "--course", str(root)]) == 0
    return root


LIMIT, SILENCE = 2.0, 3.0  # of the tool, for one answer; of the platform [s]


@pytest.fixture
def impatient(monkeypatch: pytest.MonkeyPatch) -> None:
    """A tool that gives an answer little time, and waits not at all between tries."""
    monkeypatch.setattr("acidbase_lib.classroom.lti.service.PAUSES", (0.0, 0.0))
    monkeypatch.setattr("acidbase_lib.classroom.lti.send_scores.PAUSES", (0.0, 0.0))
    monkeypatch.setitem(PlatformService.__init__.__kwdefaults__, "limit", LIMIT)


def grades(tool: Path, *words: str) -> int:
    return main(["lti", "grades", "small", "--course", str(tool), *words])


def ours(tool: Path) -> dict[str, float]:
    """The gradebook's own points, of those to whom a final mark was given."""
    rows = {row.learner: row for row in grades_table(tool, "small")}
    return {user: rows[learner_id(ISSUER, user)].score for user in GRADED}


def test_the_dry_run_tells_everyone_and_sends_nothing(
        school: Platform, tool: Path, capsys: pytest.CaptureFixture[str]) -> None:
    capsys.readouterr()
    assert grades(tool) == 0
    said = capsys.readouterr().out
    assert said.count("  sent\n") == 62
    assert "Learners: " in said
    assert "Nothing was sent." in said
    for learner, state in ((UNREAD, "not marked"), (WAITING, "1 waiting"), (ABSENT, "nothing to"),
                           (STRANGER, "not on the platform")):
        (line,) = [one for one in said.splitlines() if one.startswith(learner_id(ISSUER, learner))]
        assert state in line
    assert (school.items, school.scores) == ([], [])


def test_sixty_grades_with_a_refusal_a_silence_and_a_slip_end_in_equal_books(
        school: Platform, tool: Path, impatient: None, capsys: pytest.CaptureFixture[str]) -> None:
    school.refuses[REFUSED] = 403
    school.silent_after[SLOW], school.silence = 1, SILENCE
    school.silent_before[SLIPPED] = 3
    assert grades(tool, "--send", "--roster", str(tool / "roster.csv")) == 1
    said = capsys.readouterr().out
    assert f"Given {REFUSED} " in said
    assert "refused: the platform answered 403: this person cannot be graded" in said
    assert "2 could not be sent. Run this again" in said
    there = {**ours(tool), UNREAD: None, WAITING: None}
    assert school.points() == {user: points for user, points in there.items()
                               if user not in {REFUSED, SLIPPED}}

    school.refuses.clear()
    sent = len(school.scores)
    assert grades(tool, "--send") == 0
    assert school.points() == there
    assert len(set(ours(tool).values())) > 5, "a class that earns the same shows little"
    assert len(school.scores) == sent + 2, "only the two that were missing are sent"
    assert {cell.writes for cell in school.book.values()} == {1}
    assert [cell.grading for (_, user), cell in school.book.items()
            if user in {UNREAD, WAITING}] == ["PendingManual"] * 2

    before = json.dumps([vars(cell) for cell in school.book.values()])
    assert grades(tool, "--send") == 0
    assert json.dumps([vars(cell) for cell in school.book.values()]) == before
    assert len(school.scores) == sent + 2


@pytest.mark.parametrize("arrived", [1, 30, 61])
def test_killed_in_the_middle_the_next_run_does_the_rest_and_nothing_twice(
        school: Platform, tool: Path, arrived: int) -> None:
    run = subprocess.Popen([sys.executable, "-m", "acidbase_lib.classroom.commands.main", "lti",
                            "grades", "small", "--course", str(tool), "--send"],
                           stdout=subprocess.DEVNULL)
    try:
        while len(school.scores) < arrived and run.poll() is None:
            time.sleep(0.001)
    finally:
        run.kill()
        run.wait()
    assert grades(tool, "--send") == 0
    assert school.points() == {**ours(tool), UNREAD: None, WAITING: None}
    assert {cell.writes for cell in school.book.values()} == {1}


def test_what_waited_is_sent_when_it_is_marked(school: Platform, tool: Path) -> None:
    from nbgrader.api import Gradebook

    assert grades(tool, "--send", "--partial") == 0
    waiting = school.points()[WAITING]
    assert waiting is not None
    with Gradebook(CourseFolder.find(tool).db_url) as book:
        grade = book.find_grade("q1-6-answer", "small", "small", learner_id(ISSUER, WAITING))
        grade.manual_score, grade.needs_manual_grade = 1.5, False
        book.db.commit()
    sent = len(school.scores)
    assert grades(tool, "--send") == 0
    assert len(school.scores) == sent + 1
    assert school.points()[WAITING] == waiting + 1.5


def test_a_change_on_the_platform_is_told_and_not_undone(
        school: Platform, tool: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert grades(tool, "--send") == 0
    (item, _), _ = next(iter(school.book.items()))
    school.book[item, "u3"].points = 11.25
    assert grades(tool, "--send") == 0
    assert f"the platform shows 11.25 of 12 for {learner_id(ISSUER, 'u3')}" in \
        capsys.readouterr().out
    assert school.points()["u3"] == 11.25


def test_a_lost_record_is_said_and_after_it_every_score_goes_once_more_and_changes_none(
        school: Platform, tool: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert grades(tool, "--send") == 0
    before = school.points()
    (tool / "lti" / "record.db").unlink()
    assert grades(tool, "--send") == 2
    assert "nobody has come from the platform yet" in capsys.readouterr().err
    keep_launch(tool / "lti", ISSUER, school.launch_claims("teacher", "n", INSTRUCTOR))
    main(["lti", "roster", str(tool / "roster.csv"), "--course", str(tool), "--force"])
    assert grades(tool, "--send") == 0
    assert school.points() == before
    assert len(school.items) == 1


def test_two_courses_of_the_platform_are_not_confused(
        school: Platform, tool: Path, capsys: pytest.CaptureFixture[str]) -> None:
    claims = school.launch_claims("teacher", "n", INSTRUCTOR)
    context = next(name for name in claims if name.endswith("claim/context"))
    keep_launch(tool / "lti", ISSUER, {**claims, context: {"id": "other", "title": "Another"}})
    assert grades(tool) == 2
    assert "which course? --context names it: course-9 (Acid and base); other (Another)" in \
        capsys.readouterr().err
    assert grades(tool, "--context", "course-9") == 0
