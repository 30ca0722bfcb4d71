"""The map of the direction rule says what the rule says, in words as well as in the picture."""
from __future__ import annotations

import re
from xml.etree import ElementTree

import pytest

from acidbase_lib.physiology.quantities import QuantityError
from acidbase_lib.reading.direction import direction_rule
from acidbase_lib.reading.disorders import LESS
from acidbase_lib.reading.lab_settings import LabSettings
from acidbase_lib.reading.value_range import Range
from acidbase_lib.teaching.explanations.direction import map_point
from acidbase_lib.teaching.explorers.direction_map import (
    MAP_HCO3,
    MAP_PACO2,
    MAP_PH,
    direction_figure,
)

SVG = "{http://www.w3.org/2000/svg}"
GRID = [(round(7.0 + step / 50, 2), paco2) for step in range(41) for paco2 in range(10, 101, 10)]


@pytest.mark.parametrize(("ph", "paco2", "told"), [
    (7.29, 62, "opposite ways, so the rule names respiratory acidosis. PaCO2 62 mmHg is high"),
    (7.25, 28, "the same way, so the rule names metabolic acidosis. PaCO2 28 mmHg is low, the sa"),
    (7.50, 26, "opposite ways, so the rule names respiratory alkalosis. PaCO2 26 mmHg is low"),
    (7.49, 47, "the same way, so the rule names metabolic alkalosis. PaCO2 47 mmHg is high, the s"),
    (7.30, 50, "direction rule gives no name. PaCO2 50 mmHg is high, opposite to pH: PaCO2 still"),
    (7.37, 70, "gives no name. But PaCO2 70 mmHg is high and bicarbonate 40 mmol/L is high"),
    (7.40, 40, "PaCO2 and bicarbonate are in range as well."),
    (7.34, 42, "gives no name either"),
    (7.10, 50, "That is a second disorder, and the direction rule hides it."),
    (7.80, 100, "No patient has that: check the two numbers."),
])
def test_sentence_reads_the_patient(ph: float, paco2: float, told: str):
    assert told in direction_figure(ph, paco2).sentence


@pytest.mark.slow
def test_sentence_agrees_with_the_rule_everywhere_on_the_map():
    """Over the whole map: a name in the sentence if and only if the library's rule gives it."""
    for ph, paco2 in GRID:
        here = map_point(ph, paco2)
        sentence = direction_figure(ph, paco2).sentence
        named = re.search(r"the rule names (\w+ \w+)\.", sentence)
        expected = direction_rule(ph=ph, hco3=here.hco3).disorder if here.credible else None
        assert (named and named[1]) == expected, (ph, paco2)
        assert ("gives no name" in sentence) == (here.credible and expected is None), (ph, paco2)


def test_a_hidden_second_disorder_is_never_called_a_fit():
    """Where both PaCO2 and bicarbonate push the pH the same way, the sentence says so."""
    both = [(ph, paco2) for ph, paco2 in GRID
            if (here := map_point(ph, paco2)).credible and here.disorder
            and "metabolic" in here.disorder
            and {here.ph_state, here.paco2_state} == {"low", "high"}]
    assert both
    for ph, paco2 in both:
        assert "fits the name" not in direction_figure(ph, paco2).sentence


def test_an_unmoved_paco2_is_not_called_enough():
    """[Albert1967]: at a bicarbonate near 10, a PaCO2 of 40 is some 17 mmHg too high."""
    assert "see unit 3" in direction_figure(7.00, 40).sentence
    assert "see unit 3" not in direction_figure(7.25, 28).sentence


def test_a_paco2_that_does_not_explain_the_ph_is_said_to_need_more():
    """[NarinsEmmett1980]: bicarbonate rises 1 for 10 mmHg, so 47 alone gives 24.7 and pH 7.33."""
    told = direction_figure(7.30, 47).sentence
    assert "still gives a name: respiratory acidosis. But a PaCO2 of 47 mmHg alone" in told
    assert "the pH to about 7.33, not 7.30: bicarbonate is low for this PaCO2" in told
    assert "alone would bring" not in direction_figure(7.30, 50).sentence
    assert "that is a second disorder" in direction_figure(7.55, 28).sentence


