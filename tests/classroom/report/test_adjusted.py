"""What was decided after marking counts for all alike, and goes as if it had never been."""
from __future__ import annotations

import csv
import itertools
import random
from dataclasses import replace
from pathlib import Path

import pytest
import small_unit
from handing_in import RIGHT, HandIn, Notebook, answered
from stopping import files

from acidbase_lib.classroom.gradebook.course_folder import CourseFolder
from acidbase_lib.classroom.gradebook.mark_class import mark_class
from acidbase_lib.classroom.gradebook.read_gradebook import grades_table
from acidbase_lib.classroom.gradebook.safekeeping.adjustments import (
    Adjustment,
    AdjustmentError,
    adjust,
    adjustments_of,
    reason_of,
    undo,
)
from acidbase_lib.classroom.gradebook.safekeeping.erase import erase
from acidbase_lib.classroom.gradebook.safekeeping.history import HistoryError
from acidbase_lib.classroom.gradebook.safekeeping.receipts import history_of
from acidbase_lib.classroom.report import adjusted as adjusted_module
from acidbase_lib.classroom.report.adjusted import with_second_answers, worth_of
from acidbase_lib.classroom.report.class_pages import (
    results_of,
    rows_that_count,
    write_class_pages,
)
from acidbase_lib.classroom.report.results import LearnerResult
from acidbase_lib.teaching.questions.answer_text import ChartAnswer
from acidbase_lib.teaching.questions.marked import Mark
from acidbase_lib.teaching.questions.which_try import COUNTS, counted_again, mark_tries

pytestmark = pytest.mark.slow

NAMES = {"ada": "Ada Quill", "ben": "Ben Moss", "cy": "Cy Low", "eve": "Eve Pike"}
HALF = RIGHT | {"q1-1": "%%chart q1-1\npH: low\nbicarbonate: low\ndisorder: metabolic acidosis",
                "q1-3": "%%chart q1-3\nsigns: drowsiness, muscle cramps, flushed skin",
                "q1-4": "%%chart q1-4\nsteps: PaCO2 > pH > bicarbonate > name",
                "q1-5": "%%chart q1-5\nexpected PaCO2: 36 mmHg"}
ACCEPT = {
    "q1-1": Adjustment("small", "accept", "the book has both", "q1-1", field="bicarbonate",
                       value="low", instead_of="high", rule="several parts"),
    "q1-3": Adjustment("small", "accept", "cramps may come", "q1-3", field="signs",
                       value=("drowsiness", "flushed skin", "muscle cramps"),
                       instead_of=("drowsiness", "flushed skin"), rule="select all"),
    "q1-4": Adjustment("small", "accept", "PaCO2 first will do", "q1-4", field="steps",
                       value=("PaCO2", "pH", "bicarbonate", "name"),
                       instead_of=("pH", "PaCO2", "bicarbonate", "name"), rule="put in order"),
    "q1-5": Adjustment("small", "accept", "another formula", "q1-5", field="expected PaCO2",
                       value=35.0, instead_of=30.0, within=1.0, rule="number"),
}


def void(question: str, learner: str = "") -> Adjustment:
    return Adjustment("small", "void", "two answers were defensible", question, learner)


def worth(question: str, points: float) -> Adjustment:
    return Adjustment("small", "points", "it was too long", question, points=points)


def allowed(learner: str, points: float) -> Adjustment:
    return Adjustment("small", "allow", "the lamp went out", learner=learner, points=points)


@pytest.fixture
def marked(course: Path, hand_in: HandIn, right: Notebook, blank: Notebook) -> Path:
    """Ada has all right, Ben half, Cy nothing; a person gave points for the written answers."""
    hand_in("ada", right)
    hand_in("ben", answered(blank, HALF))
    hand_in("cy", blank)
    mark_class(course, "small")
    give(course, "ben", "q1-6-answer", 1.5)
    give(course, "ada", "q1-6-answer", 2.0)
    return course


def give(course: Path, learner: str, cell: str, points: float) -> None:
    """What formgrader does when the instructor marks an answer."""
    from nbgrader.api import Gradebook

    with Gradebook(CourseFolder.find(course).db_url) as book:
        grade = book.find_grade(cell, "small", "small", learner)
        grade.manual_score, grade.needs_manual_grade = points, False
        book.db.commit()


def results(course: Path) -> dict[str, LearnerResult]:
    return {one.learner: one for one in results_of(course, "small", NAMES)}


def scores(course: Path) -> dict[str, tuple[float | None, float]]:
    return {who: (one.score, one.maximum) for who, one in results(course).items()}


def pages(course: Path, out: Path) -> dict[str, bytes]:
    write_class_pages(out, results_of(course, "small", NAMES), small_unit.open_small_unit(),
                      release_keys=True)
    return files(out)


