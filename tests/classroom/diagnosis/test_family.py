"""An idea as a family: other readings of its name, most answers, and never one slip alone."""
from __future__ import annotations

import random
from dataclasses import replace
from math import exp, log

import pytest

from acidbase_lib.classroom.diagnosis.diagnosis import IDEA, diagnose, observe
from acidbase_lib.classroom.diagnosis.family import APPLIED, AS_LISTED, REACHES, Families
from acidbase_lib.classroom.diagnosis.observation import Observation
from acidbase_lib.classroom.diagnosis.other_readings import READINGS
from acidbase_lib.classroom.diagnosis.own_rule import SLIPS, slip_weights, weak_lines_fit
from acidbase_lib.classroom.diagnosis.variants import variants_of
from acidbase_lib.reading.blood_gas import BloodGas
from acidbase_lib.teaching.misconceptions.catalog import MISCONCEPTIONS, SOUND
from acidbase_lib.teaching.questions.exercise import Exercise, Mark, Part
from acidbase_lib.teaching.recipes.whole_chart import CHART_FIELDS, charted

SLIP = (1.5, 15.0)
WORDS = ("w", "x", "y", "z")


def asked(given: str, idea: str | None, other: str | None = None) -> Observation:
    """A question of four words of which w is right."""
    return Observation("q", "f", given, "w", {} if idea is None else {"A": idea}, 4, "f: w",
                       {} if other is None else {"A": (other,)})


def chart(ph: float, paco2: float, hco3: float) -> Exercise:
    """One whole chart, as a form has it."""
    gas = BloodGas(ph, paco2, hco3)
    key = charted(SOUND.read(gas))
    return Exercise(
        "q1", "several parts", 7.0,
        f"| pH | {ph} |\n| PaCO2 | {paco2:g} mmHg |\n| bicarbonate | {hco3:g} mmol/L |",
        CHART_FIELDS, key, predicted={
            idea: said for idea in READINGS
            if (said := charted(MISCONCEPTIONS[idea].read(gas))) != key})


CHARTS = [(7.22, 62, 25), (7.30, 60, 29), (7.37, 55, 31), (7.52, 28, 22), (7.47, 30, 21),
          (7.25, 30, 13), (7.36, 30, 17), (7.50, 48, 36), (7.43, 50, 32), (7.10, 60, 18)]


def sat(answer: dict[str, str] | None = None, reading: int = -1, idea: str = "",
        applied: float = 1.0, seed: int = 1) -> list[Observation]:
    """Ten charts of a learner who applies one reading of an idea in some of them."""
    dice, seen = random.Random(seed), []
    for n, gas in enumerate(CHARTS):
        exercise = replace(chart(*gas), id=f"q{n}")
        key = exercise.key or {}
        held = (exercise.predicted.get(idea, key) if reading < 0 else
                variants_of(exercise)[idea][reading])
        said = {**key, **(held if dice.random() < applied else {})}
        seen += observe({exercise.id: exercise}, [Mark(exercise.id, 0.0, 7.0, "answered", tuple(
            Part(name, word, key[name], word == key[name]) for name, word in said.items()))])
    return seen


def test_the_fit_is_the_sum_over_slips_application_and_reach() -> None:
    seen = [asked("x", "x"), asked("w", "x"), asked("z", "x"), asked("w", None), asked("y", None)]
    total = 0.0
    for weight, slip in zip(slip_weights(SLIP), SLIPS, strict=True):
        for applied, share in APPLIED:
            on = ((applied * (1 - slip) + (1 - applied) * slip / 3)
                  * ((1 - applied) * (1 - slip) + applied * slip / 3) * slip / 3)
            off = slip / 3 * (1 - slip) * slip / 3
            plain = (1 - slip) * slip / 3
            total += exp(weight) * share * plain * (REACHES * on + (1 - REACHES) * off)
    assert Families(seen, ("A",), SLIP).one("A") == pytest.approx(log(total))


def test_a_variant_shares_what_the_listed_program_leaves() -> None:
    seen = [asked("y", "x", "y"), asked("y", "x", "y"), asked("w", "x", "y")]
    as_other = [asked("y", "y"), asked("y", "y"), asked("w", "y")]
    as_listed = [asked("y", "x"), asked("y", "x"), asked("w", "x")]
    assert exp(Families(seen, ("A",), SLIP).one("A")) == pytest.approx(
        AS_LISTED * exp(Families(as_listed, ("A",), SLIP).one("A"))
        + (1 - AS_LISTED) * exp(Families(as_other, ("A",), SLIP).one("A")))


def test_where_one_must_guess_every_word_is_as_likely() -> None:
    guess = Observation("q", "f", "z", "w", {"A": None}, 4, "f: w")
    alone = Families([asked("w", None)], ("A",), SLIP).one("A")
    assert Families([guess, asked("w", None)], ("A",), SLIP).one("A") == pytest.approx(
        alone - log(4))


def test_lines_that_are_not_mastered_explain_misses_better_than_slips_do() -> None:
    poor = [replace(asked(word, None), asks="poor: w") for word in "wxyzwxyz"]
    good = [replace(asked("w", None), asks="good: w") for _ in range(20)]
    assert weak_lines_fit([*poor, *good], SLIP) > Families([*poor, *good], (), SLIP).sound()
    assert weak_lines_fit(good, SLIP) < Families(good, (), SLIP).sound()


@pytest.mark.parametrize(("idea", "reading"), [
    ("directions swapped", 0), ("sides swapped", 0), ("normal pH means normal", 1),
    ("bicarbonate range wrong", 0), ("PaCO2 decides everything", 0)])
def test_an_idea_is_found_in_another_reading_of_its_name(idea: str, reading: int) -> None:
    found = diagnose(sat(reading=reading, idea=idea), tuple(READINGS))
    assert (found.verdict, found.ideas) == (IDEA, (idea,))


@pytest.mark.slow
def test_an_idea_applied_in_three_charts_of_four_is_found() -> None:
    named = [diagnose(sat(idea="sides swapped", applied=0.75, seed=n), tuple(READINGS)).ideas
             for n in range(8)]
    assert named.count(("sides swapped",)) >= 6


def test_one_slip_names_nobody() -> None:
    seen = [Observation(f"q{n}", "f", "w", "w", {"A": "x"} if n < 3 else {"B": "x"}, 4, "f: w")
            for n in range(6)]
    one_wrong = [replace(seen[0], given="x"), *seen[1:]]
    assert not diagnose(one_wrong, ("A", "B")).ideas
    both = [replace(o, given="x") for o in seen[:3]]
    assert diagnose([*both, *seen[3:]], ("A", "B")).ideas == ("A",)


def test_every_reading_fills_all_seven_lines_with_words_that_are_offered() -> None:
    for gas in CHARTS:
        exercise = chart(*gas)
        found = variants_of(exercise)
        assert set(found) == set(READINGS)
        for said in found.values():
            for lines in said:
                assert all(lines[field.name] in field.words for field in CHART_FIELDS)


def test_nothing_is_read_into_a_question_whose_key_is_by_other_ranges() -> None:
    exercise = chart(7.30, 60, 29)
    assert not variants_of(replace(exercise, key={**(exercise.key or {}), "bicarbonate": "normal"}))
    assert not variants_of(replace(exercise, prompt="no gas is printed"))
