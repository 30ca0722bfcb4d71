"""Check my answer in the kernel: the first try is kept, and each press tells one step more."""
from __future__ import annotations

from types import MappingProxyType

import pytest

from acidbase_lib.teaching.feedback import feedback_on_answer as say
from acidbase_lib.teaching.questions.answer_text import write_chart
from acidbase_lib.teaching.questions.exercise import Exercise
from acidbase_lib.teaching.questions.fields import STANDARD_FIELDS, Field
from acidbase_lib.teaching.questions.first_try import place_of, read_answer, with_first_try
from acidbase_lib.teaching.questions.question_file import UnitPlan
from acidbase_lib.teaching.unit import Unit, open_unit
from acidbase_lib.teaching.widgets.answer_check import AnswerCheck, as_lines

GAS = Exercise("q2-3", "several parts", 2.0, "Read this gas.",
               (STANDARD_FIELDS["pH"], STANDARD_FIELDS["disorder"]),
               {"pH": "low", "disorder": "respiratory acidosis"},
               because=("The pH is 7.20: low.", "PaCO2 is 70 mmHg: high, opposite to the pH."))
WHY = Exercise("q2-4", "rationale", 2.0, "Say why.", (Field("why", "text"),), None)
BLANK = "%%chart q2-3\npH:\ndisorder:"
WRONG = "%%chart q2-3\npH: low\ndisorder: metabolic acidosis\nhow sure: sure"
RIGHT = "%%chart q2-3\npH: low\ndisorder: respiratory acidosis\nhow sure: sure"
PLACE = place_of("q2-3", 1)


class OneQuestion(Unit):
    def __init__(self, counts="mended half"):
        super().__init__(UnitPlan("small", "Small", ()), 1, counts=counts)
        self.exercises = MappingProxyType({"q2-3": GAS, "q2-4": WHY})


@pytest.fixture(autouse=True)
def three_hints(monkeypatch):
    """What is said is the feedback room's; here it says three hints and four reasons."""
    plain = say.feedback_on

    def feedback_on(exercise, answer):
        told = plain(exercise, answer)
        return say.Feedback(told.question, told.verdict, told.lines, told.idea, told.idea_says,
                            ("Look at the pH.", "Then at PaCO2.", "Opposite ways."),
                            ("It is low.", "PaCO2 explains it.", "It is old.", "It is new."), 1,
                            told.reading)
    monkeypatch.setattr(say, "feedback_on", feedback_on)


@pytest.fixture
def unit():
    return OneQuestion()


@pytest.fixture
def check(unit):
    return AnswerCheck(unit, "q2-3")


def after(check, text, *asked):
    """The view and the cell's text after some presses."""
    view = {}
    for one in asked:
        what, choice = one if isinstance(one, tuple) else (one, -1)
        view = check.ask(what, text, choice)
        text = view["text"] or text
    return view, text


def later(text, answer):
    """The cell's text with another answer in it; what is kept below stays."""
    return answer + "\n" + "\n".join(line for line in text.split("\n") if line.startswith("#"))


def test_before_the_first_press_it_says_what_counts_and_no_more(check):
    view = check.follow(BLANK)
    assert view["counts"].count(".") == 1
    assert (view["shown"], view["button"], view["kept"]) == (False, "Check my answer", [])


@pytest.mark.parametrize(("text", "left"), [
    (BLANK, "pH and disorder"), ("%%chart q2-3\npH: low\ndisorder:", "disorder"),
    ("%%chart q2-3\npH: lowish thing\ndisorder: resp acidosis", "pH"),
    ("%%chart q2-3\ndisorder: resp acidosis", "pH")])
def test_an_unfinished_answer_is_not_committed(check, text, left):
    view = check.ask("now", text)
    assert view["said"] == f"Not checked yet. Still to answer: {left}."
    assert (view["text"], view["shown"], view["kept"]) == (None, False, [])


def test_the_first_press_keeps_the_first_try_and_says_what_is_not_right(check, unit):
    view, text = after(check, WRONG, "now")
    assert text == with_first_try(WRONG, GAS.fields, PLACE)
    assert view["verdict"].startswith("Not right yet")
    assert [line["right"] for line in view["lines"]] == [True, False]
    assert (view["button"], view["hints"], view["reading"]) == ("Try again", [], [])
    assert unit.answer("q2-3").first.values["disorder"] == "metabolic acidosis"


def test_a_right_answer_says_why_in_its_lines_and_the_reading_is_one_press_away():
    unit = open_unit("02_primary_disorder")
    exercise = unit.exercises["q2-3"]
    check = AnswerCheck(unit, "q2-3")
    right = write_chart("q2-3", exercise.fields, exercise.key)
    view, text = after(check, f"{right}\nhow sure: sure", "now")
    assert view["verdict"].startswith("Right")
    assert all(line["why"] for line in view["lines"])
    assert (view["reading"], view["more_reading"], view["reasons"]) == ([], True, [])
    view, _ = after(check, text, "reading")
    assert (view["reading"], view["more_reading"]) == (list(exercise.because), False)


def test_a_right_choice_of_several_gives_no_reason_itself_so_the_reading_does():
    unit = open_unit("02_primary_disorder")
    letters = ", ".join(unit.exercises["q2-5"].key["answer"])
    view = AnswerCheck(unit, "q2-5").ask("now", f"%%chart q2-5\nanswer: {letters}")
    assert view["verdict"].startswith("Right")
    assert view["reading"] == list(unit.exercises["q2-5"].because)


@pytest.mark.parametrize("sure", ["unsure", "guess"])
def test_somebody_right_and_not_sure_sees_the_reading_at_once(check, sure):
    view, _ = after(check, RIGHT.replace("sure: sure", f"sure: {sure}"), "now")
    assert view["verdict"].startswith("Right")
    assert view["reading"] == list(GAS.because)


