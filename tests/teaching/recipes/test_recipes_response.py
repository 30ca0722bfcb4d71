"""Recipes on the response and beyond the shortcut: every key again by hand, over many forms."""
from __future__ import annotations

import re
from functools import cache
from pathlib import Path

import pytest

from acidbase_lib.physiology.henderson_hasselbalch import hco3_of
from acidbase_lib.reading.blood_gas import BloodGas
from acidbase_lib.reading.interpretation import interpret
from acidbase_lib.teaching.misconceptions.catalog import MISCONCEPTIONS, SOUND
from acidbase_lib.teaching.misconceptions.misreadings_response import HELPER_IN_RANGE
from acidbase_lib.teaching.practice.endless import PatientRun
from acidbase_lib.teaching.practice.topics import TOPICS
from acidbase_lib.teaching.questions.answer_text import parse_chart, write_chart
from acidbase_lib.teaching.questions.exercise import Exercise, mark
from acidbase_lib.teaching.questions.question_file import UnitError, load_plan, read_plan
from acidbase_lib.teaching.recipes.book import cook

FORMS = range(1, 13)
U3, U4 = "03_compensation", "04_beyond_the_shortcut"


@cache
def cooked(unit: str, form: int) -> tuple[Exercise, ...]:
    return tuple(cook(load_plan(unit), form))


def asked(unit: str, number: int) -> list[Exercise]:
    """One question of a unit, over all forms."""
    return [cooked(unit, form)[number - 1] for form in FORMS]


def table(prompt: str) -> dict[str, float]:
    return {name: float(value) for name, value in
            re.findall(r"^\| (pH|PaCO2|bicarbonate|sodium|chloride) \| ([\d.]+)", prompt, re.M)}


def lines(prompt: str) -> dict[str, tuple[float, ...]]:
    """Lettered gases: A. pH 7.28, PaCO2 66 mmHg, bicarbonate 30 mmol/L."""
    return {letter: tuple(float(n) for n in re.findall(r"(?:pH|PaCO2|bicarbonate) ([\d.]+)", rest))
            for letter, rest in re.findall(r"^- ([A-F])\. (pH.*)$", prompt, re.M)}


# --- unit 03 ----------------------------------------------------------------------

@pytest.mark.slow
def test_the_expected_paco2_is_winters_formula():
    """[Albert1967], rounded: 1.5 × bicarbonate + 8, ± 2. The key never needs the PaCO2 hidden."""
    for exercise in asked(U3, 6):
        gas = table(exercise.prompt)
        assert exercise.key["expected PaCO2"] == 1.5 * gas["bicarbonate"] + 8
        assert exercise.within["expected PaCO2"] == 2
        assert "PaCO2" not in gas


@pytest.mark.slow
@pytest.mark.parametrize(("off", "points"), [(0, 1), (2, 1), (-2, 1), (2.5, 0), (-3, 0)])
def test_a_number_counts_within_the_band_and_not_outside(off: float, points: float):
    exercise = asked(U3, 6)[0]
    given = f"%%chart q3-6\nexpected PaCO2: {exercise.key['expected PaCO2'] + off}"
    assert mark(exercise, parse_chart(given, exercise.fields)).points == points


@pytest.mark.slow
def test_the_usual_range_is_told_as_what_it_is():
    exercise = asked(U3, 6)[0]
    result = mark(exercise, parse_chart("expected PaCO2: 40 mmHg", exercise.fields))
    assert result.parts[0].suggests == (HELPER_IN_RANGE,)


@pytest.mark.slow
@pytest.mark.parametrize(("unit", "number"), [(U3, 7), (U4, 3)])
def test_response_and_second_disorder_by_hand(unit: str, number: int):
    met = set()
    for exercise in asked(unit, number):
        gas = table(exercise.prompt)
        middle = 1.5 * gas["bicarbonate"] + 8
        wanted = (("less than expected", "respiratory acidosis") if gas["PaCO2"] > middle + 2 else
                  ("more than expected", "respiratory alkalosis") if gas["PaCO2"] < middle - 2
                  else ("as expected", "none"))
        assert (exercise.key["response"], exercise.key["second disorder"]) == wanted
        met.add(wanted)
    assert len(met) >= 2


