"""The class report on hours: at which decision a class went wrong, and which idea explains it."""
from __future__ import annotations

import re

from acidbase_lib.classroom.diagnosis.diagnosis import Assumptions
from acidbase_lib.classroom.report.report import class_report
from acidbase_lib.classroom.report.report_page import report_page
from acidbase_lib.classroom.report.report_questions import decision_reports
from acidbase_lib.classroom.report.results import MARKED, LearnerResult
from acidbase_lib.teaching.misconceptions.catalog import MISCONCEPTIONS
from acidbase_lib.teaching.questions.answer_text import parse_chart
from acidbase_lib.teaching.questions.exercise import mark
from acidbase_lib.teaching.questions.question_file import Question, UnitPlan
from acidbase_lib.teaching.recipes.book import cook_one

IDEA = "oxygen withheld"
QUESTION = Question("q1", "an hour in decisions", 4.0, "{story}\n\n{decisions}", (),
                    {"hours": ["much oxygen"]})
EXERCISE = cook_one(UnitPlan("hours", "Hours", (QUESTION,)), QUESTION, 1, 0, 0)
KEY = dict(EXERCISE.key or {})
HELD = dict(EXERCISE.predicted[IDEA])


def sitting(number: int, values):
    text = "\n".join(f"{name}: {word}" for name, word in values.items())
    made = mark(EXERCISE, parse_chart(text, EXERCISE.fields))
    return LearnerResult(f"s{number}", f"Learner {number}", MARKED, made.points, 4.0, (made,))


def test_each_decision_tells_who_was_right_and_which_idea_drew_the_others():
    wrong = next(name for name in KEY if HELD[name] != KEY[name])
    marked = [sitting(n, KEY) for n in range(3)] + [
        sitting(n, {**KEY, wrong: HELD[wrong]}) for n in range(3, 7)]
    told = {one.field: one for one in decision_reports(marked, {"q1": EXERCISE})}
    assert list(told) == list(KEY)
    assert (told[wrong].answered, told[wrong].right) == (7, 3)
    assert IDEA in told[wrong].ideas
    assert told[wrong].drew is not None
    assert told[wrong].drew.count == 4
    assert all(one.right == 7 and one.drew is None for name, one in told.items() if name != wrong)

    report = class_report(marked, {"q1": EXERCISE}, MISCONCEPTIONS, title="Hours",
                          made_on="June 1, 2030", assumptions=Assumptions(least_answers=3))
    page = " ".join(re.sub(r"<[^>]+>", "", report_page(report)).split())
    assert f"The class went wrong most at {wrong} of question 1: 3 of 7 learners" in page
    assert "as would follow from: o" in page


def test_a_sitting_without_hours_tells_of_no_decision():
    assert decision_reports([sitting(1, KEY)], {}) == ()
