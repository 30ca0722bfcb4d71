"""A school's own settings: read, remembered as the school's own, or refused by key and file."""
from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest

from acidbase_lib import BloodGas, LabSettings, interpret
from acidbase_lib.physiology.quantities import QuantityError
from acidbase_lib.reading.lab_settings import DEFAULT_SETTINGS, PREGNANCY_SETTINGS, SETTINGS
from acidbase_lib.reading.oxygenation.target import cautions_of
from acidbase_lib.reading.sources import SOURCES
from acidbase_lib.reading.value_range import Range, SettingsError


def school(tmp_path: Path, text: str) -> Path:
    path = tmp_path / "school.toml"
    path.write_text(text, encoding="utf-8")
    return path


def test_both_ends_of_a_range_are_normal() -> None:
    assert [Range(22, 26).state(x) for x in (21.9, 22, 26, 26.1)] == [
        "low", "normal", "normal", "high"]


def test_the_defaults_are_the_nursing_ranges() -> None:
    """OpenStax nursing series and Bourke, Respiratory Medicine, as the source sheet holds them."""
    ours = DEFAULT_SETTINGS
    assert (str(ours.ph), str(ours.paco2), str(ours.hco3)) == ("7.35–7.45", "35–45", "22–26")
    assert (ours.pao2, ours.sao2, ours.midline) == (Range(80, 100), Range(95, 100), 7.40)
    assert ours.changed == ()


def test_every_setting_names_a_source() -> None:
    assert {DEFAULT_SETTINGS.source_of(key) for key in SETTINGS} <= set(SOURCES)


def test_a_school_sets_its_own_range_and_the_reading_says_so(tmp_path: Path) -> None:
    """23-28 for bicarbonate is in use in some laboratories (common practice)."""
    ours = LabSettings.from_toml(school(tmp_path, 'name = "Saltmere school"\nhco3 = [23, 28]\n'))
    assert ours.changed == ("hco3",)
    assert ours.text("hco3") == "23–28 mmol/L, a choice of Saltmere school"
    gas = BloodGas(7.28, 57, 27)
    assert interpret(gas).label == "partially compensated respiratory acidosis"
    reading = interpret(gas, ours)
    assert reading.label == "uncompensated respiratory acidosis"
    step = next(step for step in reading.steps if "bicarbonate low" in step.question)
    assert "a choice of Saltmere school" in step.because
    assert step.source == "SchoolSetting"


def test_the_settings_file_we_hand_out_reads_back_as_the_defaults(tmp_path: Path) -> None:
    assert LabSettings.from_toml(school(tmp_path, DEFAULT_SETTINGS.as_toml())) == DEFAULT_SETTINGS
    named = replace(DEFAULT_SETTINGS, name='a "quoted" \\ name')
    assert LabSettings.from_toml(school(tmp_path, named.as_toml())) == named


@pytest.mark.parametrize(("text", "says"), [
    ("hco3 = [26, 22]", r"hco3 = \[26, 22\]: the low end 26 is not below the high end 22"),
    ("hco = [22, 26]", "hco is not a setting: did you mean hco3"),
    ("ranges_of_everything = 5", "is not a setting"),
    ("ph = [6.6, 7.9]", "ph: 6.6 is not believable"),
    ("paco2 = [4.7, 6.0]", "paco2: PaCO2 = 4.7 mmHg is outside .* in kPa"),
    ("sao2 = [0.95, 1.0]", "sao2: .*percent"),
    ('midline = "7.4"', "midline must be a finite number, not '7.4'"),
    ("midline = nan", "midline must be a finite number"),
    ("midline = 7.46", "midline = 7.46 lies outside ph = 7.35–7.45"),
    ("hco3_set = 20", "hco3_set = 20 lies outside hco3"),
    ("hco3 = 22", r"hco3 must be two numbers, \[low, high\]"),
    ("hco3 = [22, 24, 26]", "a range is two numbers"),
    ("hco3 = [22, true]", "two finite numbers"),
    ("[hco3]\nlow = 22", "hco3 must be two numbers"),
    ("anion_gap_with_potassium = 1", "must be true or false"),
    ("anion_gap_with_potassium = true", "needs a range of its own"),
    ('delta_bands = "mine"', "choose one of house"),
    ('metabolic_acidosis_rule = "paco2_guess"', "choose one of paco2_winters1967"),
    ("critical_ph = [7.40, 7.59]", "does not lie around the range ph"),
    ("consistency_relative = 6", "consistency_relative: 6 is not believable"),
    ('name = ""', "name must be a text"),
    ("hco3 = [22, 26", "is not TOML"),
    ("just some text", "is not TOML"),
])
def test_a_wrong_file_is_refused_by_key_and_name(tmp_path: Path, text: str, says: str) -> None:
    with pytest.raises(SettingsError, match=says) as caught:
        LabSettings.from_toml(school(tmp_path, text))
    assert "school.toml" in str(caught.value)


def test_a_missing_or_binary_file_is_refused(tmp_path: Path) -> None:
    with pytest.raises(SettingsError, match="cannot be read"):
        LabSettings.from_toml(tmp_path / "nowhere.toml")
    with pytest.raises(SettingsError, match="cannot be read"):
        LabSettings.from_toml(tmp_path)
    (tmp_path / "a.toml").write_bytes(b"\xff\xfe\x00ph")
    with pytest.raises(SettingsError, match=r"a\.toml"):
        LabSettings.from_toml(tmp_path / "a.toml")


