"""An author's key names options by nicknames, and stays right when letters are dealt anew."""
from __future__ import annotations

import pytest

from acidbase_lib.teaching.feedback.review import SCHOOLS_KEY, review_lines
from acidbase_lib.teaching.questions.answer_text import parse_chart
from acidbase_lib.teaching.questions.authored_key import with_key
from acidbase_lib.teaching.questions.exercise import Exercise, mark
from acidbase_lib.teaching.questions.fields import Choice, Field
from acidbase_lib.teaching.questions.question_file import UnitError
from acidbase_lib.teaching.unit import open_unit


def asked(kind: str = "choose one", *fields: Field) -> Exercise:
    one = Field("answer", "one", (
        Choice("A", "Sit up", nickname="sit"), Choice("B", "Call now", nickname="call"),
        Choice("C", "Wait", nickname="wait")))
    return Exercise("q7-1", kind, 1.0, "What first?", fields or (one,), None)  # type: ignore[arg-type]


def many() -> Exercise:
    choices = tuple(Choice(letter, letter, nickname=word) for letter, word in
                    zip("ABCD", ("who", "pets", "ask", "week"), strict=True))
    return asked("select all", Field("report", "many", choices))


def test_a_short_word_becomes_the_letter_of_this_form():
    known = with_key(asked(), "call", {"sit": "act before assess", "wait": ["oxygen withheld"]})
    assert known.key == {"answer": "B"}
    assert known.predicted == {"act before assess": {"answer": "A"},
                               "oxygen withheld": {"answer": "C"}}


def test_the_words_of_other_scenes_may_stand_beside_it():
    assert with_key(asked(), ["probe", "call", "breaths"]).key == {"answer": "B"}


def test_a_letter_will_do_where_nothing_is_dealt():
    assert with_key(asked(), "C").key == {"answer": "C"}


@pytest.mark.parametrize("key", ["probe", ["sit", "wait"], []])
def test_a_key_that_fits_no_option_or_two_is_refused(key: object):
    with pytest.raises(UnitError, match=r"q7-1.*'answer'"):
        with_key(asked(), key)


def test_select_all_takes_every_word_that_is_offered():
    known = with_key(many(), ["who", "ask", "done"], {"week": "call before looking"})
    assert known.key == {"report": ("A", "C")}
    assert known.predicted == {"call before looking": {"report": ("A", "C", "D")}}


def test_a_row_is_found_by_its_own_nickname():
    steps = (Choice("responding"), Choice("noticing"))
    rows = tuple(Field(f"note {n}", "one", steps, nickname=word)
                 for n, word in enumerate(("gave", "saw"), start=1))
    known = with_key(asked("grid", *rows), {"saw": "noticing", "gave": "responding"})
    assert known.key == {"note 1": "responding", "note 2": "noticing"}
    with pytest.raises(UnitError, match="note 2"):
        with_key(asked("grid", *rows), {"gave": "responding"})


def test_a_computed_key_is_never_replaced():
    exercise = next(iter(open_unit("02_primary_disorder")))
    assert with_key(exercise, "metabolic acidosis") is exercise


def test_the_mark_of_a_wrong_option_carries_its_idea():
    known = with_key(asked(), "call", {"sit": "act before assess"})
    given = mark(known, parse_chart("answer: A", known.fields))
    assert (given.points, given.parts[0].suggests) == (0.0, ("act before assess",))
    assert mark(known, parse_chart("answer: B", known.fields)).points == 1.0
    assert mark(known, parse_chart("answer: call", known.fields)).points == 0.0


def test_a_judgment_is_marked_by_its_rule_and_a_school_s_own_key_wins():
    unit = open_unit("07_clinical_priority")
    asked = unit.exercises["q7-1"]
    own = ["probe", "breaths", "look"]
    assert asked.judged
    assert with_key(asked, own) is asked
    unit.record("q7-1", f"answer: {asked.key['answer']}")
    assert unit.mark_of("q7-1").points == unit.mark_of("q7-1", key=own).points == 1.0
    other = with_key(asked, ["call", "phone", "fifteen"])
    assert other.key != asked.key
    assert (other.why, other.settles, other.judged) == ({}, {}, False)
    assert unit.mark_of("q7-1", key=["call", "phone", "fifteen"]).points == 0.0
    assert unit.exercises["q7-1"] is asked


def test_the_review_asks_for_a_school_s_key_only_where_none_is_at_hand(
        capsys: pytest.CaptureFixture[str]):
    for unit_id in ("07_clinical_priority", "08_sitting"):
        open_unit(unit_id).review()
    assert "holds no key" not in capsys.readouterr().out
    assert review_lines(asked(), mark(asked(), parse_chart("answer: A", asked().fields))) == [
        SCHOOLS_KEY]
