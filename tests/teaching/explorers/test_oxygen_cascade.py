"""The oxygen path: numbers of the alveolar gas equation, said in words, drawn within its frame."""
from __future__ import annotations

import re
from xml.etree import ElementTree

import pytest

from acidbase_lib.teaching.explorers.explorer_oxygen import explore_oxygen_path
from acidbase_lib.teaching.explorers.oxygen_cascade import cascade_of, oxygen_figure


def test_room_air_at_sea_level_is_the_textbook_path():
    """MSD Manual: PAO2 = FiO2 (PB - 47) - PaCO2 / 0.8, which is 99.7 on room air."""
    path = cascade_of(21, 0, 40, 10)
    assert [round(p) for p in path.steps] == [160, 150, 100, 90]
    assert path.alveolar == pytest.approx(99.7, abs=0.05)


@pytest.mark.parametrize(("altitude", "inspired"), [(0, 150), (1400, 125), (2500, 108),
                                                    (3000, 100)])
def test_altitude_lowers_the_inspired_oxygen(altitude, inspired):
    """Standard atmosphere: 149.7, 125, 107.7 and 99.9 mmHg."""
    assert cascade_of(21, altitude, 40, 10).inspired == pytest.approx(inspired, abs=1)


def test_the_sentence_says_what_the_picture_shows():
    figure = oxygen_figure(21, 0, 70, 10)
    assert "62 in the alveoli" in figure.sentence
    assert "low, below 60" in figure.sentence
    values = re.findall(r'class="b halo"[^>]*>(\d+)<', figure.svg)
    assert values == ["160", "150", "62", "52"]


def test_what_unit_05_tells_of_the_path_is_what_it_shows():
    assert round(cascade_of(21, 0, 70, 10).arterial) == 52
    assert cascade_of(28, 0, 70, 10).arterial > 100
    assert round(cascade_of(21, 2500, 32, 5).arterial) == 63


def test_where_nobody_could_live_it_says_so():
    figure = oxygen_figure(21, 5000, 100, 100)
    assert "No one could live" in figure.sentence


@pytest.mark.parametrize("numbers", [(21, 0, 40, 10), (100, 0, 15, 0), (21, 5000, 100, 100),
                                     (60, 2000, 60, 90)])
def test_the_picture_is_whole_and_within_its_frame(numbers):
    svg = ElementTree.fromstring(oxygen_figure(*numbers).svg)
    space = "{http://www.w3.org/2000/svg}"
    assert svg.find(f"{space}title").text
    assert svg.find(f"{space}desc").text
    for bar in svg.iter(f"{space}rect"):
        if "y" in bar.attrib:
            assert 0 <= float(bar.get("y")) <= 272
            assert float(bar.get("height")) >= 0


def test_a_moved_slider_redraws_and_a_wrong_number_is_told():
    explorer = explore_oxygen_path()
    before = explorer.sentence
    explorer.values = {**explorer.values, "paco2": 80}
    assert explorer.sentence != before
    explorer.values = {**explorer.values, "altitude": 9000}
    assert "altitude [m]: 9000 is off the map" in explorer.shown["problem"]
