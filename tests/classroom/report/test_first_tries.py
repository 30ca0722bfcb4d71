"""First tries: what the class report and the statistics read, and what a learner's page says."""
from __future__ import annotations

from collections.abc import Mapping

import pytest

from acidbase_lib.classroom.diagnosis.diagnosis import observe
from acidbase_lib.classroom.report.feedback import feedback_of, feedback_page
from acidbase_lib.classroom.report.feedback_text import feedback_text
from acidbase_lib.classroom.report.report import class_report
from acidbase_lib.classroom.report.report_questions import question_reports
from acidbase_lib.classroom.report.results import MARKED, LearnerResult
from acidbase_lib.teaching.misconceptions.catalog import MISCONCEPTIONS
from acidbase_lib.teaching.questions.answer_text import write_chart
from acidbase_lib.teaching.questions.fields import Value
from acidbase_lib.teaching.questions.first_try import place_of, with_first_try
from acidbase_lib.teaching.unit import Unit, open_unit

IDEA = "directions swapped"


def tried(unit: Unit, question: str, first: Mapping[str, Value], last: Mapping[str, Value],
          forge: bool = False) -> None:
    """Answer a question twice, the first try kept in the cell."""
    fields = unit.exercise(question).fields
    before = write_chart(question, fields, first)
    text = with_first_try(before, fields, place_of(question, 1)).replace(
        before, write_chart(question, fields, last), 1)
    unit.record(question, text.replace("kit): ", "kit): f") if forge else text)


def learner(name: str, holds: str = "", forge: bool = False,
            counts: str = "mended half") -> LearnerResult:
    """Somebody who holds an idea at first, and mends every answer after the feedback."""
    unit = open_unit("02_primary_disorder", counts=counts)
    for exercise in unit:
        assert exercise.key is not None
        first = {**exercise.key, **exercise.predicted.get(holds, {})}
        tried(unit, exercise.id, first, exercise.key, forge)
    marks = tuple(unit.mark_of(question) for question in unit.exercises)
    return LearnerResult(name, name, MARKED, sum(m.points for m in marks),
                         sum(m.maximum for m in marks), marks)


@pytest.fixture(scope="module")
def unit() -> Unit:
    return open_unit("02_primary_disorder")


def test_an_idea_held_at_first_is_found_though_every_answer_was_mended(unit: Unit) -> None:
    report = class_report([learner("Ada Quist", IDEA), learner("Bo Ferrol")], unit.exercises,
                          MISCONCEPTIONS, title="Unit 2", made_on="today")
    assert report.diagnoses["Ada Quist"].ideas == (IDEA,)
    assert report.diagnoses["Bo Ferrol"].verdict == "sound"
    assert any("goes by the first tries" in note for note in report.notes)


def test_a_first_try_changed_by_hand_is_no_evidence_and_the_report_says_so(unit: Unit) -> None:
    forged = learner("Ada Quist", IDEA, forge=True)
    assert observe(unit.exercises, forged.marks) == ()
    report = class_report([forged], unit.exercises, MISCONCEPTIONS, title="Unit 2", made_on="x")
    assert any("8 first tries had been changed by hand" in note for note in report.notes)


def test_without_first_tries_the_report_says_nothing_of_them(unit: Unit) -> None:
    assert class_report([], unit.exercises, MISCONCEPTIONS, title="Unit 2", made_on="x").notes == ()


@pytest.mark.parametrize("counts", ["mended half", "first try", "last try"])
def test_the_statistics_are_of_first_tries_whatever_counts(unit: Unit, counts: str) -> None:
    class_of = [learner("a", IDEA, counts=counts), learner("b", counts=counts)]
    figures = {q.question: q.figures.difficulty for q in question_reports(
        class_of, unit.exercises)[0]}
    assert figures["q2-1"] == 0.5


@pytest.mark.parametrize(("counts", "says"), [
    ("mended half", "Wrong at the first try, right at the last: half."),
    ("first try", "Wrong at the first try, right at the last: the first counts."),
    ("last try", "Wrong at the first try, right at the last: full.")])
def test_a_learners_page_says_what_counted_and_why(unit: Unit, counts: str, says: str) -> None:
    told = feedback_of(learner("Ada Quist", IDEA, counts=counts), unit.exercises, MISCONCEPTIONS,
                       title="Unit 2", release_keys=True)
    assert says in feedback_page(told)
    assert says[1:-1] in " ".join(feedback_text(told).split())
    assert "Counted: " in feedback_page(told)


def test_a_page_without_first_tries_is_what_it_always_was(unit: Unit) -> None:
    unit.record("q2-1", write_chart("q2-1", unit.exercise("q2-1").fields))
    plain = LearnerResult("a", "a", MARKED, 0.0, 1.0, (unit.mark_of("q2-1"),))
    told = feedback_of(plain, unit.exercises, MISCONCEPTIONS, title="Unit 2")
    assert "Counted" not in feedback_page(told)
    assert "first try" not in feedback_page(told)
