"""What options, stems and reasons say of a gas is held against its numbers."""
from __future__ import annotations

import pytest

from acidbase_lib.reading.blood_gas import BloodGas
from acidbase_lib.reading.interpretation import interpret
from acidbase_lib.teaching.question_check.audit import audit_text
from acidbase_lib.teaching.question_check.claims import Claim, claims_of, holds, named_in
from acidbase_lib.teaching.question_check.findings import LOOK, MUST, Finding

PARTIAL = "pH 7.29, PaCO2 70 mmHg, HCO3 33 mmol/L"
LABELS = ("partially compensated respiratory acidosis", "uncompensated respiratory acidosis",
          "fully compensated respiratory acidosis")
RANGES = "ranges: pH 7.35-7.45, PaCO2 35-45 mmHg, HCO3 22-26 mmol/L\n\n"


def found(stem: str, *options: str, right: str = "A", more: str = "", head: str = RANGES
          ) -> list[Finding]:
    """The findings that must or should be mended."""
    lines = "\n".join(f"{letter}. {text}" for letter, text in zip("ABCDE", options, strict=False))
    audit = audit_text(f"{head}1. {stem}\n{lines}\nright: {right}\n{more}")
    assert audit.broken == ()
    return [one for one in audit.findings if one.weight in (MUST, LOOK)]


def kinds(stem: str, *options: str, right: str = "A", more: str = "") -> list[str]:
    return [one.kind for one in found(stem, *options, right=right, more=more)]


# --- what an option says --------------------------------------------------------------------------

FULL = Claim("compensation", "fully compensated")


@pytest.mark.parametrize(("text", "claims"), [
    ("The pH is low", [Claim("ph", "low")]),
    ("bicarbonate is within its range", [Claim("hco3", "normal")]),
    ("The PaCO2 is not raised.", [Claim("paco2", "high", denied=True)]),
    ("His PaO2 is below the normal range", [Claim("pao2", "low")]),
    ("The primary problem is metabolic", [Claim("cause", "metabolic")]),
    ("The gas is fully compensated", [FULL]),
    ("He hypoventilates", [Claim("breathing", "too little")]),
    ("The kidneys have compensated fully",
     [Claim("compensation", "fully compensated", by="kidneys")]),
    ("No organ has compensated yet", [Claim("compensation", "uncompensated")]),
    ("low pH, high PaCO2 and normal bicarbonate",
     [Claim("ph", "low"), Claim("paco2", "high"), Claim("hco3", "normal")]),
    ("The pH is in range, so it is fully compensated", [Claim("ph", "normal"), FULL]),
    ("It is fully compensated, because the pH is in range", [FULL, Claim("ph", "normal")]),
    ("The bicarbonate is low because the kidneys lose it", []), ("Low", []),
])
def test_an_option_claims_only_where_it_says_nothing_else(
        text: str, claims: list[Claim]) -> None:
    assert claims_of(text) == tuple(claims)


@pytest.mark.parametrize(("text", "names"), [
    ("PaCO2", {"paco2"}), ("the pH and the bicarbonate", {"ph", "hco3"}), ("none of them", set()),
    ("pH, PaCO2 and HCO3", {"ph", "paco2", "hco3"}), ("the patient", None), ("PaCO2 is high", None),
])
def test_an_option_may_name_values_and_nothing_else(text: str, names: set[str] | None) -> None:
    assert named_in(text) == (None if names is None else frozenset(names))


def test_what_is_not_printed_is_not_decided() -> None:
    reading = interpret(BloodGas(ph=7.29, paco2=70))
    printed = frozenset({"ph", "paco2"})
    assert holds(Claim("paco2", "high"), reading, printed) is True
    assert holds(Claim("paco2", "high", denied=True), reading, printed) is False
    assert holds(Claim("hco3", "high"), reading, printed) is None


def test_a_false_statement_may_not_be_the_key() -> None:
    (finding,) = found(f"{PARTIAL}. Which is true?", "The pH is high", "The PaCO2 is high",
                       "The disorder is metabolic")
    assert (finding.kind, finding.mend) == ("wrong key", "Write 'right: B'.")


def test_select_all_needs_every_true_option() -> None:
    options = ("The pH is low", "The PaCO2 is high", "The bicarbonate is low",
               "The bicarbonate is high")
    stem = f"{PARTIAL}. Select all that apply."
    (finding,) = found(stem, *options, right="A, B")
    assert (finding.kind, finding.mend) == ("wrong key", "Write 'right: A, B, D'.")
    assert found(stem, *options, right="A, B, D") == []


