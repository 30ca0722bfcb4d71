"""Before and after: what unit 0 heard first, beside the units that teach it."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

from acidbase_lib.teaching.home.before_after import before_and_after
from acidbase_lib.teaching.home.learner_units import learner_units
from acidbase_lib.teaching.questions.first_try import place_of, with_first_try
from acidbase_lib.teaching.unit import open_unit

SOLVED = {unit.path[:2]: unit
          for unit in learner_units(Path(__file__).parents[3] / "solutions")}
START, TWO = SOLVED["00"], SOLVED["02"]
WRONG = "%%chart q0-6\nanswer: "


def rows(*units):
    return {row["title"][:6]: (row["before"], row["after"], row["now"])
            for row in before_and_after(units)}


def answered(unit, **texts):
    return replace(unit, texts={name.replace("_", "-"): text for name, text in texts.items()})


def wrong_first_thought():
    exercise = open_unit("00_start_here").exercise("q0-6")
    other = next(c.word for c in exercise.fields[0].choices if c.word != exercise.key["answer"])
    return f"{WRONG}{other}"


def test_each_unit_that_teaches_what_unit_0_asked_has_a_row():
    assert rows(START, TWO) == {"01_ran": ("3 of 3", "not begun yet", "–"),
                                "03_com": ("2 of 2", "not begun yet", "–"),
                                "Unit 2": ("1 of 1", "8 of 8", "8 of 8")}


def test_a_wrong_first_thought_is_held_against_the_reading_although_it_earns_its_point():
    begun = answered(START, q0_6=wrong_first_thought())
    assert rows(begun) == {"02_pri": ("0 of 1", "not begun yet", "–")}


def test_what_counts_is_what_was_thought_first_not_what_was_mended():
    fields = open_unit("00_start_here").exercise("q0-6").fields
    kept = with_first_try(wrong_first_thought(), fields, place_of("q0-6", 1)).split("\n")[2:]
    mended = answered(START, q0_6="\n".join([START.texts["q0-6"].strip(), *kept]))
    assert rows(mended) == {"02_pri": ("0 of 1", "not begun yet", "–")}


def test_before_unit_0_is_begun_nothing_is_shown():
    assert before_and_after([TWO]) == []
    assert before_and_after([answered(START)]) == []


def test_an_older_copys_patient_is_held_against_no_reading():
    begun = replace(answered(START, q0_6=wrong_first_thought()),
                    prompts={"q0-6": "### Question 0.6 (1 point)\n\nSomebody else: pH 7.68."})
    assert before_and_after([begun]) == []