@pytest.mark.slow
def test_one_half_of_a_linked_pair_earns_nothing():
    exercise = asked(U4, 3)[0]
    half = write_chart("q", exercise.fields, {"response": exercise.key["response"],
                                              "second disorder": "metabolic alkalosis"})
    assert mark(exercise, parse_chart(half, exercise.fields)).points == 0


def test_the_word_for_compensation_by_the_nursing_rule():
    """[NursingLabel]: pH in range is full; helper in range is uncompensated; else partial."""
    for exercise in asked(U3, 4):
        gases = re.findall(r"pH ([\d.]+), PaCO2 (\d+) mmHg, bicarbonate (\d+)", exercise.prompt)
        for n, gas in enumerate(gases, start=1):
            ph, paco2, hco3 = map(float, gas)
            out = (not 35 <= paco2 <= 45) + (not 22 <= hco3 <= 26)
            word = ("fully compensated" if 7.35 <= ph <= 7.45 else
                    "partially compensated" if out == 2 else "uncompensated")
            assert exercise.key[f"patient {n}"] == word


@pytest.mark.slow
@pytest.mark.parametrize(("unit", "number"), [(U3, 8), (U4, 4)])
def test_a_slip_is_really_the_first_wrong_step(unit: str, number: int):
    for exercise in asked(unit, number):
        written = re.findall(r"^\d\. (.*)$", exercise.prompt, re.M)
        first = next(n for n, (theirs, ours) in enumerate(
            zip(written, exercise.because, strict=True), start=1) if theirs != ours)
        assert exercise.key["first wrong step"] == str(first)


# --- unit 04 ----------------------------------------------------------------------

def test_silence_by_hand():
    for exercise in asked(U4, 1):
        silent = []
        for letter, (ph, hco3) in lines(exercise.prompt).items():
            if 7.35 <= ph <= 7.45 or 22 <= hco3 <= 26:
                silent.append(letter)
        assert exercise.key["answer"] == tuple(silent)


def test_two_histories_by_the_published_rules():
    """Hours: 24 + 1 per 10 mmHg, ± 2. Days: 24 + 3.5 to 5 per 10, ± 2 ([NarinsEmmett1980])."""
    for exercise in asked(U4, 5):
        gas = table(exercise.prompt)
        above = (gas["PaCO2"] - 40) / 10
        assert gas["bicarbonate"] > 24 + above + 2
        assert 24 + 3.5 * above - 2 <= gas["bicarbonate"] <= 24 + 5 * above + 2
        for n in (1, 2):
            story = re.search(rf"\*\*Patient {n}\*\*: (.*)", exercise.prompt)[1]
            sudden = re.search(r"an hour ago|tonight|half an hour ago", story, re.IGNORECASE)
            assert exercise.key[f"patient {n}"] == ("two disorders" if sudden else "one disorder")


def test_the_gap_by_hand():
    for exercise in asked(U4, 6):
        gas = table(exercise.prompt)
        gap = gas["sodium"] - gas["chloride"] - gas["bicarbonate"]
        assert exercise.key["anion gap"] == gap > 16
        quiet = BloodGas(gas["pH"], gas["PaCO2"], gas["bicarbonate"])
        assert interpret(quiet).label == "normal"
        assert exercise.key["behind it"] == "metabolic acidosis and metabolic alkalosis"
        assert exercise.predicted["anion gap never worked out"]["gap is"] == "normal"


