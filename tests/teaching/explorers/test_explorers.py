"""An explorer is one call over a pure figure, and never loses its place over a bad number."""
from __future__ import annotations

import pytest

from acidbase_lib import explore_direction
from acidbase_lib.teaching.explorers.base import Explorer
from acidbase_lib.teaching.explorers.direction_map import direction_figure


@pytest.fixture
def explorer() -> Explorer:
    return explore_direction()


def test_one_call_shows_a_picture_and_its_sentence(explorer: Explorer):
    assert explorer.shown["sentence"] == direction_figure(7.30, 35).sentence
    assert 'role="img"' in explorer.shown["svg"]


def test_moving_a_number_moves_picture_and_sentence(explorer: Explorer):
    before = explorer.shown["svg"]
    explorer.values = {"ph": 7.30, "paco2": 60}
    assert "respiratory acidosis" in explorer.sentence
    assert explorer.shown["svg"] != before


def test_a_move_is_drawn_once_and_tells_which_move_it_shows(explorer: Explorer):
    """The page sends numbers, the one in hand and the count of moves in one message."""
    drawn = []
    explorer.observe(lambda change: drawn.append(change["new"]["turn"]), "shown")
    explorer.set_state({"values": {"ph": 7.30, "paco2": 60}, "moved": "paco2", "turn": 1})
    explorer.set_state({"values": {"ph": 7.30, "paco2": 900}, "moved": "paco2", "turn": 2})
    assert drawn == [1, 2]
    assert explorer.shown["problem"]


def test_bicarbonate_follows_and_says_so(explorer: Explorer):
    """[HendersonHasselbalch]: 0.0307 x 60 x 10^(7.30 - 6.1) = 29.2 mmol/L."""
    explorer.values = {"ph": 7.30, "paco2": 60}
    (row,) = explorer.shown["follows"]
    assert (row["label"], row["text"]) == ("bicarbonate", "29.2 mmol/L")
    assert "follows from pH and PaCO2" in row["why"]


def test_controls_come_in_the_house_order(explorer: Explorer):
    assert [control["key"] for control in explorer.controls] == ["ph", "paco2"]


def test_every_preset_lies_on_the_map(explorer: Explorer):
    assert explorer.presets
    for preset in explorer.presets:
        explorer.values = preset["values"]
        assert explorer.shown["problem"] == ""


@pytest.mark.parametrize(("values", "told"), [
    ({"ph": 7.30, "paco2": None}, "PaCO2 [mmHg] needs a number. This map shows 10 to 100 mmHg."),
    ({"ph": 7.30, "paco2": 5.3}, "PaCO2 [mmHg]: 5.3 is off the map. This map shows 10 to 100 mmHg. "
                                 "Perhaps a value near 5 is in kPa: 1 kPa is 7.5 mmHg."),
    ({"ph": 7.30, "paco2": 120}, "120 is off the map"),
    ({"ph": 7.30, "paco2": float("nan")}, "needs a number"),
    ({"ph": 730, "paco2": 40}, "pH: 730 is off the map. This map shows 7 to 7.8."),
    ({"ph": True, "paco2": 40}, "pH needs a number"),
    ({"paco2": 40}, "pH needs a number"),
    ({"ph": "7.3", "paco2": 40}, "pH needs a number"),
])
def test_a_number_that_cannot_be_used_is_named_and_nothing_is_lost(explorer, values, told):
    kept = explorer.shown["svg"]
    explorer.values = values
    assert told in explorer.shown["problem"]
    assert explorer.shown["svg"] == kept
    explorer.values = {"ph": 7.30, "paco2": 60}
    assert explorer.shown["problem"] == ""


def test_every_number_that_cannot_be_used_is_named_at_once(explorer: Explorer):
    explorer.values = {"ph": 9, "paco2": 500}
    assert "pH: 9 is off the map." in explorer.shown["problem"]
    assert "PaCO2 [mmHg]: 500 is off the map." in explorer.shown["problem"]
    assert explorer.shown["unusable"] == ["ph", "paco2"]
    assert explorer.shown["problem"].endswith("stay as they were.")
    explorer.values = {"ph": 7.3, "paco2": 500}
    assert "pH" not in explorer.shown["problem"]
    assert explorer.shown["unusable"] == ["paco2"]


@pytest.mark.parametrize(("ph", "hinted"), [
    (9, False), (8.4, False), (5, False), (74, True), (740, True), (0.74, True), (40, True)])
def test_a_likely_slip_is_named_only_where_it_explains_the_number(explorer, ph, hinted):
    explorer.values = {"ph": ph, "paco2": 40}
    assert ("lost decimal point" in explorer.shown["problem"]) is hinted


def test_two_explorers_on_a_page_keep_their_names_apart():
    first, second = explore_direction(), explore_direction()
    assert first.shown["svg"] != second.shown["svg"]


def test_reopened_without_running_it_shows_a_sentence(explorer: Explorer):
    """A saved output without its model falls back on this text: no Python to be seen."""
    data, _ = explorer._repr_mimebundle_()
    assert data["text/plain"].startswith("Run this cell to show: Map of the direction rule.")
    assert "For teaching, not for care" in data["text/plain"]
    assert "<" not in data["text/plain"]


@pytest.mark.slow
def test_it_needs_no_number_crunching_library():
    """A learner's kernel stays small: the whole explorer is plain Python."""
    import subprocess
    import sys

    code = ("import sys; from acidbase_lib import explore_direction as e; e();"
            "print(sorted({'numpy', 'pandas', 'matplotlib'} & set(sys.modules)))")
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "[]"
