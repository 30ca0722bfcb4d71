"""The whole chart: seven lines that agree with the library's reading, whatever is believed."""
from __future__ import annotations

from collections import Counter

import pytest

from acidbase_lib.reading.interpretation import interpret
from acidbase_lib.teaching.misconceptions.catalog import MISCONCEPTIONS, SOUND
from acidbase_lib.teaching.questions.answer_text import parse_chart
from acidbase_lib.teaching.questions.exercise import Exercise, mark
from acidbase_lib.teaching.questions.question_file import (
    UnitError,
    load_plan,
    read_plan,
    sitting_ids,
    unit_ids,
)
from acidbase_lib.teaching.recipes.book import candidates, cook
from acidbase_lib.teaching.recipes.parts import one_case
from acidbase_lib.teaching.recipes.whole_chart import CHART_FIELDS, NOT_ASKED, charted
from acidbase_lib.teaching.seeded_random import SeededRandom
from acidbase_lib.teaching.unit import open_unit

PLAN = load_plan("twelve_charts")


def charts(form: int) -> list[Exercise]:
    return list(cook(PLAN, form))


@pytest.mark.parametrize("form", range(1, 11))
def test_a_chart_is_the_library_s_own_reading(form: int) -> None:
    for question, exercise in zip(PLAN.questions, charts(form), strict=True):
        reading = interpret(
            one_case(question, SeededRandom(f"{PLAN.id}|{question.id}|{form}|0")).gas
        )
        key = exercise.key or {}
        assert key["disorder"] == (reading.primary or "normal")
        assert key["compensation"] == (reading.compensation or NOT_ASKED)
        assert ("none", "one", "two").index(key["processes"]) == len(reading.processes)
        assert key["PaCO2"] == reading.paco2_state
        assert exercise.points == 7


def test_whatever_is_believed_can_be_written() -> None:
    """Every wrong idea finds its own word among the choices: nobody has to guess."""
    words = {field.name: field.words for field in CHART_FIELDS}
    for question in PLAN.questions:
        gas = one_case(question, SeededRandom(question.id)).gas
        for reader in (SOUND, *MISCONCEPTIONS.values()):
            written = charted(reader.read(gas))
            assert list(written) == list(words)
            assert all(written[name] in words[name] for name in words), reader


def test_a_form_holds_many_kinds_of_patients() -> None:
    told = Counter((e.key or {})["compensation"] for form in range(1, 6) for e in charts(form))
    names = {(e.key or {})["disorder"] for e in charts(1)}
    assert len(names) >= 4
    assert min(told[word] for word in ("uncompensated", "partially compensated",
                                       "fully compensated", NOT_ASKED)) >= 4


@pytest.mark.parametrize(("disorder", "means"), [
    ("respiratory acidosis", "uncompensated"), ("metabolic alkalosis", "uncompensated"),
    ("normal", NOT_ASKED), ("mixed acidosis", NOT_ASKED), ("no single name", NOT_ASKED)])
def test_none_is_read_as_the_name_beside_it_makes_plain(disorder: str, means: str) -> None:
    """In units 2 and 3 "none" is "uncompensated": a sound reader who writes so here is right."""
    for text in (f"disorder: {disorder}\ncompensation: none",
                 f"Compensation: None.\nname: {disorder}"):
        answer = parse_chart(text, CHART_FIELDS)
        assert answer.values["compensation"] == means
        assert not answer.problems


def test_none_alone_may_be_two_things_and_both_are_named() -> None:
    answer = parse_chart("compensation: none", CHART_FIELDS)
    assert "compensation" not in answer.values
    assert "'uncompensated' or 'does not apply'" in answer.problems[0].sentence


def test_a_chart_of_an_earlier_kit_is_still_read() -> None:
    """Its list offered "none" for a normal or a mixed gas, and its own answers say so."""
    for exercise in charts(1):
        key = exercise.key or {}
        old = {**key, "compensation": "none" if key["compensation"] == NOT_ASKED
               else key["compensation"]}
        lines = "\n".join(f"{name}: {value}" for name, value in old.items())
        assert dict(parse_chart(lines, exercise.fields).values) == dict(key)


@pytest.mark.slow
def test_one_word_means_one_thing_in_the_whole_course() -> None:
    """What a field's choices may be called is the same in every question that has the field."""
    means: dict[tuple[str, str], set[str]] = {}
    for unit_id in (*unit_ids(), *sitting_ids()):
        unit = open_unit(unit_id)
        for field in (f for exercise in unit for f in exercise.fields if f.kind == "one"):
            if any(c.isdigit() for c in field.name):
                continue  # "patient 2" is asked another thing in another question
            for choice in field.choices:
                if not choice.text:  # a letter means what stands behind it
                    for word in (choice.word, *choice.also):
                        means.setdefault((field.name, word), set()).add(choice.word)
    assert {told: words for told, words in means.items() if len(words) > 1} == {}


def test_the_reasons_come_step_by_step() -> None:
    exercise = charts(1)[0]
    assert exercise.because[0].startswith("Is the pH low, normal or high?")
    assert "processes" in exercise.because[-1]
    assert not any("How soon" in line for line in exercise.because)


def test_a_blank_chart_earns_nothing() -> None:
    exercise = charts(1)[0]
    assert mark(exercise, parse_chart("", exercise.fields)).points == 0.0


@pytest.mark.slow
def test_a_sitting_may_choose_from_more_patients_than_a_unit() -> None:
    slots = candidates(PLAN, 1)
    assert [len(slot) for slot in slots] == [25] * 12
    last = list(cook(PLAN, 1, "o" * 12))
    assert [e.prompt for e in last] == [slot[24].prompt for slot in slots]
    with pytest.raises(UnitError, match="one of 0123456789abcdefghijklmno for each of the 12"):
        list(cook(PLAN, 1, "p" * 12))


@pytest.mark.parametrize("candidates", ["0", "37", '"many"', "true"])
def test_a_number_of_candidates_that_cannot_be_is_told(candidates: str) -> None:
    with pytest.raises(UnitError, match="outside 1 to 36"):
        read_plan(f'id = "x"\ntitle = "X"\ncandidates = {candidates}\n[[question]]\nid = "q1"\n'
                  'recipe = "chart the patient"\nstem = "s"\n', "x.toml")
