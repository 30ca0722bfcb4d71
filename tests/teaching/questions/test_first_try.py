"""The first try in a chart cell: kept, sealed, and never in the way of the answer itself."""
from __future__ import annotations

import time

import pytest
from hypothesis import given
from hypothesis import strategies as st

from acidbase_lib.teaching.questions.answer_text import HOW_SURE, LONGEST, parse_chart, write_chart
from acidbase_lib.teaching.questions.fields import STANDARD_FIELDS, Choice, Field, Value, lettered
from acidbase_lib.teaching.questions.first_try import (
    asked_for,
    place_of,
    read_answer,
    with_first_try,
    with_reason,
    without_first_try,
    without_requests,
)

PARTS = tuple(STANDARD_FIELDS[name] for name in ("pH", "bicarbonate", "disorder"))
ODD = (
    Field("answer", "many", lettered(["pH 7.20", "pH 7.30", "pH 7.50"])),
    Field("order", "order", (Choice("sit up"), Choice("listen"), Choice("call"))),
    Field("expected PaCO2", "number", unit="mmHg"),
    Field("why", "text"),
)
PLACE = place_of("q2-3", 1)
ANSWER = "%%chart q2-3\npH: low\nbicarbonate: high\ndisorder: resp acidosis\nhow sure: unsure"
CHECKED = with_first_try(ANSWER, PARTS, PLACE)
any_text = st.text(max_size=400)
lines_of_ours = st.sampled_from([
    *CHECKED.split("\n"), "# first try (kept by the kit):", "# a note", "#", "", "how sure: guess",
    "how sure:", "check: now", "check:", "reason: b", "pH: high", "why: because", "# pH: high"])
mixed = st.lists(st.one_of(lines_of_ours, st.text(max_size=30)), max_size=14).map("\n".join)


def edited(old: str, new: str) -> str:
    assert old in CHECKED
    return CHECKED.replace(old, new)


def test_the_cell_reads_as_the_contract_has_it() -> None:
    first, *kept = CHECKED.removeprefix(ANSWER + "\n").split("\n")
    assert first.startswith("# first try (kept by the kit): ")
    assert kept == ["# pH: low", "# bicarbonate: high", "# disorder: respiratory acidosis",
                    "# how sure: unsure"]


def test_the_first_try_stays_what_it_was_while_the_answer_changes() -> None:
    later = edited("disorder: resp acidosis\n", "disorder: metabolic acidosis\n")
    answer = read_answer(later, PARTS, PLACE)
    assert answer.values["disorder"] == "metabolic acidosis"
    assert answer.first is not None
    assert answer.first.sealed
    assert answer.first.values["disorder"] == "respiratory acidosis"
    assert with_first_try(later, PARTS, PLACE) == later


def test_a_reason_is_kept_under_a_new_seal_and_only_once() -> None:
    told = with_reason(CHECKED, PARTS, PLACE, "both moved\nthe same way")
    first = read_answer(told, PARTS, PLACE).first
    assert first is not None
    assert (first.sealed, first.reason) == (True, "both moved the same way")
    assert with_reason(told, PARTS, PLACE, "another") == told


@pytest.mark.parametrize("changed", [
    edited("# pH: low", "# pH: high"), edited("# how sure: unsure", "# how sure: sure"),
    edited("# bicarbonate: high\n", ""), edited("kit): ", "kit): 0"),
    edited(CHECKED.split("kit): ")[1][:6], ""),
    CHECKED + "\n" + CHECKED.partition("high\ndisorder")[2].replace("# pH: low", "# pH: high"),
])
def test_a_change_by_hand_shows(changed: str) -> None:
    first = read_answer(changed, PARTS, PLACE).first
    assert first is not None
    assert not first.sealed


@pytest.mark.parametrize("other", [place_of("q2-3", 2), place_of("q2-2", 1), ""])
def test_the_seal_of_another_question_or_form_does_not_fit(other: str) -> None:
    first = read_answer(CHECKED, PARTS, other).first
    assert first is not None
    assert not first.sealed


@pytest.mark.parametrize("same", [
    CHECKED + "\n# a note of my own", edited(" (kept by the kit): ", " (Kept by the kit) "),
    CHECKED + "\n", CHECKED.replace("\n", "\r\n"),
    CHECKED.replace("# ", "#   "), CHECKED.replace("\n#", "\n\n  #"), CHECKED + "\n" +
    "\n".join(CHECKED.split("\n")[5:]), "\n".join([*CHECKED.split("\n")[:1],
                                                   *CHECKED.split("\n")[5:],
                                                   *CHECKED.split("\n")[1:5]])])
def test_what_an_editor_does_to_a_text_breaks_no_seal(same: str) -> None:
    first = read_answer(same, PARTS, PLACE).first
    assert first is not None
    assert first.sealed


def test_without_a_first_try_there_is_none_and_a_note_is_none() -> None:
    assert read_answer(ANSWER, PARTS, PLACE).first is None
    assert read_answer(ANSWER + "\n# first try: I guess low", PARTS, PLACE).first is None


def test_an_answer_with_a_line_left_is_no_try() -> None:
    text = "%%chart q2-3\npH: low\nbicarbonate:\ndisorder: resp acidosis"
    assert with_first_try(text, PARTS, PLACE) == text


