"""A file of written questions is a unit: each kind asked, keyed, explained, dealt anew, carried."""
from __future__ import annotations

import pytest
from own_school import WARD_ROUND

from acidbase_lib.reading.blood_gas import BloodGas
from acidbase_lib.reading.interpretation import interpret
from acidbase_lib.teaching.own_questions.carried import own_plan, pack, unpack
from acidbase_lib.teaching.own_questions.faults import OwnUnitError
from acidbase_lib.teaching.own_questions.wish import wish_in
from acidbase_lib.teaching.patients.cases import CaseRequestError, draw_case
from acidbase_lib.teaching.questions.question_file import UnitError
from acidbase_lib.teaching.recipes.deal import draw_order
from acidbase_lib.teaching.unit import Unit, open_unit

PLAN = own_plan("ward_round", WARD_ROUND)
LETTERS = "A. one\nB. two\n"


def opened(form: int = 1, dealt: bool = False) -> Unit:
    return open_unit("ward_round", form, order=draw_order(PLAN, form) if dealt else "",
                     questions=PLAN.carried)


def test_each_kind_is_asked_with_its_authors_key_and_points() -> None:
    asked = {e.id: (e.kind, e.points, dict(e.key or {})) for e in opened()}
    assert asked == {
        "q1": ("choose one", 1.0, {"answer": "A"}),
        "q2": ("select all", 2.0, {"answer": ("A", "B")}),
        "q3": ("number", 1.0, {"answer": 26.0}),
        "q4": ("put in order", 1.0, {"answer": ("B", "C", "A")}),
        "q5": ("several parts", 3.0, {"pH": "high", "PaCO2": "low", "bicarbonate": "normal"}),
        "q6": ("rationale", 3.0, {}),
    }


def test_a_right_answer_earns_every_point_and_a_near_number_counts() -> None:
    unit = opened()
    for question, text in {"q1": "answer: A", "q2": "answer: A, B", "q3": "answer: 25 mmol/L",
                           "q4": "answer: B > C > A",
                           "q5": "pH: high\nPaCO2: low\nbicarbonate: normal"}.items():
        unit.record(question, f"%%chart {question}\n{text}")
        assert unit.mark_of(question).points == unit.exercise(question).points, question
    unit.record("q3", "%%chart q3\nanswer: 28")
    assert unit.mark_of("q3").points == 0.0


def test_an_options_reason_and_idea_are_kept() -> None:
    first = opened().exercise("q1")
    assert first.why["answer"]["B"] == "PaCO2 is high: a push of the lungs."
    assert dict(first.predicted) == {"directions swapped": {"answer": "B"}}
    assert first.because == ("The pH is low and PaCO2 pushes that way.",)
    assert opened().exercise("q6").ticks == ("names the pH", "says that nothing is wrong")


def test_a_wish_draws_another_patient_in_each_form() -> None:
    one, other = opened(1).exercise("q2").prompt, opened(2).exercise("q2").prompt
    assert "| pH |" in one
    assert "{" not in one + other
    assert one != other


def test_the_ranges_at_the_head_of_the_file_are_told_beside_each_gas() -> None:
    told = {e.id for e in opened() if "Ranges: pH 7.35-7.45, PaCO2 35-45 mmHg" in e.prompt}
    assert told == {"q1", "q2", "q5", "q6"}  # the others show no gas, or state none


@pytest.mark.parametrize("form", range(1, 13))
def test_in_a_form_dealt_anew_the_key_follows_its_option(form: int) -> None:
    unit = opened(form, dealt=True)
    place = next(place for place, origin in unit.origins.items() if origin == "q1")
    asked = unit.exercise(place)
    texts = {choice.word: choice.text for choice in asked.fields[0].choices}
    assert texts[str(asked.key["answer"])] == "partially compensated respiratory acidosis"
    assert texts[str(asked.predicted["directions swapped"]["answer"])].endswith(
        "metabolic acidosis")
    assert asked.why["answer"][str(asked.predicted["directions swapped"]["answer"])].startswith(
        "PaCO2 is high")


def test_options_come_in_another_order_unless_they_speak_of_each_other() -> None:
    def orders(last: str) -> set[str]:
        plan = own_plan("w", f"1. Which?\nA. one\nB. two\nC. {last}\nright: A\n")
        return {open_unit("w", form, order="0", questions=plan.carried).exercise("q1").prompt
                .partition("\n\n- ")[2] for form in range(1, 13)}

    assert len(orders("three")) > 1
    assert len(orders("all of the above")) == len(orders("A and B")) == 1