def test_a_void_question_leaves_both_score_and_maximum(marked: Path) -> None:
    assert scores(marked) == {"ada": (12.0, 12.0), "ben": (5.5, 12.0), "cy": (0.0, 12.0),
                              "eve": (None, 12.0)}
    adjust(CourseFolder.find(marked), void("q1-1"))
    assert scores(marked) == {"ada": (9.0, 9.0), "ben": (4.5, 9.0), "cy": (0.0, 9.0),
                              "eve": (None, 9.0)}
    mark_class(marked, "small")  # marking again does not lose it
    assert scores(marked)["ben"] == (4.5, 9.0)


@pytest.mark.parametrize(("question", "before", "after"), [
    ("q1-1", 1.0, 2.0), ("q1-3", 1.0, 2.0), ("q1-4", 1.0, 3.0), ("q1-5", 0.0, 1.0)])
def test_a_second_answer_earns_what_the_first_one_does(question: str, before: float, after: float,
                                                       marked: Path) -> None:
    def earned() -> float:
        return next(m.points for m in results(marked)["ben"].marks if m.question == question)

    was = scores(marked)
    assert earned() == before
    adjust(CourseFolder.find(marked), ACCEPT[question])
    assert earned() == after
    now = scores(marked)
    assert now.pop("ben") == (5.5 + after - before, 12.0)
    assert now == {who: one for who, one in was.items() if who != "ben"}


def test_an_answer_is_accepted_only_beside_the_key_that_it_was_accepted_beside(
        marked: Path) -> None:
    """Another learner's own numbers have another key, of which nothing was decided."""
    adjust(CourseFolder.find(marked), replace(ACCEPT["q1-1"], instead_of="normal"))
    assert scores(marked)["ben"] == (5.5, 12.0)


def test_other_points_scale_what_anyone_earned_by_hand_as_well(marked: Path) -> None:
    adjust(CourseFolder.find(marked), worth("q1-6", 4.0))
    assert scores(marked)["ben"] == (7.0, 14.0)
    adjust(CourseFolder.find(marked), worth("q1-6", 1.0))  # the last one that holds
    assert scores(marked)["ben"] == (4.75, 11.0)
    mark = next(m for m in results(marked)["ben"].marks if m.question == "q1-6")
    assert (mark.points, mark.maximum) == (0.75, 1.0)


def test_a_persons_points_stand_where_a_second_answer_is_accepted(marked: Path) -> None:
    give(marked, "ben", "q1-5-check", 0.5)
    adjust(CourseFolder.find(marked), ACCEPT["q1-5"])
    assert scores(marked)["ben"] == (6.0, 12.0)


def test_an_allowance_is_for_one_learner_and_never_above_the_maximum(marked: Path) -> None:
    folder = CourseFolder.find(marked)
    adjust(folder, allowed("ben", 2.0))
    adjust(folder, allowed("ada", 2.0))
    adjust(folder, void("q1-2", "cy"))
    assert scores(marked) == {"ada": (12.0, 12.0), "ben": (7.5, 12.0), "cy": (0.0, 11.0),
                              "eve": (None, 12.0)}


def test_lateness_takes_off_anew_by_the_courses_own_rule_or_nothing_at_all(marked: Path) -> None:
    """nbgrader's rule "zero" takes all: what a second answer earned too, so nothing is left."""
    import datetime

    from nbgrader.api import Gradebook

    folder = CourseFolder.find(marked)
    config = marked / "course" / "nbgrader_config.py"
    config.write_text(config.read_text() + '\nc.LateSubmissionPlugin.penalty_method = "zero"\n')
    with Gradebook(folder.db_url) as book:
        book.find_assignment("small").duedate = datetime.datetime(2026, 1, 1)
        book.db.commit()
    place = marked / "grading/submitted/ben/small/timestamp.txt"
    place.write_text("2026-01-03 10:00:00 UTC")
    mark_class(marked, "small")
    assert scores(marked)["ben"] == (0.0, 12.0)
    adjust(folder, ACCEPT["q1-4"])
    assert scores(marked)["ben"] == (0.0, 12.0)
    adjust(folder, Adjustment("small", "on time", "the platform was down", learner="ben"))
    assert scores(marked)["ben"] == (7.5, 12.0)