def test_the_gas_that_cannot_be_by_the_equilibrium():
    """Rounding included: no sample rounds to the spoiled three, some sample to each other three."""
    for exercise in asked(U4, 7):
        for letter, (ph, paco2, hco3) in lines(exercise.prompt).items():
            low, high = hco3_of(ph - 0.005, paco2 - 0.5), hco3_of(ph + 0.005, paco2 + 0.5)
            assert (low - 0.5 <= hco3 <= high + 0.5) == (letter != exercise.key["answer"])
        wrong = {answers["answer"] for answers in exercise.predicted.values()}
        assert len(wrong | {exercise.key["answer"]}) == 3


def test_a_rationale_waits_for_the_instructor():
    exercise = asked(U4, 8)[0]
    result = mark(exercise, parse_chart("answer: PaCO2 is high, opposite to pH.", exercise.fields))
    assert (exercise.kind, exercise.key, result.state) == (
        "rationale", None, "waits for the instructor")


def test_the_rubric_stays_with_the_instructor():
    root = Path(__file__).parents[3]
    texts = [(root / folder / U4 / f"{U4}.ipynb").read_text("utf-8")
             for folder in ("solutions", "course")]
    assert ["# rubric" in text for text in texts] == [True, False]


def test_kinds_across_both_units():
    kinds = {exercise.kind for unit in (U3, U4) for exercise in cook(load_plan(unit), 1)}
    assert kinds == {"choose one", "several parts", "grid", "number", "linked pair", "select all",
                     "rationale"}


@pytest.mark.parametrize(("recipe", "wish", "says"), [
    ("where PaCO2 belongs", 'disorder = "respiratory acidosis"', "Ask for a metabolic disorder"),
    ("slip in the response", 'disorder = "normal"', "Name another slip"),
    ("two histories", 'disorder = "metabolic acidosis"', "Ask for another wish"),
])
def test_a_wish_that_does_not_fit_is_told(recipe: str, wish: str, says: str):
    text = (f'id = "x"\ntitle = "y"\n[[question]]\nid = "q1-1"\nrecipe = "{recipe}"\nstem = "s"\n'
            f'slips = ["partial taken for full"]\nwishes = [{{ {wish} }}]\n'
            '[[question.sudden]]\nward = "w"\ntext = "t"\n')
    with pytest.raises(UnitError, match=says):
        list(cook(read_plan(text, "mine"), 1))


# --- the new idea, and practice -----------------------------------------------------

@pytest.mark.parametrize(("gas", "response", "second"), [
    ((7.12, 38, 12), "as expected", "none"),  # in its range, and far too high
    ((7.28, 26, 12), "more than expected", "respiratory alkalosis"),  # where it should be
])
def test_the_helper_expected_in_its_range(gas, response: str, second: str):
    beliefs = MISCONCEPTIONS[HELPER_IN_RANGE].read(BloodGas(*gas))
    assert beliefs.response == response
    assert next(iter(beliefs.processes[1:]), "none") == second
    assert beliefs.disorder == SOUND.read(BloodGas(*gas)).disorder


@pytest.mark.parametrize("topic", ["compensation", "one disorder or two"])
def test_practice_brings_patients_with_a_key_and_reasons(topic: str):
    for step in range(len(TOPICS[topic].steps)):
        met = set()
        for seed in range(25):
            run = PatientRun(TOPICS[topic], str(seed))
            run.step = step
            run.next()
            met.add(run.key)
            wrong = next(choice for choice in TOPICS[topic].choices if choice != run.key)
            run.answer(wrong)
            outcome = run.outcome
            assert outcome is not None
            assert outcome.falls
            assert outcome.why
        assert len(met) >= 2
        assert met <= set(TOPICS[topic].choices)


def test_practice_counts_as_interpret_counts():
    run = PatientRun(TOPICS["one disorder or two"], "count")
    for _ in range(15):
        two = len(interpret(run.case.gas).processes) > 1
        assert run.key == ("two disorders" if two else "one disorder")
        run.answer(run.key)
        run.next()
