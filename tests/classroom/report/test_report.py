"""The class report says who believes what, what to teach, and what to mend."""
from __future__ import annotations

import csv
import re
from dataclasses import replace

import pytest
from small_class import CLASS, EXERCISES, MISCONCEPTIONS, answered, result

from acidbase_lib.classroom.diagnosis.diagnosis import Assumptions
from acidbase_lib.classroom.notebooks.own_numbers import OwnSheet, pack
from acidbase_lib.classroom.phrases import DECIDE
from acidbase_lib.classroom.report.own_numbers_told import as_on_their_sheet
from acidbase_lib.classroom.report.report import class_report, not_told_apart
from acidbase_lib.classroom.report.report_figures import points_to_draw, score_picture
from acidbase_lib.classroom.report.report_page import report_page, write_report
from acidbase_lib.classroom.report.results import Note
from acidbase_lib.teaching.questions.exercise_record import record_of

# four questions are few: let the test's class be diagnosed all the same
WILLING = Assumptions(least_answers=3)


def make(results=CLASS, **more):
    return class_report(results, EXERCISES, MISCONCEPTIONS, title="Unit", made_on="June 1, 2030",
                        assumptions=WILLING, **more)


def words(page: str) -> str:
    return " ".join(re.sub(r"<[^>]+>", "", re.sub(r"<style>.*?</style>", "", page,
                                                  flags=re.S)).split())


def test_the_commonest_idea_comes_first_with_who_holds_it():
    first = make().ideas[0]
    assert first.idea == "ph backwards"
    assert {h.learner for h in first.holders} == {"s3", "s5"}
    assert first.shown_by[0].count == 2


def test_sound_learners_are_given_no_idea():
    named = {h.learner for i in make().ideas for h in (*i.holders, *i.perhaps)}
    assert not named & {"s1", "s2", "s7"}


def test_the_page_tells_what_to_teach_on_monday_before_anything_else():
    seen = words(report_page(make()))
    assert "What to teach on Monday" in seen
    assert seen.index("A low pH is called alkaline") < seen.index("How the class did")
    assert "2 of 7 learners" in seen


def test_a_submission_that_was_not_marked_is_told_apart_from_a_zero():
    seen = words(report_page(make()))
    assert "8 learners; 7 marked, 1 not marked" in seen
    assert "it was cut off" in seen
    assert "no score, not a zero" in seen


def test_a_learner_who_left_much_out_needs_a_word():
    word = next(w for w in make().words if w.learner == "s6")
    assert "Left out 3 of 4" in word.why


def test_repairs_are_told():
    assert "The answer cell of q1 was there twice." in words(report_page(make()))


def test_an_invented_class_says_so_first():
    seen = words(report_page(make(invented=True)))
    assert seen.index("This class is invented") < seen.index("What to teach")
    assert "invented" not in words(report_page(make()))


def test_without_names_the_page_holds_no_name():
    page = report_page(make(), names=False)
    assert not any(r.name in page for r in CLASS)
    assert "Learner 0" in page


def test_names_can_be_hidden_without_any_script():
    page = report_page(make())
    assert "<script" not in page
    assert 'id="hide-names"' in page
    assert "#hide-names:checked" in page


def test_names_and_reasons_stay_inert():
    evil = replace(CLASS[7], name="<b onclick=x>Evil</b>", why="<script>x</script>")
    page = report_page(make([*CLASS[:7], evil]))
    assert "<script" not in page
    assert "<b onclick" not in page


def test_ideas_that_answer_alike_are_listed():
    twin = {q: replace(e, predicted={**e.predicted, "twin": e.predicted["ph backwards"]})
            for q, e in EXERCISES.items()}
    assert ("ph backwards", "twin", 0) in not_told_apart(twin, ("ph backwards", "twin"))
    assert not not_told_apart(EXERCISES, ("ph backwards", "always breathing"))


@pytest.mark.parametrize("results", [[], CLASS[7:], CLASS[:1]],
                         ids=["nobody", "only a broken file", "one learner"])
def test_a_tiny_class_makes_a_page(results):
    assert "Class report" in report_page(make(results))


def test_the_tables_are_written_beside_the_page(tmp_path):
    page = write_report(tmp_path, make())
    assert page.name == "class_report.html"
    with (tmp_path / "learners.csv").open(encoding="utf-8-sig", newline="") as file:
        rows = {row["id"]: row for row in csv.DictReader(file)}
    assert rows["s8"]["score"] == ""
    assert rows["s3"]["ideas"] == "A low pH is called alkaline"
    assert {p.name for p in tmp_path.iterdir()} == {
        "class_report.html", "learners.csv", "ideas.csv", "questions.csv", "answers.csv"}


def test_a_picture_says_in_words_what_it_shows():
    picture = score_picture([2, 4, 8, 8], 8)
    assert picture.sentence.startswith("4 learners were marked. Half of them have 6 of 8 points")
    assert "One has less than half" in picture.sentence
    assert sum(count for _, count in picture.rows) == 4
    assert picture.svg.count("<circle") == 4
    assert 'role="img"' in picture.svg


@pytest.mark.parametrize("maximum", [1, 3, 8, 12, 13, 21, 22.5, 100])
def test_every_score_lands_in_one_column(maximum):
    scores = [maximum * n / 20 for n in range(21)]
    assert sum(count for _, count in score_picture(scores, maximum).rows) == 21


def test_a_large_class_is_drawn_as_bars():
    assert "<circle" not in score_picture([n % 9 for n in range(300)], 8).svg


def test_a_thousand_learners_are_diagnosed():
    many = [replace(result("s", "S", "ph backwards" if n % 4 == 0 else None),
                    learner=f"s{n}", name=f"No {n}") for n in range(100)]
    assert len(make(many).ideas[0].holders) == 25


