"""Recipes about single numbers: the key follows the unit, the sample and the printed range."""
from __future__ import annotations

import re

import pytest

from acidbase_lib.physiology.henderson_hasselbalch import hydrogen_ion
from acidbase_lib.teaching.questions.answer_text import parse_chart, write_chart
from acidbase_lib.teaching.questions.exercise import Exercise, mark
from acidbase_lib.teaching.questions.question_file import UnitError, load_plan, read_plan
from acidbase_lib.teaching.recipes.book import cook
from acidbase_lib.teaching.recipes.ranges import OTHER_LABS

FORMS = range(1, 16)
COOKED = {form: {e.id: e for e in cook(load_plan("01_ranges"), form)} for form in FORMS}
forms = pytest.mark.parametrize("form", FORMS)


def table(prompt: str) -> dict[str, tuple[float, float | None, float | None]]:
    """The report in a prompt: value, low and high end of the printed range."""
    rows = re.findall(r"^\| (pH|PaCO2|PCO2|bicarbonate) \| ([\d.]+)[^|]*\|(?: ([\d.]+)–([\d.]+))?",
                      prompt, re.MULTILINE)
    return {name: (float(value), float(low) if low else None, float(high) if high else None)
            for name, value, low, high in rows}


def state(value: float, low: float, high: float) -> str:
    return "low" if value < low else "high" if value > high else "normal"


def one(text: str, **more: object) -> Exercise:
    head = 'id = "x"\ntitle = "y"\n[[question]]\nid = "q1"\n'
    return next(iter(cook(read_plan(head + text, "mine"), 1)))


@forms
def test_single_numbers_are_judged_in_their_own_unit(form: int):
    """OpenStax A&P 2e; Bourke, table 3.1: 35-45 mmHg is 4.7-6.0 kPa; bicarbonate 22-26."""
    ranges = {"pH": (7.35, 7.45), "mmHg": (35, 45), "kPa": (4.7, 6.0), "mmol/L": (22, 26)}
    for name, word in COOKED[form]["q1-3"].key.items():
        value = float(re.search(r"(\d+(?:\.\d+)?)", name.removeprefix("PaCO2"))[1])
        unit = name.split(" ")[-1]
        assert word == state(value, *ranges["pH" if name.startswith("pH") else unit]), name


@forms
def test_a_row_that_is_to_tell_an_idea_tells_it(form: int):
    exercise = COOKED[form]["q1-3"]
    for idea in ("PaCO2 range wrong", "bicarbonate range wrong", "kPa read as mmHg"):
        assert exercise.predicted[idea] != exercise.key


@forms
def test_a_pressure_is_converted_to_the_decimal(form: int):
    """[SI2019]: 7.50062 mmHg per kPa."""
    exercise = COOKED[form]["q1-4"]
    mmhg = float(re.search(r"\*\*(\d+) mmHg\*\*", exercise.prompt)[1])
    assert exercise.key["PaCO2 in kPa"] == round(mmhg / 7.50062, 1)
    assert exercise.predicted["kPa read as mmHg"] == {"PaCO2 in kPa": mmhg}


@pytest.mark.parametrize(("typed", "points"), [
    ("{kpa}", 1), ("{kpa} kPa", 1), ("{mmhg}", 0), ("{mmhg} mmHg", 0), ("7.5", 0), ("{times}", 0)])
@pytest.mark.parametrize("form", [1, 2, 3])
def test_an_unconverted_pressure_earns_nothing(form: int, typed: str, points: int):
    exercise = COOKED[form]["q1-4"]
    mmhg = exercise.predicted["kPa read as mmHg"]["PaCO2 in kPa"]
    text = typed.format(kpa=exercise.key["PaCO2 in kPa"], mmhg=mmhg, times=round(mmhg * 7.5))
    answer = parse_chart(f"PaCO2 in kPa: {text}", exercise.fields)
    assert mark(exercise, answer).points == points


