"""Whom the ranges fit: published people read as normal, and nobody is judged by wrong ranges."""
from __future__ import annotations

from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from acidbase_lib import BloodGas, LabSettings, interpret
from acidbase_lib.physiology.henderson_hasselbalch import ph_of
from acidbase_lib.physiology.quantities import QuantityError
from acidbase_lib.reading.lab_settings import DEFAULT_SETTINGS, MOVED, PREGNANCY_SETTINGS, SETTINGS
from acidbase_lib.reading.sources import SOURCES
from acidbase_lib.reading.value_range import Range
from acidbase_lib.reading.whom.history import trimester_of, years_of
from acidbase_lib.reading.whom.populations import settings_for, why_not_judged

quick = settings(max_examples=150, deadline=None, derandomize=True)
DAY = 1 / 365.25

people = st.fixed_dictionaries({}, optional={
    "age": st.one_of(st.floats(0, 120), st.sampled_from(
        [0.0, DAY / 2, DAY, 3 * DAY, 28 * DAY, 0.5, 1.99, 2.0, 8.0, 18.0, 34.0])),
    "trimester": st.sampled_from([1, 2, 3]),
    "altitude": st.one_of(st.floats(-450, 9000), st.sampled_from(
        [0, 999, 1000, 2500, 2501, 4500, 4501]))})


def read_for(ph: float, paco2: float, hco3: float | None = None, **whom: object):
    return interpret(BloodGas(ph, paco2, hco3, **whom))  # type: ignore[arg-type]


# --- published people -----------------------------------------------------------------------------

@pytest.mark.parametrize(("whom", "gas"), [
    # means of the abstracts and tables
    ({"altitude": 2800}, (7.42, 32, 20.3)),  # Moina Veloz 2023
    ({"altitude": 3350}, (7.42, 30.6, 19.7)),  # Pereira-Victorio 2014
    ({"altitude": 2240}, (7.43, 30.2, 20)),  # Cid-Juárez 2023
    ({"altitude": 1605}, (7.44, 33.3, None)),  # Cárdenas-Santamaría 2018, 95 % limits of the mean
    ({"trimester": 3}, (7.43, 30, 20)),  # J Basic Clin Physiol Pharmacol 2021, middle of its ranges
    ({"trimester": 1}, (7.42, 28, 18)),  # Reddi, first trimester
    ({"trimester": 3, "altitude": 1388}, (7.46, 26.6, 18.2)),  # Hankins, Obstet Gynecol 1996;88:347
    ({"age": 2 * DAY}, (7.42, 36, None)),  # term newborns, 49-96 h: pH 7.42
    ({"age": 0.5}, (7.40, 34, 21)),  # textbook middle of infants, from memory
])
def test_healthy_people_are_normal_by_their_own_ranges(whom: dict, gas: tuple) -> None:
    reading = read_for(*gas, **whom)
    assert reading.label == "normal"
    assert reading.processes == ()
    assert reading.settings.for_whom != "adults"


@pytest.mark.parametrize("whom", [{"altitude": 2800}, {"trimester": 3}, {"altitude": 3350}])
def test_the_same_people_are_abnormal_by_the_ranges_of_others(whom: dict) -> None:
    """Without the history each would be called a respiratory alkalosis."""
    assert "respiratory alkalosis" in str(read_for(7.42, 31, 19.9).label)
    assert read_for(7.42, 31, 19.9, **whom).label == "normal"


def test_a_paco2_of_40_at_term_is_retention() -> None:
    """faults.md R7: 7.36 / 40 / 22 at term was called normal."""
    assert read_for(7.36, 40, 22).label == "normal"
    reading = read_for(7.36, 40, 22, trimester=trimester_of(38))
    assert reading.primary == "respiratory acidosis"
    assert reading.urgency.level != "no critical value"
    assert any("PaCO2 of 40 mmHg, normal for others, is high" in step.because
               for step in reading.steps)


def test_the_first_day_is_not_judged_and_says_so() -> None:
    """BMC Pediatr 2022: 16 minutes after birth pH 7.30 and PCO2 52.6 are healthy."""
    reading = read_for(7.30, 52.6, 24.8, age=years_of("1h"), specimen="capillary")
    assert reading.label is None
    assert reading.processes == reading.possible == ()
    assert "first day of life" in str(reading.why_no_label)
    told = str(reading)
    assert "not judged" in told
    for word in ("acidemia", "Low:", "High:", "too little breathing", "No value here is critical"):
        assert word not in told


def test_a_newborn_beyond_a_critical_limit_is_still_an_alarm() -> None:
    assert read_for(7.05, 75, age=0).urgency.level == "critical"


@pytest.mark.parametrize(("whom", "says"), [
    ({"altitude": 5000}, "above 4,500 m"),
    ({"altitude": 3000, "trimester": 2}, "in pregnancy above 2,500 m"),
    ({"altitude": 1500, "age": 0.5}, "below two years of age and above 1,000 m"),
    ({"age": 0.001}, "first day of life")])
def test_where_no_values_are_published_nothing_is_judged(whom: dict, says: str) -> None:
    reading = read_for(7.28, 66, 30, **whom)
    assert says in str(reading.not_judged)
    assert reading.label is None
    assert reading.anion_gap is reading.expected is None
    assert reading.urgency.level == "urgent"