@pytest.mark.parametrize("word", HOW_SURE)
def test_how_sure_is_read_and_is_no_part_of_the_answer(word: str) -> None:
    answer = parse_chart(f"pH: low\nHow sure: {word.title()}.\nbicarbonate: high", PARTS)
    assert answer.how_sure == word
    assert not answer.problems
    assert answer.missing == ("disorder",)


@pytest.mark.parametrize("line", ["how sure:", "how sure: rather", "check: now", "check:",
                                  "reason: C"])
def test_a_line_for_the_kit_is_never_not_understood(line: str) -> None:
    assert not parse_chart(f"pH: low\n{line}", PARTS).problems


def test_a_question_that_asks_for_it_keeps_its_own_line() -> None:
    fields = (Field("reason", "one", (Choice("a"), Choice("b"))),)
    assert parse_chart("reason: b", fields).values == {"reason": "b"}
    assert not asked_for("reason: b", fields)


def test_a_text_keeps_its_own_words_about_being_sure() -> None:
    text = "why: I looked twice\nHow sure: quite, because\ncheck: the pH\n# not read"
    assert parse_chart(text, [ODD[3]]).values["why"] == (
        "I looked twice\nHow sure: quite, because\ncheck: the pH")


def test_a_request_is_read_and_taken_out() -> None:
    text = ANSWER + "\ncheck: now\nreason: B"
    assert asked_for(text, PARTS) == {"check": "now", "reason": "b"}
    assert without_requests(text, PARTS) == ANSWER


@pytest.mark.slow
@given(mixed, st.one_of(st.just(PLACE), st.text(max_size=5)))
def test_reading_never_raises_and_changes_nothing_of_the_answer(text: str, place: str) -> None:
    for fields in (PARTS, ODD, ODD[3:]):
        answer, plain = read_answer(text, fields, place), parse_chart(text, fields)
        assert (answer.values, answer.missing, answer.problems, answer.how_sure) == (
            plain.values, plain.missing, plain.problems, plain.how_sure)


@given(mixed)
def test_keeping_a_first_try_changes_nothing_of_the_answer(text: str) -> None:
    for fields in (PARTS, ODD[3:]):
        kept = with_reason(with_first_try(text, fields, PLACE), fields, PLACE, "because: of it")
        now, before = parse_chart(kept, fields), parse_chart(text, fields)
        assert now.values == before.values
        assert now.missing == before.missing


@given(any_text, st.permutations(["sit up", "listen", "call"]),
       st.sets(st.sampled_from("ABC")), st.floats(0, 1e6).filter(lambda n: n == 0 or n > 1e-9),
       st.sampled_from([None, *HOW_SURE]), st.booleans())
def test_what_was_answered_is_what_is_kept(why: str, order: list[str], many: set[str],
                                           number: float, sure: str | None, told: bool) -> None:
    values: dict[str, Value] = {"answer": tuple(w for w in "ABC" if w in many),
                                "order": tuple(order), "expected PaCO2": round(number, 3),
                                "why": "it is so"}
    text = write_chart("q2-3", ODD, values) + " " + why.replace("#", "")
    text += f"\nhow sure: {sure}" if sure else ""
    answer = parse_chart(text, ODD)
    kept = with_first_try(text, ODD, PLACE)
    if not answer.complete:
        assert kept == text
        return
    if told:
        kept = with_reason(kept, ODD, PLACE, "pH: " + why)
    first = read_answer(kept, ODD, PLACE).first
    assert first is not None
    assert first.sealed
    assert first.how_sure == answer.how_sure
    assert {k: v for k, v in first.values.items() if k != "why"} == {
        k: v for k, v in answer.values.items() if k != "why"}
    assert "it is so" in str(first.values["why"])


@given(st.integers(0, len(CHECKED) - 1), st.characters(blacklist_characters="# \n"))
def test_any_letter_changed_in_it_shows_or_changes_nothing(at: int, letter: str) -> None:
    text = CHECKED[:at] + letter + CHECKED[at + 1:]
    first = read_answer(text, PARTS, PLACE).first
    genuine = read_answer(CHECKED, PARTS, PLACE).first
    assert first is None or not first.sealed or first == genuine


@pytest.mark.parametrize("line", [
    "# first try (kept by the kit): 0", "#", "# x", "check: now", "how sure: sure", "\u2028#",
    "# first try (kept by the kit" + " " * 30, "# reason: x", "# pH: low"])
def test_a_long_cell_costs_no_more_than_its_length(line: str) -> None:
    text = "# first try (kept by the kit): 5f1c09\n" + "\n".join([line] * (LONGEST // len(line)))
    begun = time.process_time()
    read_answer(text, PARTS, PLACE)
    with_first_try(text, PARTS, PLACE)
    with_reason(text, PARTS, PLACE, "x")
    asked_for(text, PARTS)
    assert time.process_time() - begun < 1.0
    long = "# first try (kept by the kit)" + " \t" * (LONGEST // 2)
    read_answer(long + "x", PARTS, PLACE)
    assert time.process_time() - begun < 1.2


@pytest.mark.parametrize("times", [700, 50_000])
def test_any_number_of_first_tries_is_taken_out_at_once(times: int) -> None:
    """Each copy of it in a cell cost a whole pass, and a frame of the stack that held the text."""
    start = time.process_time()
    assert without_first_try(ANSWER + "\n# first try (kept by the kit)" * times) == ANSWER
    assert time.process_time() - start < 2
