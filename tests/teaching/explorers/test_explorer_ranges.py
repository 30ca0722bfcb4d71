"""The number lines and the hydrogen-ion curve: the picture, its sentence, and two linked units."""
from __future__ import annotations

import re
import time
from xml.etree import ElementTree

import pytest

from acidbase_lib import explore_hydrogen_ion, explore_ranges
from acidbase_lib.physiology.quantities import QuantityError
from acidbase_lib.reading.lab_settings import DEFAULT_SETTINGS, LabSettings
from acidbase_lib.reading.value_range import Range
from acidbase_lib.teaching.explorers.figures_hydrogen_ion import hydrogen_ion_figure, straight_guess
from acidbase_lib.teaching.explorers.figures_ranges import number_lines

GRID = [(7.0 + step / 50, paco2) for step in range(41) for paco2 in range(10, 101, 5)]


# --- number lines ---------------------------------------------------------------

@pytest.mark.parametrize(("ph", "paco2", "told"), [
    (7.31, 62, "pH 7.31: low, below 7.35. That is the acid side. PaCO2 62 mmHg, the same as "
               "8.3 kPa: high, above 45 mmHg. Bicarbonate 30.9 mmol/L, worked out from the two: "
               "high, above 26."),
    (7.40, 40, "pH 7.40: in its range of 7.35 to 7.45. PaCO2 40 mmHg, the same as 5.3 kPa"),
    (7.52, 28, "That is the alkaline side. PaCO2 28 mmHg, the same as 3.7 kPa: low, below 35"),
    (7.80, 100, "No patient has that"),
])
def test_the_sentence_says_where_each_number_lies(ph: float, paco2: float, told: str):
    assert told in number_lines(ph, paco2).sentence


def test_the_words_are_those_of_the_ranges_everywhere():
    for ph, paco2 in GRID:
        states = re.findall(r"</?text>|, (?:▼ |▲ )?(low|normal|high)</text>",
                            number_lines(ph, paco2).svg)
        words = [word for word in states if word]
        assert words[:2] == [DEFAULT_SETTINGS.ph.state(ph), DEFAULT_SETTINGS.paco2.state(paco2)]
        assert len(words) == 3


def test_every_pin_stays_on_its_line():
    for ph, paco2 in GRID:
        pins = re.findall(r'class="dot" cx="([\d.]+)"', number_lines(ph, paco2).svg)
        assert len(pins) == 3
        assert all(12 <= float(x) <= 428 for x in pins)


def test_a_value_beyond_its_line_says_so():
    assert "(off the line)" in number_lines(7.8, 100).svg
    assert "(off the line)" not in number_lines(7.4, 40).svg


def test_the_box_is_where_the_range_is():
    """A pin stands in the box if and only if the value is in range."""
    for ph, paco2 in GRID:
        svg = number_lines(ph, paco2).svg
        boxes = re.findall(r'class="band" x="([\d.]+)" y="[\d.]+" width="([\d.]+)"', svg)
        pins = re.findall(r'class="dot" cx="([\d.]+)"', svg)
        (x, width), pin = boxes[1], float(pins[1])
        inside = float(x) - 0.1 <= pin <= float(x) + float(width) + 0.1
        assert inside == (DEFAULT_SETTINGS.paco2.state(paco2) == "normal")


def test_another_laboratory_has_other_boxes():
    wide = LabSettings(hco3=Range(21, 29))
    assert number_lines(7.44, 42, wide).sentence != number_lines(7.44, 42).sentence


@pytest.mark.parametrize("figure", [number_lines(7.31, 62, uid="here"),
                                    hydrogen_ion_figure(7.1, uid="here")])
def test_a_picture_is_named_and_described(figure):
    svg = ElementTree.fromstring(figure.svg)
    assert svg.get("role") == "img"
    assert svg.get("aria-labelledby") == "here-title here-desc"
    assert {node.get("id"): node.text for node in svg.iter()}["here-desc"] == figure.sentence


@pytest.mark.parametrize(("ph", "paco2"), [(72.9, 62), (7.3, 5.3), (float("nan"), 40), ("7", 40)])
def test_impossible_numbers_are_refused(ph, paco2):
    with pytest.raises(QuantityError):
        number_lines(ph, paco2)


# --- two units, one pressure -----------------------------------------------------

@pytest.mark.parametrize(("kpa", "mmhg"), [(4.7, 35), (6.0, 45), (8.2, 62), (1.3, 10), (13.3, 100)])
def test_moving_the_kpa_moves_the_mmhg(kpa: float, mmhg: float):
    """[SI2019]: 7.50062 mmHg per kPa, to the whole mmHg."""
    explorer = explore_ranges()
    explorer.moved = "paco2_kpa"
    explorer.values = {**explorer.values, "paco2_kpa": kpa}
    assert explorer.shown["values"]["paco2"] == mmhg
    assert f"PaCO2 {mmhg} mmHg, the same as {kpa} kPa" in explorer.sentence


