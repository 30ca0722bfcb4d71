"""A feedback page says what was answered, whether it is right, why, and what to do next."""
from __future__ import annotations

import re
from dataclasses import replace
from html.parser import HTMLParser

import pytest
from for_each import for_each
from small_class import CLASS, EXERCISES, MISCONCEPTIONS, answered, result

from acidbase_lib.caution import CAUTION
from acidbase_lib.classroom.gradebook.safekeeping.adjustments import Adjustment
from acidbase_lib.classroom.phrases import DECIDE, card_steps
from acidbase_lib.classroom.report.adjusted import with_second_answers
from acidbase_lib.classroom.report.feedback import (
    NOT_RELEASED,
    feedback_of,
    feedback_page,
)
from acidbase_lib.classroom.report.feedback_text import feedback_text
from acidbase_lib.classroom.report.results import MARKED, LearnerResult, Note
from acidbase_lib.teaching.misconceptions.catalog import MISCONCEPTIONS as MISCONCEPTIONS_OF_THE_KIT
from acidbase_lib.teaching.questions.answer_text import parse_chart, write_chart
from acidbase_lib.teaching.questions.exercise import mark
from acidbase_lib.teaching.questions.first_try import place_of, with_first_try
from acidbase_lib.teaching.unit import open_unit


def page_of(one: LearnerResult, **more) -> str:
    return feedback_page(feedback_of(one, EXERCISES, MISCONCEPTIONS, title="Unit", **more))


def words(page: str) -> str:
    """What a reader sees, in one line."""
    return " ".join(re.sub(r"<[^>]+>", "", re.sub(r"<style>.*?</style>", "", page,
                                                  flags=re.S)).split())


BACKWARDS = CLASS[2]


def test_it_says_what_was_answered_and_whether_it_is_right():
    seen = words(page_of(BACKWARDS, release_keys=True))
    assert "pH: you answered high. Not right. The right answer is low." in seen
    assert "0 of 8 points" in seen
    assert CAUTION in seen


def test_keys_and_reasons_that_give_them_away_wait_for_their_release():
    seen = words(page_of(BACKWARDS))
    assert NOT_RELEASED in seen
    assert "The right answer is" not in seen
    assert "So the name is" not in seen


def test_a_reason_is_given_for_an_answer_that_is_right_even_before_the_release():
    assert "So the name is metabolic acidosis." in words(page_of(CLASS[0]))


def test_an_answer_suggests_something_only_where_an_idea_predicted_it():
    odd = LearnerResult("s", "S", MARKED, 1.0, 2.0,
                        (answered("q1", {"pH": "low", "disorder": "respiratory alkalosis"}),))
    assert "What this answer suggests" not in words(page_of(odd))
    assert MISCONCEPTIONS["ph backwards"].suggests in words(page_of(BACKWARDS))


def test_what_was_left_out_is_said_and_is_the_next_thing_to_do():
    seen = words(page_of(CLASS[5]))
    assert "Question 1: not answered" in seen
    assert "Answer what was left out: 1, 2, 4" in seen


def test_an_idea_of_the_whole_sitting_comes_first_with_its_card():
    seen = words(page_of(BACKWARDS, ideas=["ph backwards"]))
    assert seen.index("Acid is low. Say it aloud.") < seen.index("Question 1")


def test_a_repaired_file_says_what_was_repaired():
    assert "The answer cell of q1 was there twice." in words(page_of(CLASS[6]))


def test_a_file_that_was_not_marked_says_why_and_counts_nothing():
    seen = words(page_of(CLASS[7]))
    assert "not marked" in seen
    assert "it was cut off" in seen
    assert "of 8 points" not in seen


def test_whatever_a_learner_wrote_stays_inert():
    evil = "<script>alert(1)</script>"
    mark = answered("q1", {"pH": "low", "disorder": "metabolic acidosis"})
    part = replace(mark.parts[0], given=evil, right=False)
    one = LearnerResult(evil, evil, MARKED, 1.0, 2.0,
                        (replace(mark, parts=(part,), points=0.0, problems=(evil,)),), "", (evil,))
    page = page_of(one, release_keys=True)
    assert "<script" not in page
    assert page.count("&lt;script&gt;") >= 4


def test_a_prompt_with_markup_stays_inert():
    sly = replace(EXERCISES["q1"], prompt="**Q** <img src=x onerror=alert(1)>\n\n[a](javascript:x)")
    page = feedback_page(feedback_of(CLASS[0], {**EXERCISES, "q1": sly}, MISCONCEPTIONS, title="U"))
    assert "<img" not in page
    assert "javascript:" not in page


def test_the_page_needs_no_other_file_and_is_well_formed():
    page = page_of(BACKWARDS, release_keys=True, ideas=["ph backwards"])
    assert not re.search(r"(src|href)\s*=\s*[\"'](?!#)", page)
    assert "http" not in page

    class Balanced(HTMLParser):
        def __init__(self):
            super().__init__()
            self.open_tags = []

        def handle_starttag(self, tag, attrs):
            if tag not in {"meta", "input", "br", "img", "hr"}:
                self.open_tags.append(tag)

        def handle_endtag(self, tag):
            assert self.open_tags.pop() == tag

    checker = Balanced()
    checker.feed(page)
    assert checker.open_tags == []