def test_pages_grade_file_and_report_say_it_plainly(marked: Path, tmp_path: Path) -> None:
    folder = CourseFolder.find(marked)
    for one in (void("q1-1"), ACCEPT["q1-5"], worth("q1-4", 1.0), allowed("ben", 1.0)):
        adjust(folder, one)
    made = {name: data.decode("utf-8-sig")
            for name, data in pages(marked, tmp_path / "out").items()}
    for learner in ("ada", "ben", "cy"):
        page = made[f"feedback/{learner}.html"]
        assert "This question does not count: two answers were defensible" in page
        assert "Question 1.1: does not count" in page
        assert "A second answer to this question is accepted: another formula" in page
        assert "This question is worth 1 point instead of 3: it was too long" in page
    assert "1 point was added for you: the lamp went out" in made["feedback/ben.html"]
    assert "the lamp" not in made["feedback/ada.html"]
    rows = {row["id"]: row for row in csv.DictReader(made["grades.csv"].splitlines())}
    assert (rows["ben"]["score"], rows["ben"]["maximum"]) == ("5.8333", "7")
    assert "question 1.1 does not count (two answers were defensible)" in \
        rows["ada"]["decided afterwards"]
    assert "1 point more for ben" in rows["ben"]["decided afterwards"]
    report = made["report/class_report.html"]
    assert "Question 1.1 does not count. Reason: two answers were defensible." in report
    assert "1 learner has something decided for them alone." in report
    assert "the lamp" not in report
    asked = [row["question"] for row in csv.DictReader(made["report/questions.csv"].splitlines())]
    assert "q1-1" not in asked  # a question with two right answers says nothing of the class
    assert "q1-2" in asked


def test_what_is_taken_back_leaves_every_byte_as_it_was(marked: Path, tmp_path: Path) -> None:
    folder = CourseFolder.find(marked)
    before = pages(marked, tmp_path / "before")
    made = [adjust(folder, one) for one in (void("q1-1"), ACCEPT["q1-3"], worth("q1-4", 7.0),
                                            allowed("cy", 0.3), void("q1-2", "ada"))]
    assert pages(marked, tmp_path / "between") != before
    assert [one.number for one in made] == [1, 2, 3, 4, 5]
    for one in random.Random(1).sample(made, len(made)):
        undo(folder, "small", one.number, "a slip of mine")
        mark_class(marked, "small")
    assert pages(marked, tmp_path / "after") == before


def test_points_equal_an_independent_recount_whatever_was_decided(marked: Path) -> None:
    """Recounted from nbgrader's own Gradebook API, question by question, for 40 random cases."""
    from nbgrader.api import Gradebook

    folder, draw = CourseFolder.find(marked), random.Random(7)
    with Gradebook(folder.db_url) as book:
        graded = {who: {grade.cell.name.rsplit("-", 1)[0]: (grade.score, grade.max_score)
                        for grade in book.find_submission("small", who).notebooks[0].grades}
                  for who in ("ada", "ben", "cy")}
    every = [*(void(q) for q in RIGHT), *(worth(q, p) for q in RIGHT for p in (0.7, 2.0, 5.0)),
             *(void(q, who) for q in RIGHT for who in graded), *ACCEPT.values(),
             *(allowed(who, p) for who in graded for p in (0.25, 3.0))]
    second = {"q1-1": 2.0, "q1-3": 2.0, "q1-4": 3.0, "q1-5": 1.0}  # what Ben then has
    for _ in range(40):
        held = tuple(draw.sample(every, draw.randint(1, 6)))
        found = {r.learner: r for r in results_of(folder, "small", {}, held)}
        for who, points in graded.items():
            score = most = more = 0.0
            for question, (earned, of) in points.items():
                if any(a.kind == "void" and a.question == question and a.learner in {"", who}
                       for a in held):
                    continue
                if who == "ben" and ACCEPT.get(question) in held:
                    earned = second[question]
                new = [a.points for a in held if a.kind == "points" and a.question == question]
                score += earned / of * (new[-1] if new else of)
                most += new[-1] if new else of
            more = sum(a.points for a in held if a.kind == "allow" and a.learner == who)
            assert found[who].maximum == pytest.approx(most, abs=1e-6), held
            wanted = max(score, min(most, score + more)) if more else score
            assert found[who].score == pytest.approx(wanted, abs=5e-4), held


@pytest.mark.parametrize("counts", COUNTS)
def test_counting_again_gives_every_mark_the_points_that_it_has(counts: str) -> None:
    """The rules of all kinds, with and without a first try: nothing changes where no part did."""
    from acidbase_lib.teaching.questions.answer_text import parse_chart

    tries = 0
    for one in small_unit.EXERCISES:
        if one.key is None:
            continue
        texts = [RIGHT[one.id], HALF[one.id], f"%%chart {one.id}\n"]
        parsed = [parse_chart(text, one.fields) for text in texts]
        for now, then in itertools.product(parsed, [None, *parsed]):
            mark = mark_tries(one, _with_first(now, then), counts)
            assert counted_again(one.kind, mark) == mark
            tries += mark.first is not None
    assert tries >= 36


def _with_first(now: ChartAnswer, then: ChartAnswer | None) -> ChartAnswer:
    from acidbase_lib.teaching.questions.first_try import FirstTry

    if then is None:
        return now
    return replace(now, first=FirstTry(then.values, None, None, bool(then.values)))


