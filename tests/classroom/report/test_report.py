"""The class report says who believes what, what to teach, and what to mend."""
from __future__ import annotations

import csv
import re
from dataclasses import replace

import pytest
from small_class import CLASS, EXERCISES, MISCONCEPTIONS, result

from acidbase_lib.classroom.diagnosis.diagnosis import Assumptions
from acidbase_lib.classroom.report.report import class_report, not_told_apart
from acidbase_lib.classroom.report.report_figures import score_picture
from acidbase_lib.classroom.report.report_page import report_page, write_report

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