def test_the_key_of_every_wished_gas_is_what_the_kit_reads() -> None:
    for seed in range(20):
        case = draw_case(**wish_in("partially compensated metabolic acidosis, moderate"),
                         seed=seed)
        label = interpret(BloodGas(case.gas.ph, case.gas.paco2, case.gas.hco3)).label
        assert label == "partially compensated metabolic acidosis"


@pytest.mark.parametrize(("words", "asked"), [
    ("normal", {"disorder": "normal"}),
    ("Severe metabolic acidaemia", None),
    ("fully compensated respiratory acidosis, chronic",
     {"compensation": "fully compensated", "disorder": "respiratory acidosis", "chronic": True}),
    ("metabolic acidosis with respiratory alkalosis",
     {"disorder": "metabolic acidosis", "second": "respiratory alkalosis"}),
    ("green", None), ("moderate", None), ("uncompensated respiratory acidosis, chronic", None)])
def test_a_wish_is_read_or_refused_with_a_reason(words: str, asked: dict | None) -> None:
    if asked is not None:
        assert wish_in(words) == asked
        return
    with pytest.raises(CaseRequestError, match=r"\w{3,}.*\."):
        wish_in(words)


def test_what_is_carried_comes_back_and_a_change_is_told() -> None:
    word = pack(WARD_ROUND)
    assert unpack(word) == (WARD_ROUND, "text")
    for changed in (word[:-9], word.replace("text.", "toml.x"), word[:30] + "A" + word[31:],
                    "text.0", ""):
        with pytest.raises(UnitError, match="were changed or cut off"):
            unpack(changed)


def test_windows_line_ends_and_a_byte_order_mark_make_the_same_unit() -> None:
    assert own_plan("w", "\ufeff" + WARD_ROUND.replace("\n", "\r\n")).carried == PLAN.carried


@pytest.mark.parametrize(("text", "line", "says"), [
    (f"1. Which?\n{LETTERS}", 1, "no answer is given"),
    (f"1. Which?\n{LETTERS}right: C\n", 4, "the options are A, B"),
    (f"1. Which?\n{LETTERS}right: A\nnumber: 3\n", 1, "ask for one of them"),
    ("1. How many?\nnumber: 3 apples\n", 2, "ask for it in the stem"),
    ("1. How many?\nnumber: 5,3\n", 2, "point before the decimals"),
    ("1. How many?\nnumber: -2\n", 2, "outside 0"),
    ("1. How many? {gas: normal}\nnumber: 3\n", 2, "another one in each form"),
    ("1. Which? {gas: normal} {gas: normal}\nline: pH = low / normal (right)\n", 1, "one gas"),
    ("1. {patient} Which?\nline: pH = low / normal (right)\n", 1, "story of a drawn gas"),
    ("1. {age} Which?\nline: pH = low / normal (right)\n", 1, "stands for nothing"),
    ("1. Which? {gas: purple}\nline: pH = low / normal (right)\n", 1, "'purple'"),
    ("1. Which?\nline: pH = low / normal\n", 2, "no choices marked (right)"),
    ("1. Which?\nline: low / normal (right)\n", 2, "no name"),
    (f"1. Which?\n{LETTERS}order: A\n", 4, "each option once"),
    ("1. Say it.\nwrite: so\n", 1, "looks for"),
    (f"1. Which?\n{LETTERS}right: A\npoints: 0\n", 5, "above 0"),
    (f"1. Which?\n{LETTERS}right: A\nsuggests B: the moon\n", 3, "no idea that the kit knows"),
    ("1. Which?\nA. one\nB. one\nright: A\n", 3, "says the same as option A"),
    (f"1. Which <b>?\n{LETTERS}right: A\n", 1, "web page"),
    ("", 1, "empty"),
])
def test_a_fault_is_told_with_its_line(text: str, line: int, says: str) -> None:
    with pytest.raises(OwnUnitError) as told:
        own_plan("ward", text)
    assert (line, True) in {(fault.line, says in fault.sentence) for fault in told.value.faults}, \
        told.value.faults


@pytest.mark.parametrize("name", ["02_primary_disorder", "Ward Round", "x_form_3", "9lives", ""])
def test_a_units_name_is_its_own(name: str) -> None:
    with pytest.raises(OwnUnitError, match="name"):
        own_plan(name, WARD_ROUND)