def test_a_true_option_beside_the_key_is_one_too_many_only_where_truth_is_asked() -> None:
    options = "The bicarbonate is high", "The pH is low", "The PaCO2 is low"
    assert kinds(f"{PARTIAL}. Which is true?", *options) == ["more than one right answer"]
    assert kinds(f"{PARTIAL}. Which finding shows that the kidneys have answered?", *options) == []


def test_which_value_is_high_is_worked_out() -> None:
    options = "pH", "PaCO2", "HCO3"
    assert kinds(f"{PARTIAL}. Which value is below its range?", *options) == []
    assert kinds(f"{PARTIAL}. Which value is below its range?", *options, right="B") == [
        "wrong key"]
    assert kinds(f"{PARTIAL}. Which value is high?", *options, right="B") == [
        "more than one right answer"]
    assert kinds(f"{PARTIAL}. Which value explains the low pH?", *options, right="B") == []


# --- "compensated" --------------------------------------------------------------------------------

@pytest.mark.parametrize("stem", [
    "Her fully compensated gas reads {gas}. Which label fits?",
    "Her gas, {gas}, is uncompensated. Which label fits?",
])
def test_the_stem_may_not_call_it_what_it_is_not(stem: str) -> None:
    assert "compensated used unlawfully" in kinds(stem.format(gas=PARTIAL), *LABELS)


@pytest.mark.parametrize("stem", [
    "{gas}. Is this fully compensated, partially compensated or uncompensated?",
    "{gas}. A student calls it fully compensated. Which label fits?",
    "Her partially compensated gas reads {gas}. Which label fits?",
    "{gas}. Which number would be in range if it were fully compensated? Which label fits?",
])
def test_a_question_or_somebody_elses_word_is_not_the_authors(stem: str) -> None:
    assert kinds(stem.format(gas=PARTIAL), *LABELS) == []


@pytest.mark.parametrize(("because", "wrong"), [
    ("bicarbonate has risen, so it is fully compensated", ["compensated used unlawfully"]),
    ("the pH is high", ["the reason does not fit"]),
    ("the pH is low and bicarbonate has risen, so it is partially compensated", []),
    ("it is not fully compensated, since the pH is low", []),
    ("a fully compensated gas would have a pH in range", []),
    ("C is fully compensated, and the pH is not in range", []),
])
def test_the_reason_may_not_contradict_the_numbers(because: str, wrong: list[str]) -> None:
    assert kinds(f"{PARTIAL}. Which label fits?", *LABELS, more=f"because: {because}") == wrong


def test_nobody_compensates_beyond_the_aim_unless_the_author_says_who_thinks_so() -> None:
    options = LABELS[0], "overcompensated respiratory acidosis", LABELS[1]
    stem = f"{PARTIAL}. Which label fits?"
    assert kinds(stem, *options) == ["compensated used unlawfully"]
    assert kinds(stem, *options, more="suggests B: a high bicarbonate is too much") == []


# --- what the stem must print ---------------------------------------------------------------------

@pytest.mark.parametrize(("stem", "options"), [
    ("PaCO2 58 mmHg. Which label fits?", LABELS),
    ("pH 7.29. Which disorder is it?", ("respiratory acidosis", "metabolic acidosis",
                                       "metabolic alkalosis")),
    ("Sodium 138 mmol/L, bicarbonate 10 mmol/L. What is the anion gap?", ("28", "12", "8")),
    (f"{PARTIAL}. Which kind of respiratory failure is it?", ("type 2", "type 1", "none")),
    ("pH 7.33, HCO3 17 mmol/L. Is it compensated?",
     ("it is partially compensated", "it is uncompensated", "it is fully compensated")),
    ("pH 7.29, PaCO2 70 mmHg. Which is true?", ("The bicarbonate is high", "The pH is high",
                                               "The PaCO2 is low")),
])
def test_a_value_that_decides_must_be_printed(stem: str, options: tuple[str, ...]) -> None:
    assert "a value is missing" in kinds(stem, *options)