@pytest.mark.parametrize(("mmhg", "kpa"), [(35, 4.7), (45, 6.0), (60, 8.0), (10, 1.3), (100, 13.3)])
def test_moving_the_mmhg_moves_the_kpa(mmhg: float, kpa: float):
    explorer = explore_ranges()
    explorer.moved = "paco2"
    explorer.values = {**explorer.values, "paco2": float(mmhg)}
    assert explorer.shown["values"]["paco2_kpa"] == kpa


def test_a_starting_point_counts_after_the_other_unit_was_moved():
    """The screen sends the numbers as it last had them: the same ones, with another hand."""
    explorer = explore_ranges()
    explorer.set_state({"moved": "paco2_kpa", "values": {**explorer.values, "paco2_kpa": 4.3}})
    assert "PaCO2 32 mmHg" in explorer.sentence
    explorer.set_state({"moved": "", "values": {**explorer.values, "ph": 7.40, "paco2": 40}})
    assert "PaCO2 40 mmHg, the same as 5.3 kPa" in explorer.sentence


def test_both_units_judge_alike():
    """4.7 to 6.0 kPa is in range, 4.6 and 6.1 are not (Bourke, table 3.1: 4.7-6.0)."""
    explorer = explore_ranges()
    for kpa, word in ((4.6, "low"), (4.7, "in its range"), (6.0, "in its range"), (6.1, "high")):
        explorer.moved = "paco2_kpa"
        explorer.values = {**explorer.values, "paco2_kpa": kpa}
        assert f"{kpa} kPa: {word}" in explorer.sentence


def test_a_pressure_in_the_wrong_box_is_named_and_nothing_is_lost():
    explorer = explore_ranges()
    kept = explorer.shown["svg"]
    explorer.values = {**explorer.values, "paco2": 5.3}
    assert "Perhaps a value near 5 is in kPa" in explorer.shown["problem"]
    explorer.values = {**explorer.values, "paco2": 40, "paco2_kpa": 40}
    assert "This map shows 1.3 to 13.3 kPa" in explorer.shown["problem"]
    assert explorer.shown["svg"] == kept


# --- hydrogen ions ---------------------------------------------------------------

@pytest.mark.parametrize(("ph", "ions"), [(6.8, 158), (7.0, 100), (7.1, 79), (7.4, 40), (7.7, 20)])
def test_the_sentence_gives_the_published_hydrogen_ions(ph: float, ions: int):
    """Mohan & Sharma, table 1 (integers in print)."""
    assert f"stands for {ions} nmol/L" in hydrogen_ion_figure(ph).sentence


@pytest.mark.parametrize(("ph", "told"), [
    (7.10, "2.0 times the 40 of pH 7.40. A straight scale would give 42."),
    (7.70, "50 % of the 40 of pH 7.40. A straight scale would give 38."),
    (7.41, "about as many as at pH 7.40. A straight scale would give 40."),
    (7.40, "Here the curve and the straight scale meet."),
])
def test_the_sentence_compares_with_the_middle_and_with_a_straight_scale(ph: float, told: str):
    assert told in hydrogen_ion_figure(ph).sentence


def test_the_straight_guess_meets_the_curve_at_the_middle_only():
    assert straight_guess(7.40) == 40
    assert abs(straight_guess(6.8) - 43.2) < 0.1


@pytest.mark.parametrize("explore", [explore_ranges, explore_hydrogen_ion])
def test_every_preset_can_be_drawn_and_a_move_takes_no_time(explore):
    explorer = explore()
    for preset in explorer.presets:
        explorer.values = {**explorer.values, **preset["values"]}
        assert explorer.shown["problem"] == ""
    moved = [{**explorer.values, "ph": 7 + n / 100} for n in range(1, 41)]
    start = time.process_time()
    for values in moved:
        explorer.values = values
    assert (time.process_time() - start) / len(moved) < 0.02


def test_the_hydrogen_ion_picture_shows_only_where_one_has_been():
    """What is to be predicted (79 at 7.1, 158 at 6.8) is not in sight before the pH is moved."""
    explorer = explore_hydrogen_ion()
    assert 'class="curve"' not in explorer.shown["svg"]
    assert ">79<" not in explorer.shown["svg"]
    explorer.values = {"ph": 7.1}
    assert 'class="curve"' in explorer.shown["svg"]
    assert ">79<" in explorer.shown["svg"]
    assert ">158<" not in explorer.shown["svg"]
    explorer.values = {"ph": 7.4}
    assert ">79<" in explorer.shown["svg"], "what was seen stays"