def test_text_and_page_say_the_same_and_text_fits_80_columns():
    told = feedback_text(feedback_of(BACKWARDS, EXERCISES, MISCONCEPTIONS, title="Unit",
                                     release_keys=True))
    assert all(len(line) <= 80 for line in told.splitlines())
    assert "pH: you answered high: not right (right answer: low)" in told
    assert "What to practice next" in told


def test_a_card_for_a_class_is_turned_to_a_learner_alone():
    card = "Ask: which way?\n\nWait for an answer. Then tell: it falls.\n\nTry: pH 7.30."
    assert card_steps(card) == ("Which way?", "It falls.", "Try: pH 7.30.")
    assert card_steps("Acid is low.") == ("", "Acid is low.", "")


@for_each(MISCONCEPTIONS_OF_THE_KIT.values(), named=lambda m: m.key)
def test_every_card_of_the_kit_has_a_question_and_no_word_to_the_instructor(idea):
    steps = card_steps(idea.card)
    assert steps.ask.endswith("?")
    assert "Then tell" not in steps.tell
    assert steps.try_it


@pytest.mark.parametrize("idea", [None, "ph backwards", "always breathing"])
def test_practice_is_never_empty_and_never_more_than_three(idea):
    made = feedback_of(result("s", "S", idea), EXERCISES, MISCONCEPTIONS, title="Unit")
    assert 1 <= len(made.practice) <= 3


def test_a_text_changed_after_comparing_is_shown_with_the_first_one():
    """The page for a written answer says both texts; where nothing was changed, one."""
    unit = open_unit("07_clinical_priority")
    asked = unit.exercises["q7-7"]
    mine = "%%chart q7-7\nanswer: " + "own " * 20
    kept = with_first_try(mine, asked.fields, place_of("q7-7", 1))
    for text, twice in ((kept, False), (kept.replace("\nanswer: ", "\nanswer: pasted ", 1), True)):
        unit.record("q7-7", text)
        one = LearnerResult("a", "A", MARKED, 0.0, 4.0, (unit.mark_of("q7-7"),))
        page = words(feedback_page(feedback_of(one, unit.exercises, {}, title="7")))
        assert ("Your first try, before another text was shown" in page) is twice
        assert ("after comparing with another text" in page) is twice


def test_an_answer_that_waits_is_no_zero_on_the_learners_page():
    marks = tuple(replace(m, points=0.0, state="waits for the instructor")
                  if m.question == "q4" else m for m in CLASS[0].marks)
    one = replace(CLASS[0], marks=marks, score=6.0)
    seen = words(page_of(one))
    assert "Amina Okafor: 6 of 6 points So far: question 4 (2 points) waits for your instructor." \
        in seen
    assert "waits for your instructor 2 points" in seen
    told = feedback_text(feedback_of(one, EXERCISES, MISCONCEPTIONS, title="Unit"))
    assert "Unit: 6 of 6 points (marked)\nSo far: question 4 (2 points) waits" in told
    assert "Question 4: waits for your instructor, 2 points" in told
    assert "0 of 2" not in seen + told


def test_one_line_is_as_right_as_its_question() -> None:
    """No "partly right" above and "not right" below for one and the same answer."""
    unit = open_unit("02_primary_disorder")
    for question in (e for e in unit if e.kind in {"select all", "put in order"}):
        (field,) = question.fields
        words_ = question.key[field.name]
        for n in range(1, len(words_) + 1):
            given = {field.name: words_[:n]}
            told = mark(question, parse_chart(write_chart(question.id, question.fields, given),
                                              question.fields))
            page = feedback_of(LearnerResult("s", "S", MARKED, told.points, told.maximum, (told,)),
                               unit.exercises, {}, title="Unit").questions[0]
            assert page.parts[0].word == page.word.removesuffix(", not finished")


def accepted(answer: str):
    """A learner who gave an answer that was accepted beside the key of question 1."""
    note = Note("q1", "A second answer to this question is accepted: both fit", "", "both fit")
    one = with_second_answers(
        answered("q1", {**EXERCISES["q1"].key, "disorder": answer}),
        [Adjustment("u", "accept", "both fit", "q1", field="disorder",
                    value="respiratory acidosis", instead_of=EXERCISES["q1"].key["disorder"],
                    rule=EXERCISES["q1"].kind)])
    return LearnerResult("s", "S", MARKED, one.points, 2.0, (one,), notes=(note,))


@pytest.mark.parametrize("release", [False, True])
def test_the_reasons_of_the_key_are_not_given_for_a_second_answer(release: bool) -> None:
    seen = words(page_of(accepted("respiratory acidosis"), release_keys=release))
    assert "disorder: you answered respiratory acidosis. Right." in seen
    assert "A second answer to this question is accepted: both fit" in seen
    assert "So the name is metabolic acidosis." not in seen
    seen = words(page_of(accepted("metabolic acidosis"), release_keys=release))
    assert "So the name is metabolic acidosis." in seen


def test_who_handed_in_the_questions_of_another_reads_what_happened() -> None:
    why = f"{DECIDE}these are n104's numbers, not n103's (8 of 8 questions are n104's)."
    seen = words(page_of(replace(CLASS[7], why=why)))
    assert "The questions in your file were not made for you." in seen
    assert "n104" not in seen
    other = words(page_of(replace(CLASS[7], why=f"{DECIDE}2 questions are of another version.")))
    assert "not those that your instructor released" in other