@pytest.mark.parametrize(("stem", "options"), [
    ("pH 7.29 after a week of vomiting and diarrhea. Which disorder would you expect?",
     ("metabolic acidosis", "respiratory acidosis", "metabolic alkalosis")),
    ("Which disorder does a long run of vomiting bring?",
     ("metabolic alkalosis", "metabolic acidosis", "respiratory acidosis")),
    ("Sodium 138, chloride 100, bicarbonate 10 mmol/L. What is the anion gap?", ("28", "38", "48")),
])
def test_a_question_that_can_be_answered_misses_nothing(
        stem: str, options: tuple[str, ...]) -> None:
    assert "a value is missing" not in kinds(stem, *options)


# --- ranges, grammar, what comes first ------------------------------------------------------------

@pytest.mark.parametrize(("ranges", "says"), [
    ("pH 7.35-7.45, PaCO2 35-45 kPa", "the numbers are in mmHg"),
    ("PaCO2 4.7-6.0 mmHg", "the numbers are in kPa"),
    ("PaCO2 22-26 mmHg, HCO3 35-45 mmol/L", "looks like the range of HCO3"),
    ("HCO3 26-22 mmol/L", "not a range from low to high"), ("as usual", "No range could be read"),
])
def test_ranges_in_which_nobody_lies_are_said_once(ranges: str, says: str) -> None:
    two = "\n".join(f"{n}. Which?\nA. x\nB. y\nC. z\nright: A\n" for n in (1, 2))
    audit = audit_text(f"ranges: {ranges}\n\n{two}")
    told = [one for one in audit.findings if one.kind == "ranges" and says in one.says]
    assert [one.line for one in told] == [1]


@pytest.mark.parametrize(("stem", "options", "clash"), [
    ("The nurse can help by", ("sitting him up", "give oxygen", "a drink"), True),
    ("The nurse can help by", ("sitting him up", "giving oxygen", "fetching a drink"), False),
    ("The two that are high are", ("PaCO2 and bicarbonate", "pH", "PaCO2"), True),
    ("The two that are high are", ("PaCO2 and bicarbonate", "pH and PaCO2", "pH and HCO3"), False),
    ("The nurse should", ("sit him up", "giving oxygen", "fetching a drink"), True),
])
def test_grammar_may_not_tell_the_answer(stem: str, options: tuple[str, ...], clash: bool) -> None:
    assert ("grammar gives it away" in kinds(stem, *options)) is clash


def test_values_out_of_range_are_counted() -> None:
    options = "None", "One", "Two", "Three"
    stem = "pH 7.37, PaCO2 58 mmHg, HCO3 33 mmol/L. How many of the three numbers are out of range?"
    assert kinds(stem, *options, right="C") == []
    assert kinds(stem, *options, right="D") == ["wrong key"]


def test_one_label_with_two_courses_is_two_answers() -> None:
    assert kinds("First pH 7.18, PaCO2 24 mmHg, HCO3 9 mmol/L; then pH 7.33, PaCO2 33 mmHg, HCO3 "
                 "17 mmol/L. What has happened?", "The metabolic acidosis is getting better",
                 "The metabolic acidosis is getting worse", "The gas has become normal") == []


@pytest.mark.parametrize("option", [
    "Leave the oxygen off", "Keep him off oxygen until the gas is back", "Give no oxygen",
    "Do not start oxygen", "Leave him on room air", "Wait with the oxygen", "Hold back the oxygen",
])
def test_oxygen_is_withheld_in_many_words(option: str) -> None:
    stem = "Mr. Adair, 71, has COPD, is alert, SpO2 80 % on room air. What do you do first?"
    assert "unsafe key" in kinds(stem, option, "Venturi mask toward 88-92 %", "Chart the SpO2")


def test_an_act_before_a_look_asks_the_author() -> None:
    options = "Apply a reservoir mask", "Count his respirations", "Write a note in his chart"
    stem = "Mr. Adair rings the bell. {} What do you do first?"
    assert kinds(stem.format("He feels odd."), *options) == ["author must decide"]
    assert kinds(stem.format("His lips are blue."), *options) == []
    assert kinds(stem.format("He feels odd."), *options, right="B") == []


def test_a_sentence_that_pushes_is_no_drug() -> None:
    assert "a drug as an order" not in kinds(
        f"{PARTIAL}. Why is it acid?", "The high PaCO2 pushes past the bicarbonate",
        "The low PaCO2 pushes past the bicarbonate", "The bicarbonate pushes past the PaCO2")