def test_settings_built_by_hand_are_checked_as_well() -> None:
    with pytest.raises(SettingsError, match="hco3"):
        LabSettings(hco3=22)  # type: ignore[arg-type]
    with pytest.raises(QuantityError):
        Range(float("nan"), 3)
    with pytest.raises(QuantityError):
        Range("a", 3)  # type: ignore[arg-type]


def test_with_potassium_the_gap_counts_it() -> None:
    """Convention of the laboratory behind the real panels: range about 4 higher."""
    ours = LabSettings(anion_gap_with_potassium=True, anion_gap=Range(12, 20), anion_gap_normal=16)
    gas = BloodGas(7.40, 40, 24, sodium=140, potassium=4, chloride=104)
    gap = interpret(gas, ours).anion_gap
    assert gap is not None
    assert (gap.value, gap.state) == (16, "normal")
    without = BloodGas(7.40, 40, 24, sodium=140, chloride=104)
    assert interpret(without, ours).anion_gap is None


def test_a_rival_rule_is_a_setting_and_the_step_names_it() -> None:
    """MSD Manual caps the PaCO2 of metabolic alkalosis at 55; the default has no cap."""
    gas = BloodGas(7.53, 60, 50)
    assert interpret(gas).response == "as expected"
    capped = LabSettings(name="Saltmere school",
                         metabolic_alkalosis_rule="paco2_metabolic_alkalosis_msd2024")
    reading = interpret(gas, capped)
    assert reading.response == "more than expected"
    assert any("at most 55" in step.because for step in reading.steps)


def test_altitude_is_a_change_of_set_points() -> None:
    """PaCO2 and bicarbonate fall with acclimatization (common practice); here 32 and 20."""
    gas = BloodGas(7.42, 32, 20.3)
    assert interpret(gas).label == "fully compensated respiratory alkalosis"
    high = LabSettings(name="high town", paco2=Range(28, 36), hco3=Range(18, 22), paco2_set=32,
                       hco3_set=20, winters_below=18, pao2=Range(55, 70))
    assert interpret(gas, high).label == "normal"
    assert interpret(gas, high).processes == ()


def test_pregnancy_settings_hold_the_published_center() -> None:
    """J Basic Clin Physiol Pharmacol 2021;33:581, table 1: 7.40-7.47, 28-32, 18-22."""
    assert str(PREGNANCY_SETTINGS.ph) == "7.4–7.47"
    assert (PREGNANCY_SETTINGS.paco2_set, PREGNANCY_SETTINGS.hco3_set) == (30, 20)
    assert interpret(BloodGas(7.44, 30, 20), PREGNANCY_SETTINGS).label == "normal"


def test_a_list_of_two_numbers_will_do_for_a_range() -> None:
    assert LabSettings(hco3=[23, 28]).hco3 == Range(23, 28)  # type: ignore[arg-type]


def test_settings_we_hand_out_keep_their_own_source() -> None:
    assert PREGNANCY_SETTINGS.source_of("paco2") == "Pregnancy2021"
    step = interpret(BloodGas(7.31, 42, 20.5), PREGNANCY_SETTINGS).steps[2]
    assert step.source == "Pregnancy2021"
    with pytest.raises(SettingsError, match="no source we hold"):
        LabSettings(source="somebody")


@pytest.mark.parametrize(("key", "target", "says"), [
    ("oxygen_target_co2_risk", [82, 88], "reaches below critical_sao2"),
    ("oxygen_target_co2_risk", [92, 97], "too much oxygen can raise it"),
    ("oxygen_target", [86, 90], "were the two mixed up"),
    ("oxygen_target", [70, 98], "must lie within 80 to 100"),
])
def test_a_target_that_would_harm_is_refused_with_why(key: str, target: list[int],
                                                      says: str) -> None:
    """BTS guideline, Thorax 2017: 88-92 % at risk, 94-98 % otherwise; below 85 % is critical."""
    with pytest.raises(SettingsError, match=says) as refused:
        LabSettings(**{key: target})
    assert key in str(refused.value)


@pytest.mark.parametrize(("settings", "says"), [
    (LabSettings(), ()),
    (LabSettings(name="A", oxygen_target_co2_risk=[90, 94]), ("88–92", "can raise carbon dioxide")),
    (LabSettings(name="A", oxygen_target=[90, 94]), ("94–98", "less oxygen than guidance")),
    (LabSettings(name="A", oxygen_target=[95, 99]), ("94–98", "beyond need can harm")),
    (LabSettings(name="A", hco3=[21, 28]), ()),
])
def test_a_target_of_a_schools_own_is_set_beside_guidance(settings: LabSettings,
                                                          says: tuple[str, ...]) -> None:
    told = " ".join(cautions_of(settings))
    assert bool(told) is bool(says)
    assert all(one in told for one in says)
    assert not told or "Whoever is responsible" in told


def test_what_a_notebook_carries_is_read_back_alike() -> None:
    school = LabSettings(name="Saint O'Hara's \\ (Bay)", hco3=[21, 28], oxygen_target=[93, 97])
    carried = school.for_notebook()
    assert "'" not in carried
    assert LabSettings.from_notebook(carried) == school
    assert LabSettings().for_notebook() == ""
    for broken in ("{", "[1]", '{"hco3": [28, 21]}', '{"no_such_key": 1}'):
        with pytest.raises(SettingsError, match="setup cell"):
            LabSettings.from_notebook(broken)
