"""Words that stand for a setting are filled in, and a notebook's marked words are told anew."""
from __future__ import annotations

import pytest

from acidbase_lib import LabSettings
from acidbase_lib.reading.settings_in_force import by_settings, in_force, in_scope, stay_with
from acidbase_lib.reading.telling.filled import ends_in, filled, refilled, told
from acidbase_lib.reading.value_range import SettingsError

SCHOOL = LabSettings(name="North Bay", hco3=[21, 28], oxygen_target_co2_risk=[90, 94])


@pytest.mark.parametrize(("hole", "kits", "schools"), [
    ("<<hco3>>", "22–26 mmol/L", "21–28 mmol/L"),
    ("<<hco3:to>>", "22 to 26 mmol/L", "21 to 28 mmol/L"),
    ("<<paco2:kPa>>", "4.7–6.0 kPa", "4.7–6.0 kPa"),
    ("<<pao2:bare_kPa>>", "10.7–13.3", "10.7–13.3"),
    ("<<ph:bare>>", "7.35–7.45", "7.35–7.45"),
    ("<<oxygen_target_co2_risk>>", "88–92 %", "90–94 %"),
    ("<<oxygen_target_co2_risk:inside>>", "89", "91"),
    ("<<oxygen_target_co2_risk:high>>", "92", "94"),
    ("<<oxygen_target:source>>", "BTS guideline, Thorax 2017", "the target of North Bay"),
    ("<<oxygen_target:who>>", "guidance", "your school"),
])
def test_a_hole_is_filled_by_the_settings(hole: str, kits: str, schools: str) -> None:
    assert filled(f"so {hole}.") == f"so {kits}."
    with by_settings(SCHOOL):
        assert filled(f"so {hole}.") == f"so {schools}."
    assert filled(hole, SCHOOL) == schools


@pytest.mark.parametrize("hole", ["<<hco4>>", "<<hco3:loud>>", "<<name>>"])
def test_a_hole_that_names_nothing_is_told(hole: str) -> None:
    with pytest.raises(SettingsError, match="names no range"):
        filled(hole)


def test_a_notebooks_marked_words_follow_and_come_back() -> None:
    kits = "Bicarbonate <!--=hco3-->22–26 mmol/L<!--=--> and 22–26 in a book."
    theirs = refilled(kits, SCHOOL)
    assert theirs == "Bicarbonate <!--=hco3-->21–28 mmol/L<!--=--> and 22–26 in a book."
    assert refilled(theirs) == kits


def test_a_target_in_words_gives_its_ends_as_whole_numbers() -> None:
    assert ends_in("88–92") == [88, 92]
    assert all(isinstance(end, int) for end in ends_in("88–92"))
    assert ends_in("88.5–92")[0] == pytest.approx(88.5)
    assert told("sao2", "bare", SCHOOL) == "95–100"


def test_settings_hold_inside_and_end_outside() -> None:
    kits = in_force()
    with by_settings(SCHOOL):
        with by_settings(LabSettings(name="inner")):
            assert in_force().name == "inner"
        assert in_force() == in_scope() == SCHOOL
    assert in_force() == kits
    try:
        stay_with(SCHOOL)
        assert in_force() == SCHOOL
        assert in_scope() == kits
    finally:
        stay_with(kits)