def waits(one, question="q4"):
    """A learner of whom one answer waits for the instructor: no points yet, and no zero."""
    marks = tuple(replace(m, points=0.0, state="waits for the instructor")
                  if m.question == question else m for m in one.marks)
    return replace(one, marks=marks, score=sum(m.points for m in marks))


def test_points_are_told_so_far_with_what_waits_beside_them():
    seen = words(report_page(make([waits(CLASS[0]), *CLASS[1:]])))
    assert "7 marked, of whom 1 has answers that wait for you" in seen
    assert "6 of 6, 1 waiting" in seen
    assert re.search(r"Amina Okafor\w+ \d+: 4 ", seen)
    assert as_on_their_sheet(CLASS[0], ("q4-8", "q4-9")) == "4.8, 4.9"  # as it is printed
    assert "6 of 8" not in seen


@pytest.mark.parametrize("many", [1, 3, 4, 7])
def test_an_answer_that_waits_is_no_zero_in_the_picture(many):
    people = [waits(one) if n < many else one for n, one in enumerate(CLASS[:7])]
    scores, most, said = points_to_draw(people)
    if many <= 3:  # few: they are left out
        assert scores == [one.score for one in people[many:]]
        assert most == 8
        assert f"Left out: {many} with answers that wait" in said
    else:  # most: the question is
        assert scores == [sum(m.points for m in one.marks if m.question != "q4") for one in people]
        assert most == 6
        assert "without question 4," in said


def test_lines_left_out_are_told_apart_from_questions_left_out():
    half = tuple(answered(q, {"pH": e.key["pH"]} if q in {"q2", "q3"} else {} if q == "q1"
                          else e.key) for q, e in EXERCISES.items())
    one = replace(CLASS[0], marks=half, score=sum(m.points for m in half))
    word = next(w for w in make([one, *CLASS[1:]]).words if w.learner == "s1")
    assert word.why == "Left out 1 of 4 questions (1) and lines of 2 other questions (2, 3)."


def test_a_word_about_what_was_left_out_goes_by_the_numbers_on_their_own_sheet():
    own = OwnSheet("s6", 7, {"q1": "q4", "q2": "q3", "q3": "q2", "q4": "q1"}, pack(
        [record_of(replace(EXERCISES[f"q{5 - n}"], id=f"q{n}")) for n in range(1, 5)], {}))
    six = replace(result("s6", "Ruth Moyo", None, ("q1", "q2")), own=own)
    word = next(w for w in make([six, *CLASS[:5]]).words if w.learner == "s6")
    assert word.why == "Left out 2 of 4 questions (3, 4 on their own sheet)."


def large(size=28, holders=1, wrong=0):
    """A class in which some hold an idea and some give one answer that no idea gives."""
    odd = tuple(answered(q, e.key)
                if q != "q2" else answered("q2", {**e.key, "disorder": "respiratory acidosis"})
                for q, e in EXERCISES.items())
    people = [result(f"n{n:02}", f"No {n:02}", "ph backwards" if n < holders else None)
              for n in range(size)]
    return [replace(one, marks=odd, score=sum(m.points for m in odd))
            if holders <= n < holders + wrong else one for n, one in enumerate(people)]


def monday(people):
    return words(report_page(make(people)).partition("cr-monday")[2].partition("</section>")[0])


def test_an_idea_of_one_learner_is_no_headline_of_a_class():
    seen = monday(large())
    assert "A low pH is called alkaline" not in seen
    assert "No wrong idea shows in more than a few learners" in seen
    page = words(report_page(make(large())))
    assert "Also seen: A low pH is called alkaline" in page  # it is not lost
    assert "A low pH is called alkaline: 2 of 28 learners" in monday(large(holders=2))


@pytest.mark.parametrize(("holders", "wrong", "first"), [(1, 11, "answer"), (3, 11, "answer"),
                                                         (2, 5, "idea")])
def test_what_most_learners_got_wrong_stands_first(holders, wrong, first):
    seen = monday(large(holders=holders, wrong=wrong))
    answer, idea = (seen.find(text) for text in (
        f"Question 2, disorder: {wrong} of 28 learners gave the same wrong answer, respiratory "
        "acidosis; right is metabolic alkalosis.", "A low pH is called alkaline"))
    assert (answer >= 0) == (wrong >= 6)  # a fifth of the class
    assert (idea >= 0) == (holders >= 2)
    if first == "answer":
        assert idea < 0 or answer < idea
    else:
        assert answer < 0 or idea < answer


def test_a_wrong_answer_that_the_idea_above_it_explains_is_told_once():
    assert "gave the same wrong answer" not in monday(large(holders=12))


def test_a_question_with_a_second_answer_is_to_be_mended_and_not_praised():
    note = Note("q1", "", "", "both fit")
    people = [replace(one, notes=(note,)) for one in large(holders=0)]
    questions = {q.question: q.figures.mend for q in make(people).questions}
    assert questions["q1"].startswith("A second answer was accepted: mend the question")
    assert "A second answer" not in questions["q2"]


def test_the_questions_of_another_are_not_called_questions_that_were_not_released():
    why = f"{DECIDE}these are n104's numbers, not n103's (8 of 8 questions are n104's)."
    whys = {w.learner: w.why for w in make([*CLASS[:7], replace(CLASS[7], why=why)]).words}
    assert whys["s8"] == "Handed in a file whose questions were not made for them."


def test_a_share_and_its_sign_stay_on_one_line():
    page = report_page(make())
    assert re.search(r"\d\u00a0%|\d&nbsp;%", page)
    assert not re.search(r"\d %", page.partition('id="questions"')[2].partition('id="all"')[0])