def test_hints_come_one_a_press(check):
    view, text = after(check, WRONG, "now", "hint")
    assert (view["hints"], view["more_hints"]) == (["Look at the pH."], True)
    view, text = after(check, text, "hint", "hint", "hint")
    assert (len(view["hints"]), view["more_hints"]) == (3, False)
    assert view["reading"] == []


def test_the_reading_comes_when_it_is_asked_for_or_after_the_second_wrong_try(check):
    view, text = after(check, WRONG, "now", "reading")
    assert view["reading"] == list(GAS.because)
    check = AnswerCheck(OneQuestion(), "q2-3")
    view, text = after(check, WRONG, "now")
    view = check.ask("now", later(text, WRONG.replace("pH: low", "pH: high")))
    assert view["verdict"].startswith("Not right yet")
    assert view["reading"] == list(GAS.because)


def test_the_same_answer_again_is_no_second_try(check):
    _, text = after(check, WRONG, "now")
    view = check.ask("now", text)
    assert view["said"] == "Nothing has changed since your last try."
    assert view["reading"] == []


def test_one_reason_is_kept_in_the_cell_and_the_first_one_stays(check, unit):
    view, text = after(check, WRONG, "now", ("reason", 0))
    assert "# reason: It is low." in text
    assert view["judged"] == ("That reason is not right here. The right one is shown with the "
                              "reading, or once your answer is right.")
    view, again = after(check, text, ("reason", 1))
    assert again == text
    assert unit.answer("q2-3").first.sealed


@pytest.mark.parametrize("how", ["mended", "read"])
def test_the_right_reason_waits_while_the_question_is_still_tried(check, how):
    """It may name the answer."""
    view, text = after(check, WRONG, "now", ("reason", 0))
    typed = "\n".join(as_lines(view)).split("Your reason")[1]
    assert "PaCO2 explains it" not in view["judged"] + typed
    view = check.ask("now", later(text, RIGHT)) if how == "mended" else check.ask("reading", text)
    assert view["judged"] == "That reason is not right here. Right is: PaCO2 explains it."


def test_a_mended_answer_counts_by_the_policy_of_the_release(check, unit):
    _, text = after(check, WRONG, "now")
    view, text = after(check, later(text, RIGHT), "now")
    assert view["verdict"].startswith("Right")
    assert unit.mark_of("q2-3").points == 1.5
    assert unit.mark_of("q2-3").first.points == 1.0


def test_an_answer_changed_since_is_not_called_right_or_wrong(check):
    _, text = after(check, WRONG, "now")
    view = check.follow(later(text, RIGHT))
    assert (view["shown"], view["button"]) == (False, "Try again")
    assert view["note"] == "Your answer has changed since it was checked."


def test_on_another_day_the_cell_alone_tells_what_was_tried(unit):
    text = with_first_try(WRONG, GAS.fields, PLACE)
    view = AnswerCheck(unit, "q2-3").follow(text)
    assert (view["shown"], view["verdict"][:13]) == (True, "Not right yet")
    view = AnswerCheck(unit, "q2-3").follow(later(text, RIGHT))
    assert (view["shown"], view["button"], view["note"]) == (False, "Try again", "")
    view = AnswerCheck(unit, "q2-3").ask("now", later(text, RIGHT))
    assert view["verdict"].startswith("Right")


def test_a_first_try_deleted_while_the_kernel_runs_is_put_back(check):
    _, text = after(check, WRONG, "now")
    view, back = after(check, RIGHT, "now")
    assert back == later(text, RIGHT)
    assert view["verdict"].startswith("Right")


def test_a_first_try_changed_by_hand_is_told_and_stops_nothing(unit):
    text = with_first_try(WRONG, GAS.fields, PLACE).replace("# pH: low", "# pH: high")
    check = AnswerCheck(unit, "q2-3")
    view = check.ask("now", text)
    assert "changed by hand" in view["note"]
    assert view["verdict"].startswith("Not right yet")
    assert view["text"] is None


def test_what_is_said_as_text_is_what_the_form_shows(check):
    view, text = after(check, WRONG, "now")
    told = "\n".join(as_lines(view))
    assert told.startswith("Not right yet")
    assert "disorder: metabolic acidosis: ✗ not right yet." in told
    assert "a. It is low." in told
    assert "Opposite ways" not in told
    assert "check: hint" in told
    view, text = after(check, text, "hint")
    assert "Hint 1: Look at the pH." in "\n".join(as_lines(view))


def test_without_a_first_try_no_hint_and_no_reading_is_given(check):
    for what in ("hint", "reading", "reason"):
        view = check.ask(what, WRONG, 0)
        assert (view["said"], view["shown"], view["text"]) == (
            "Check your answer first.", False, None)


def test_reading_a_cell_again_changes_nothing(check, unit):
    _, text = after(check, WRONG, "now", "hint", ("reason", 2))
    for _ in range(3):
        view = check.follow(text)
    assert view["shown"]
    assert read_answer(text, GAS.fields, PLACE) == unit.answer("q2-3")


def test_a_hint_is_said_once_below_its_button(check):
    view, _ = after(check, WRONG, "now", "hint")
    assert (view["said"], view["hints"], view["asked"]) == ("", ["Look at the pH."], "hint")
    assert "\n".join(as_lines(view)).count("Look at the pH.") == 1


def test_the_question_for_a_reason_says_what_it_asks(check):
    view, _ = after(check, WRONG, "now")
    assert view["which"] == "Which of these sentences is true here and settles the question?"
    assert view["which"] in list(as_lines(view))
