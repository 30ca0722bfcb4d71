"""The chart cell: what a learner types is read as they meant it, or told in one sentence."""
from __future__ import annotations

import math
import time

import pytest
from hypothesis import given
from hypothesis import strategies as st

from acidbase_lib.teaching.questions.answer_text import (
    LONGEST,
    parse_chart,
    read_chart,
    show_value,
    write_chart,
)
from acidbase_lib.teaching.questions.fields import STANDARD_FIELDS, Choice, Field, lettered

PARTS = tuple(STANDARD_FIELDS[name] for name in ("pH", "bicarbonate", "disorder", "compensation"))
LETTERS = Field("answer", "many", lettered(["pH 7.20", "pH 7.30", "pH 7.50", "pH 7.60"]))
STEPS = Field("order", "order", (Choice("sit up"), Choice("listen"), Choice("call")))
LETTER = Field("choice", "one", lettered(["pH 7.20", "pH 7.50", "pH 7.40", "pH 7.10"]))
PACO2 = Field("expected PaCO2", "number", unit="mmHg")
WHY = Field("why", "text")


def one(field: Field, text: str) -> object:
    return parse_chart(f"{field.name}: {text}", [field]).values.get(field.name)


def problem(field: Field, text: str) -> str:
    (found,) = parse_chart(f"{field.name}: {text}", [field]).problems
    return found.sentence


@pytest.mark.parametrize(("typed", "kept"), [
    ("respiratory acidosis", "respiratory acidosis"),
    ("Respiratory Acidosis.", "respiratory acidosis"),
    ("resp acidosis", "respiratory acidosis"),
    ("resp. acidosis", "respiratory acidosis"),
    ("  metab  alkalosis ", "metabolic alkalosis"),
    ("RAc", "respiratory acidosis"),
])
def test_a_disorder_is_read_in_any_common_spelling(typed: str, kept: str) -> None:
    assert one(STANDARD_FIELDS["disorder"], typed) == kept


@pytest.mark.parametrize(("typed", "kept"), [
    ("low", "low"), ("LOW", "low"), ("decreased", "low"), ("↓", "low"), ("elevated", "high"),
    ("raised", "high"), ("within normal limits", "normal"), ("WNL", "normal"),
])
def test_a_state_is_read_in_any_common_word(typed: str, kept: str) -> None:
    assert one(STANDARD_FIELDS["pH"], typed) == kept


@pytest.mark.parametrize(("typed", "kept"), [
    ("partial", "partially compensated"), ("Partially-compensated", "partially compensated"),
    ("none", "uncompensated"), ("full", "fully compensated"),
    ("compensated", "fully compensated"),
])
def test_compensation_words(typed: str, kept: str) -> None:
    assert one(STANDARD_FIELDS["compensation"], typed) == kept


@pytest.mark.parametrize(("typed", "kept"), [
    ("acidemia", "low"), ("Acidaemia", "low"), ("acidic", "low"), ("alkalemic", "high")])
def test_a_ph_by_the_name_of_its_state(typed: str, kept: str) -> None:
    assert one(STANDARD_FIELDS["pH"], typed) == kept


def test_a_disorder_is_no_state_of_the_ph() -> None:
    """An acidosis may stand behind a normal pH."""
    answer = parse_chart("pH: acidosis", PARTS)
    assert "pH" not in answer.values
    assert answer.problems


def test_field_names_are_read_in_the_trades_abbreviations() -> None:
    answer = parse_chart("PH: low\nHCO3: high\nname: resp acidosis\ncompensated: partial", PARTS)
    assert answer.complete
    assert answer.values["bicarbonate"] == "high"


def test_a_misspelt_word_is_not_guessed_but_asked_about() -> None:
    answer = parse_chart("disorder: respiratry acidosis", PARTS)
    (slip,) = answer.problems
    assert slip.did_you_mean == "respiratory acidosis"
    assert "Did you mean" in slip.sentence
    assert "disorder" not in answer.values
    assert "disorder" not in answer.missing