def test_a_first_try_is_judged_by_the_second_answer_too() -> None:
    one = next(e for e in small_unit.EXERCISES if e.id == "q1-5")
    asked = one.fields[0].name
    mark = Mark.from_record({
        "question": "q1-5", "points": 0.5, "maximum": 1.0, "state": "answered", "problems": [],
        "parts": [{"field": asked, "given": 30.0, "key": 30.0, "right": True, "suggests": []}],
        "first": {"points": 0.0, "how sure": None, "reason": None, "sealed": True, "last": 1.0,
                  "counts": "mended half", "parts": [
                      {"field": asked, "given": 35.0, "key": 30.0, "right": False,
                       "suggests": ["some idea"]}]}})
    assert with_second_answers(mark, [ACCEPT["q1-5"]]).points == 1.0


def test_reasons_are_one_line_and_asked_for() -> None:
    assert reason_of(" two\n lines ") == "two lines"
    for text in ("", "  ", "x" * 301):
        with pytest.raises(AdjustmentError, match="reason"):
            reason_of(text)


def test_what_is_not_there_cannot_be_taken_back(marked: Path) -> None:
    folder = CourseFolder.find(marked)
    adjust(folder, void("q1-1"))
    with pytest.raises(AdjustmentError, match="no adjustment 2; those that hold are: 1"):
        undo(folder, "small", 2, "why")
    undo(folder, "small", 1, "why not")
    with pytest.raises(AdjustmentError, match="taken back already: 20"):
        undo(folder, "small", 1, "again")


def test_a_damaged_line_that_tells_of_an_adjustment_stops_the_pages(marked: Path) -> None:
    """Marks without what was decided would be wrong, and nobody would know."""
    folder = CourseFolder.find(marked)
    adjust(folder, void("q1-1"))
    path = history_of(folder).path
    whole = path.read_bytes()
    path.write_bytes(b"x" + whole)  # damage elsewhere takes no decision away
    assert scores(marked)["ben"] == (4.5, 9.0)
    path.write_bytes(whole.replace(b'"kind":"void",', b'"kind":void,'))
    with pytest.raises(HistoryError, match="is none of this kit's"):
        results_of(folder, "small", {})
    path.write_bytes(whole.replace(b'"kind":"void"', b'"kind":"what"'))
    with pytest.raises(HistoryError, match="adjustment of marks that this kit does not know"):
        results_of(folder, "small", {})


def test_an_adjustment_of_one_learner_goes_with_the_learner(marked: Path) -> None:
    folder = CourseFolder.find(marked)
    adjust(folder, allowed("ben", 2.0))
    adjust(folder, void("q1-1"))
    erase(folder, "ben")
    assert [(one.number, one.kind) for one in adjustments_of(folder, "small")] == [(2, "void")]
    assert adjust(folder, void("q1-2")).number == 3
    assert b"the lamp" not in history_of(folder).path.read_bytes()


def test_the_worth_of_questions_is_that_of_the_release(marked: Path) -> None:
    assert worth_of(CourseFolder.find(marked), "small") == {
        "q1-1": 3.0, "q1-2": 1.0, "q1-3": 2.0, "q1-4": 3.0, "q1-5": 1.0, "q1-6": 2.0}


def test_what_a_platform_is_sent_is_what_counts(marked: Path) -> None:
    folder = CourseFolder.find(marked)
    assert rows_that_count(folder, "small") == grades_table(folder, "small")
    adjust(folder, void("q1-6"))
    adjust(folder, allowed("ben", 1.0))
    assert [(row.learner, row.score, row.maximum, row.waiting)
            for row in rows_that_count(folder, "small")] == [
        ("ada", 10.0, 10.0, 0), ("ben", 5.0, 10.0, 0), ("cy", 0.0, 10.0, 0)]


def test_nobody_is_told_marks_without_what_was_decided() -> None:
    """Commands, pages and what goes to a platform ask for what counts, not for the bare rows."""
    library = Path(adjusted_module.__file__).parents[1]
    bare = [path.name for path in library.rglob("*.py") if "gradebook" not in path.parts
            and "grades_table(" in path.read_text("utf-8")]
    assert bare == ["class_pages.py"]


def test_what_was_decided_for_a_learner_holds_by_the_id_that_they_have_now(marked: Path) -> None:
    from acidbase_lib.classroom.gradebook.same_person import say_same

    folder = CourseFolder.find(marked)
    say_same(folder, "ben=s2031", ["ada", "cy", "s2031"])
    adjust(folder, allowed("s2031", 1.0))
    found = {one.learner: one.score for one in results_of(marked, "small", {"s2031": "Ben Moss"})}
    assert found == {"ada": 12.0, "s2031": 6.5, "cy": 0.0}