def test_a_second_disorder_behind_a_bicarbonate_in_range_is_named():
    """Over the map: wherever the quantitative reading finds two, the sentence says so."""
    two = [(ph, paco2) for ph in (7.2, 7.3, 7.5, 7.55, 7.6) for paco2 in range(20, 80)
           if (here := map_point(ph, paco2)).credible and here.hco3_state == "normal"
           and {here.ph_state, here.paco2_state} == {"low", "high"} and here.response == LESS]
    assert two
    for ph, paco2 in two:
        assert "second disorder" in direction_figure(ph, paco2).sentence, (ph, paco2)


@pytest.mark.parametrize(("ph", "paco2"), [(7.29, 62), (7.40, 40), (7.80, 100), (7.0, 10)])
def test_picture_is_named_and_described(ph: float, paco2: float):
    figure = direction_figure(ph, paco2, uid="here")
    svg = ElementTree.fromstring(figure.svg)
    assert svg.get("role") == "img"
    assert svg.get("aria-labelledby") == "here-title here-desc"
    names = {node.get("id"): node.text for node in svg.iter() if node.get("id")}
    assert "direction rule" in names["here-title"]
    assert names["here-desc"] == figure.sentence


def test_corners_are_told_apart_without_color():
    """Four words with their direction marks, and two patterns: stripes and dots."""
    svg = direction_figure(7.29, 62).svg
    for word in ("respiratory", "metabolic", "▼ acidosis", "▲ alkalosis", "no name", "same way",
                 "opposite ways"):
        assert word in svg
    assert svg.count("<pattern") == 4
    for kind in ("respiratory", "metabolic"):
        drawn = re.search(rf'{kind}-acid".*?</pattern>', svg)
        assert drawn
        assert ("<path" in drawn[0]) == (kind == "respiratory")


def test_the_spoken_corner_alone_is_framed():
    assert direction_figure(7.29, 62).svg.count('class="corner here"') == 1
    assert direction_figure(7.40, 40).svg.count('class="corner here"') == 0


@pytest.mark.slow
def test_the_patient_stays_inside_the_picture():
    for ph, paco2 in GRID:
        dot = re.search(r'class="dot" cx="([\d.]+)" cy="([\d.]+)"', direction_figure(ph, paco2).svg)
        assert dot
        assert 40 <= float(dot[1]) <= 410
        assert 30 <= float(dot[2]) <= 380


def test_a_school_with_other_ranges_gets_another_map():
    """Where a laboratory prints 23-28 (common practice), bicarbonate 27 is in range."""
    ours = direction_figure(7.30, 55)
    theirs = direction_figure(7.30, 55, LabSettings(hco3=Range(23, 28)))
    assert "names respiratory acidosis" in ours.sentence
    assert "gives no name" in theirs.sentence
    assert ours.svg != theirs.svg


def test_two_pictures_on_a_page_keep_their_names_apart():
    first, second = (direction_figure(7.3, 50, uid=uid).svg for uid in ("a", "b"))
    ids = [set(re.findall(r'id="([^"]+)"', svg)) for svg in (first, second)]
    assert not ids[0] & ids[1]
    assert set(re.findall(r"url\(#([^)]+)\)", first)) <= ids[0]


@pytest.mark.parametrize(("ph", "paco2", "named"), [
    (72.9, 62, "pH = 72.9"), (7.29, 8.2e3, "PaCO2 = 8200"), (float("nan"), 40, "pH"),
    ("7.3", 40, "pH"), (7.3, 5.3, "kPa"),
])
def test_impossible_numbers_are_refused_by_name(ph: float, paco2: float, named: str):
    with pytest.raises(QuantityError, match=named):
        direction_figure(ph, paco2)


def test_the_map_holds_every_corner():
    """The limits of the sliders reach all four names and the silent cross."""
    named = {map_point(ph, paco2).disorder for ph, paco2 in GRID}
    assert {None, "respiratory acidosis", "respiratory alkalosis", "metabolic acidosis",
            "metabolic alkalosis"} == named
    assert (MAP_PH, MAP_PACO2, MAP_HCO3) == ((7.0, 7.8), (10, 100), (0, 50))