@forms
def test_hydrogen_ions_double_for_0_3_down(form: int):
    """Sorensen's definition: ten to the power of 0.3 is 1.995."""
    exercise = COOKED[form]["q1-2"]
    told = re.search(r"pH is (\d\.\d\d)\. In a healthy neighbor it is (\d\.\d\d)", exercise.prompt)
    now, healthy = map(float, told.groups())
    times = hydrogen_ion(now) / hydrogen_ion(healthy)
    assert min(abs(times - 2), abs(times - 0.5)) < 0.01
    assert exercise.key["hydrogen ions"] == ("twice as many" if times > 1 else "half as many")
    assert exercise.predicted["pH scale linear"] == {"hydrogen ions": "about as many"}
    assert exercise.predicted["sides swapped"]["hydrogen ions"] not in (
        "about as many", exercise.key["hydrogen ions"])


@forms
def test_bicarbonate_is_among_what_is_calculated_and_ph_is_not(form: int):
    exercise = COOKED[form]["q1-5"]
    assert set(exercise.key["calculated"]) == {"bicarbonate", "base excess"}
    assert set(exercise.predicted["bicarbonate thought to be measured"]["calculated"]) == {
        "pH", "base excess"}


@forms
def test_a_vein_is_in_its_own_range_and_out_of_the_artery_s(form: int):
    """134 adults, one analyzer: venous pH 7.30-7.43, PCO2 38-58."""
    exercise = COOKED[form]["q1-6"]
    report = table(exercise.prompt)
    assert 7.30 <= report["pH"][0] < 7.35
    assert 45 < report["PCO2"][0] <= 58
    assert exercise.key == {"pH": "normal", "PCO2": "normal"}
    assert exercise.predicted["venous read as arterial"] == {"pH": "low", "PCO2": "high"}


def test_a_linked_pair_needs_both():
    exercise = COOKED[1]["q1-6"]
    half = parse_chart("pH: normal\nPCO2: high", exercise.fields)
    assert mark(exercise, half).points == 0


@forms
def test_the_printed_range_decides(form: int):
    exercise = COOKED[form]["q1-7"]
    report = table(exercise.prompt)
    assert set(report) == {"pH", "PaCO2", "bicarbonate"}
    for name, (value, low, high) in report.items():
        assert exercise.key[name] == state(value, low, high)
    assert exercise.predicted["one range for every laboratory"] != exercise.key


def test_other_laboratories_print_other_ranges():
    """OpenStax A&P: 32-45 and 35-48 by sex; Bourke 34-45; others 23-28; lists 21-28 and 22-29."""
    assert {(str(lab.paco2), str(lab.hco3)) for lab in OTHER_LABS.values()} == {
        ("32–45", "23–28"), ("35–48", "21–28"), ("34–45", "22–29")}


@forms
def test_the_planted_slip_is_the_only_wrong_step(form: int):
    exercise = COOKED[form]["q1-8"]
    step = exercise.key["wrong step"]
    assert step in "1234"
    written = re.findall(r"^\d\. (.*)$", exercise.prompt, re.MULTILINE)
    assert len(written) == 4
    low_side = "low, on the alkaline side" in written[0] or "high, on the acid side" in written[0]
    assert (step == "1") == low_side
    assert (step == "4") == written[3].startswith("The analyzer has worked out pH")


def test_what_no_wish_brings_is_told():
    with pytest.raises(UnitError, match="none of 200 patients"):
        one('recipe = "convert the pressure"\nstem = "{mmhg}"\n'
            'wishes = [{disorder = "metabolic acidosis"}]')


def test_a_report_in_kpa_may_leave_its_ranges_out():
    exercise = one('recipe = "state each number"\nunit = "kPa"\nparts = ["PaCO2"]\n'
                   'stem = "{report}"\nwishes = [{disorder = "respiratory acidosis"}]')
    assert "kPa" in exercise.prompt
    assert "–" not in exercise.prompt
    assert exercise.key == {"PaCO2": "high"}
    text = write_chart("q1", exercise.fields, exercise.predicted["kPa read as mmHg"])
    result = mark(exercise, parse_chart(text, exercise.fields))
    assert result.parts[0].suggests == ("kPa read as mmHg",)