def test_letters_of_another_alphabet_are_named() -> None:
    assert "another alphabet" in problem(STANDARD_FIELDS["pH"], "lоw")  # a Cyrillic o


@pytest.mark.parametrize("typed", ["A, C", "a;c", "A and C", "AC", "c, a", "A C", "A, pH 7.50"])
def test_several_choices_in_any_order_and_any_separator(typed: str) -> None:
    assert one(LETTERS, typed) == ("A", "C")


def test_none_of_them_is_an_answer() -> None:
    assert one(LETTERS, "none") == ()


def test_an_order_wants_every_step_once() -> None:
    assert one(STEPS, "listen > sit up > call") == ("listen", "sit up", "call")
    assert "still to be placed" in problem(STEPS, "listen > call")
    assert "twice" in problem(STEPS, "listen > listen > call")


@pytest.mark.parametrize(("typed", "kept"), [("26", 26.0), ("26 mmHg", 26.0), ("26,5", 26.5),
                                              ("26 mm Hg", 26.0), ("26 mmHg mmHg", 26.0),
                                             ("3.5 kPa", 26.252)])
def test_a_number_with_or_without_its_unit(typed: str, kept: float) -> None:
    assert one(PACO2, typed) == pytest.approx(kept, rel=1e-4)


@pytest.mark.parametrize("typed", ["inf", "-5", "nan", "1e999", "99999999", "26 bar", "twenty",
                                   "26 mmol/L", "2 6"])
def test_a_number_that_cannot_be_is_refused(typed: str) -> None:
    assert problem(PACO2, typed)


def test_a_text_may_run_over_lines_and_hold_colons() -> None:
    assert one(WHY, "he tires\nnote: PaCO2 rises") == "he tires\nnote: PaCO2 rises"


def test_one_field_needs_no_name() -> None:
    assert parse_chart("respiratory acidosis", [STANDARD_FIELDS["disorder"]]).complete


def test_the_same_field_twice_is_told_unless_equal() -> None:
    assert "twice" in parse_chart("pH: low\npH: high", PARTS).problems[0].sentence
    assert parse_chart("pH: low\npH: LOW", PARTS).values["pH"] == "low"


def test_an_unknown_field_is_told_with_the_nearest() -> None:
    (slip,) = parse_chart("bicarbnate: high", PARTS).problems
    assert slip.did_you_mean == "bicarbonate"


def test_an_untouched_cell_is_blank_and_names_every_field() -> None:
    answer = parse_chart(write_chart("q2-3", PARTS), PARTS)
    assert answer.blank
    assert answer.missing == ("pH", "bicarbonate", "disorder", "compensation")


def test_what_is_written_is_read_back() -> None:
    values = {"pH": "low", "bicarbonate": "high", "disorder": "respiratory acidosis",
              "compensation": "partially compensated"}
    assert parse_chart(write_chart("q2-3", PARTS, values), PARTS).values == values
    for field, value in ((LETTERS, ("A", "D")), (LETTERS, ()), (PACO2, 26.5),
                         (STEPS, ("call", "listen", "sit up"))):
        text = write_chart("q1", [field], {field.name: value})
        assert parse_chart(text, [field]).values == {field.name: value}


def test_comments_and_the_magic_line_are_not_answers() -> None:
    assert [line.field for line in read_chart("%%chart q1\n# a note: mine\n\npH: low")] == ["pH"]


def test_a_flood_of_text_is_cut_and_told() -> None:
    assert parse_chart("pH: low\n" + "x" * LONGEST, PARTS).problems


@given(st.text(max_size=300))
def test_no_text_whatever_raises(text: str) -> None:
    for fields in (PARTS, (LETTERS,), (STEPS,), (PACO2,), (WHY,)):
        answer = parse_chart(text, fields)
        for field in fields:
            value = answer.values.get(field.name)
            if field.kind == "one" and value is not None:
                assert value in field.words


# --- no line costs more than its length, and no answer makes a page of any length ---