# --- what holds for everybody ---------------------------------------------------------------------

@pytest.mark.slow
@quick
@given(people, st.integers(690, 775), st.integers(10, 110))
def test_anyone_is_read_by_settings_that_hold_or_is_not_judged(
    whom: dict, ph: int, paco2: int
) -> None:
    try:
        gas = BloodGas(ph / 100, paco2, **whom)
    except QuantityError:
        return
    reading = interpret(gas)
    assert (reading.not_judged is not None) == (why_not_judged(gas) is not None)
    if reading.not_judged:
        assert reading.label is None
        assert not reading.processes
    moved = {key for key in SETTINGS if getattr(reading.settings, key)
             != getattr(DEFAULT_SETTINGS, key)}
    assert moved <= MOVED | {"for_whom", "for_whom_source"}
    assert all(reading.settings.source_of(key) in SOURCES for key in moved)
    reading.as_dict()


@quick
@given(st.floats(1000, 4500), st.floats(0, 500))
def test_higher_up_everything_lies_lower(altitude: float, more: float) -> None:
    low, high = (settings_for(BloodGas(7.4, 40, 24, altitude=place), DEFAULT_SETTINGS)
                 for place in (altitude, min(altitude + more, 4500)))
    for key in ("paco2_set", "hco3_set", "failure_pao2"):
        assert getattr(high, key) <= getattr(low, key)
    for key in ("paco2", "hco3", "pao2"):
        assert getattr(high, key).high <= getattr(low, key).high


@pytest.mark.parametrize("trimester", [1, 2, 3])
def test_set_points_lie_on_the_equilibrium_within_the_range(trimester: int) -> None:
    moved = settings_for(BloodGas(7.4, 30, trimester=trimester), DEFAULT_SETTINGS)
    assert moved.ph.state(ph_of(moved.paco2_set, moved.hco3_set)) == "normal"


def test_adults_and_older_children_keep_the_ranges_of_the_school() -> None:
    for whom in ({}, {"age": 40}, {"age": 2}, {"altitude": 500}, {"altitude": 0, "age": 8}):
        assert settings_for(BloodGas(7.4, 40, **whom), DEFAULT_SETTINGS) is DEFAULT_SETTINGS
    step = read_for(7.4, 40, age=8).steps[1]
    assert step.finding == "Nearly: they are ranges of adults."


def test_a_school_keeps_its_rules_and_gaps_but_not_its_adult_ranges() -> None:
    ours = LabSettings(name="Saltmere school", hco3=Range(21, 28), anion_gap=Range(3, 11),
                       anion_gap_normal=7.0)
    moved = settings_for(BloodGas(7.44, 30, trimester=3), ours)
    assert (moved.hco3, moved.anion_gap) == (PREGNANCY_SETTINGS.hco3, Range(3, 11))
    assert (moved.source_of("hco3"), moved.source_of("anion_gap")) == (
        "Pregnancy2021", "SchoolSetting")


@pytest.mark.parametrize("critical", [Range(30, 60), Range(34, 46), Range(35, 45), Range(10, 120)])
@pytest.mark.parametrize("whom", [{"trimester": 3}, {"altitude": 4500}, {"age": 2 * DAY},
                                  {"age": 1}, {"altitude": 2500, "trimester": 1}])
def test_a_school_s_own_alarms_win_over_moved_ranges(critical: Range, whom: dict) -> None:
    """A range never reaches beyond a critical limit, and a gas is read all the same."""
    ours = LabSettings(name="early alarms", critical_paco2=critical, critical_ph=Range(7.35, 7.45))
    moved = settings_for(BloodGas(7.4, 30, **whom), ours)
    assert moved.critical_paco2.low <= moved.paco2.low < moved.paco2.high <= (
        moved.critical_paco2.high)
    assert moved.paco2.state(moved.paco2_set) == "normal"


def test_settings_that_say_whom_they_are_for_are_left_alone() -> None:
    own = replace(PREGNANCY_SETTINGS, for_whom="pregnancy in Saltmere", paco2=Range(26, 34))
    assert settings_for(BloodGas(7.44, 30, trimester=3), own) is own
    assert interpret(BloodGas(7.30, 53, age=0), own).not_judged is None


@pytest.mark.parametrize(("whom", "says"), [
    ({"age": -1}, r"age = -1 years is outside 0-120 years"),
    ({"altitude": "high"}, "altitude must be a number within -450 to 9000 m, not 'high'"),
    ({"trimester": 2.5}, "trimester = 2.5 is not one of 1, 2, 3"),
    ({"trimester": 34}, r"trimester = 34 is outside 1-3 \(a week of pregnancy"),
    ({"trimester": 3, "age": 3 * DAY}, "does not go with a pregnancy: below 9 years")])
def test_bad_input_is_refused_in_a_sentence(whom: dict, says: str) -> None:
    with pytest.raises(QuantityError, match=says):
        BloodGas(7.4, 40, **whom)


def test_an_altitude_brings_its_barometric_pressure() -> None:
    """Standard atmosphere: 560 mmHg at 2500 m."""
    assert round(BloodGas(7.4, 32, altitude=2500).barometric_pressure) == 560
    assert BloodGas(7.4, 32, altitude=2500, barometric_pressure=570).barometric_pressure == 570