def work(text: str) -> float:
    """How long a chart cell takes to read. [s]"""
    fields = [STANDARD_FIELDS["disorder"], PACO2, LETTER, LETTERS, STEPS]
    best = math.inf
    for _ in range(3):
        began = time.process_time()
        parse_chart(text, fields)
        best = min(best, time.process_time() - began)
    return best


LONG = {
    "a number and letters": lambda n: "expected PaCO2: 1" + "a" * n + "!",
    "digits": lambda n: "expected PaCO2: " + "1" * n + "!",
    "digits and spaces": lambda n: "expected PaCO2: 1" + " " * n + "!",
    "a fraction": lambda n: "expected PaCO2: 1." + "1" * n + "!",
    "a unit": lambda n: "expected PaCO2: 1 " + "µ%" * (n // 2) + "!",
    "combining marks": lambda n: "disorder: a" + "\u0301\u0327" * (n // 2),
    "marks that come apart": lambda n: "disorder: a" + "\u0f73\u0327" * (n // 2),
    "marks in a field's name": lambda n: "a" + "\u0301\u0327" * (n // 2) + ": low",
    "letters": lambda n: "answer: " + "A " * (n // 2) + "!",
    "lines of nothing": lambda n: "a:\n" * (n // 3),
    "unknown lines": lambda n: "no colon here\n" * (n // 14),
    "steps": lambda n: "order: " + "sit up > " * (n // 9),
    "one answer again and again": lambda n: "disorder: metabolic acidosis\n" * (n // 29),
    "spaces": lambda n: " " * n + ":" + " " * n,
}


@pytest.mark.parametrize("what", LONG)
def test_twice_the_text_takes_about_twice_the_time(what: str) -> None:
    """From 4,000 to 16,000 characters, four times: square time would be sixteen times."""
    make = LONG[what]
    assert work(make(16_000)) < 9 * work(make(4_000)) + 0.004


def test_lines_that_are_not_understood_are_counted_and_not_told_one_by_one() -> None:
    answer = parse_chart("disorder: metabolic acidosis\n" + "a:\n" * 6_600,
                         [STANDARD_FIELDS["disorder"]])
    assert answer.values == {"disorder": "metabolic acidosis"}
    assert sum(len(problem.sentence) for problem in answer.problems) < 5_000
    assert "6,588 more lines were not understood" in answer.problems[-1].sentence


@pytest.mark.parametrize("text", ["B or C or D", "B and C", "B C", "B / C", "B (or C)", "B, C",
                                  "B not C", "B: pH 7.20"])
def test_a_letter_with_another_choice_beside_it_is_no_answer(text: str) -> None:
    answer = parse_chart(f"choice: {text}", [LETTER])
    assert not answer.values
    assert answer.problems


@pytest.mark.parametrize("text", ["B", "b.", "option B", "B) pH 7.50", "B, a low one", "B. high"])
def test_a_letter_with_its_own_words_or_a_remark_is_that_letter(text: str) -> None:
    answer = parse_chart(f"choice: {text.replace(', a', ' a')}", [LETTER])
    assert answer.values == {"choice": "B"}


@pytest.mark.parametrize(("typed", "sentence"), [
    ("500 kPa", "outside 0-200 kPa. Check the unit"), ("-3", "outside 0 to 1,000,000"),
    ("12345678", "outside 0 to 1,000,000")])
def test_a_number_that_no_bedside_has_is_told_and_never_an_error(typed: str, sentence: str):
    answer = parse_chart(f"PaCO2: {typed}", [Field("PaCO2", "number", unit="mmHg")])
    assert sentence in answer.problems[0].sentence
    assert not answer.values


def test_minus_zero_is_told_as_zero():
    field = Field("gap", "number", unit="mmol/L")
    assert show_value(field, parse_chart("gap: -0", [field]).values["gap"]) == "0 mmol/L"


def test_a_pressure_typed_in_the_other_unit_keeps_the_limits_of_that_unit():
    field = Field("PaCO2", "number", unit="kPa")
    assert not parse_chart("PaCO2: 900000 mmHg", [field]).values
