"""The response to a simple disorder: worked cases, rivals side by side, set-points, edges."""
import inspect

import pytest
from for_each import for_each
from hypothesis import given
from hypothesis import strategies as st
from printed import printed

from acidbase_lib.physiology import (
    compensation_base_excess,
    compensation_metabolic_acidosis,
    compensation_metabolic_alkalosis,
    compensation_respiratory_acidosis,
    compensation_respiratory_alkalosis,
)
from acidbase_lib.physiology import (
    compensation_defaults as compensation,
)
from acidbase_lib.physiology.compensation_defaults import (
    hco3_acute_respiratory_acidosis,
    hco3_acute_respiratory_alkalosis,
    hco3_chronic_respiratory_acidosis,
    hco3_chronic_respiratory_alkalosis,
    paco2_metabolic_alkalosis,
    paco2_winters1967,
)
from acidbase_lib.physiology.compensation_rules import RULES
from acidbase_lib.physiology.henderson_hasselbalch import hco3_of, ph_of
from acidbase_lib.physiology.quantities import Expected, QuantityError

ALL_RULES = {name: rule for rules in RULES.values() for name, rule in rules.items()}
CASES = printed("compensation.csv")


@for_each(CASES, named=lambda row: row["id"])
def test_worked_case(row):
    """Each row names its text: the expectation it prints, and what it concludes."""
    rule = ALL_RULES[row["rule"]]
    expected = rule(row["x"], paco2_set=row["paco2_set"], hco3_set=row["hco3_set"])
    if row["expected"] is not None:
        assert expected.center == pytest.approx(row["expected"], abs=row["to_within"])
    if row["actual"] is not None:
        assert expected.contains(row["actual"]) == (row["as_expected"] == "yes")


def test_every_rule_has_a_worked_case():
    assert set(ALL_RULES) == {row["rule"] for row in CASES}


def test_the_altitude_row_follows_from_its_printed_ph():
    """PMC3068777 prints pH 7.40 and PaCO2 29.4; bicarbonate is ours, by the equation."""
    assert hco3_of(ph=7.40, paco2=29.4) == pytest.approx(18.0, abs=0.05)


def test_every_public_rule_can_be_chosen_by_name():
    modules = (compensation, compensation_metabolic_acidosis, compensation_metabolic_alkalosis,
               compensation_respiratory_acidosis, compensation_respiratory_alkalosis)
    public = {name for module in modules for name, rule in inspect.getmembers(module)
              if inspect.isfunction(rule) and name.startswith(("paco2_", "hco3_"))}
    assert public - set(ALL_RULES) == {"paco2_ph_digits_msd2024"}, "this one reads the pH instead"


@pytest.mark.parametrize("disorder", RULES)
def test_the_default_stands_first(disorder):
    assert next(iter(RULES[disorder].values())).__module__ == compensation.__name__


def test_bedside_winters_stays_inside_the_original_tolerance():
    """[Albert1967]: 1.54 HCO3 + 8.36; the rounded form may not leave its +/- 2 band."""
    for hco3 in range(4, 23):
        assert paco2_winters1967(hco3).contains(1.54 * hco3 + 8.36)


def test_winters_may_not_be_run_on_a_normal_bicarbonate():
    """It expects 44 at 24, which is why the reading asks for HCO3 below 22."""
    assert paco2_winters1967(hco3=24).center == 44


@pytest.mark.parametrize(("hco3", "winters", "plus15", "slope"), [
    (5, 15.5, 20, 17.2), (10, 23, 25, 23.2), (15, 30.5, 30, 29.2), (20, 38, 35, 35.2)])
def test_rivals_disagree_as_worked_out(hco3, winters, plus15, slope):
    rules = RULES["metabolic acidosis"]
    assert paco2_winters1967(hco3).center == winters
    assert rules["paco2_plus15_msd2024"](hco3).center == plus15
    assert rules["paco2_metabolic_acidosis_bushinsky1982"](hco3).center == pytest.approx(slope)


def test_the_two_lines_with_0_7_lie_3_mmhg_apart_everywhere():
    other = RULES["metabolic alkalosis"]["paco2_metabolic_alkalosis_kidney360"]
    for hco3 in (30, 40, 50):
        apart = paco2_metabolic_alkalosis(hco3).center - other(hco3).center
        assert apart == pytest.approx(3.2)


def test_alkalosis_has_no_cap_by_default_and_one_by_the_manual():
    capped = RULES["metabolic alkalosis"]["paco2_metabolic_alkalosis_msd2024"]
    assert paco2_metabolic_alkalosis(hco3=70).center == pytest.approx(72.2)
    assert capped(hco3=70).center == 55


def test_chronic_acidosis_reaches_from_3_5_to_5_with_the_tolerance_outside():
    """57 and 32 is one author's simple case; a bare 3.5 +/- 2 band ends at 31.95."""
    expected = hco3_chronic_respiratory_acidosis(paco2=57)
    assert (expected.low, expected.high) == pytest.approx((24 + 1.7 * 3.5 - 2, 24 + 1.7 * 5 + 2))
    narrow = RULES["chronic respiratory acidosis"]["hco3_chronic_respiratory_acidosis_narins1980"]
    assert expected.contains(32)
    assert not narrow(57).contains(32)


@pytest.mark.parametrize("slope", [0.414, 0.476, 0.538])
@pytest.mark.parametrize("paco2", [44.2, 52.8, 68.8])
def test_chronic_acidosis_holds_what_was_measured_in_28_people(paco2, slope):
    """[Gonzalez2018], abstract: the line through 29.9 at 52.8, and both ends of its confidence."""
    assert hco3_chronic_respiratory_acidosis(paco2).contains(29.9 + slope * (paco2 - 52.8))


def test_chronic_alkalosis_reaches_from_4_to_5():
    expected = hco3_chronic_respiratory_alkalosis(paco2=20)
    assert (expected.low, expected.high) == (24 - 10 - 2, 24 - 8 + 2)


@pytest.mark.parametrize(("name", "x", "low", "high"), [
    ("hco3_acute_respiratory_acidosis_msd2024", 60, 24, 30),
    ("hco3_chronic_respiratory_acidosis_msd2024", 60, 28, 34),
    ("hco3_chronic_respiratory_acidosis_berend2014", 60, 30, 36),
    ("hco3_acute_respiratory_alkalosis_msd2024", 20, 18, 24),
    ("hco3_chronic_respiratory_alkalosis_msd2024", 20, 12, 18),
    ("paco2_metabolic_alkalosis_msd2024", 34, 44, 49.5)])
def test_a_printed_range_is_kept_with_the_tolerance_of_2_outside_it(name, x, low, high):
    expected = ALL_RULES[name](x)
    assert (expected.low, expected.high) == pytest.approx((low, high))


WIDER = {"paco2_albert1967": 2.2, "paco2_metabolic_alkalosis": 5,
         "paco2_metabolic_alkalosis_kidney360": 5}


@pytest.mark.parametrize("name", ALL_RULES)
def test_the_tolerance_is_2_unless_print_has_another(name):
    assert ALL_RULES[name](30).tolerance == WIDER.get(name, 2)


def test_ph_digits_rule_and_where_it_ends():
    rule = compensation_metabolic_acidosis.paco2_ph_digits_msd2024
    assert rule(ph=7.26).center == pytest.approx(26)
    assert rule(ph=7.10).tolerance == 2
    for beyond in (6.9, 7.09, 7.41):
        with pytest.raises(QuantityError, match="where this rule holds"):
            rule(ph=beyond)


@pytest.mark.parametrize("rule", ALL_RULES.values(), ids=ALL_RULES)
def test_at_the_set_point_nothing_is_expected_to_move(rule):
    """But for the lines that do not pass through 40 and 24, which keep their distance."""
    at_usual = rule(24 if rule.__name__.startswith("paco2") else 40)
    moved = (rule(20, paco2_set=30, hco3_set=20) if rule.__name__.startswith("paco2")
             else rule(30, paco2_set=30, hco3_set=20))
    shift = 10 if rule.__name__.startswith("paco2") else 4
    assert moved.center == pytest.approx(at_usual.center - shift)
    assert moved.tolerance == at_usual.tolerance


@pytest.mark.parametrize(("rule", "paco2"), [
    (hco3_acute_respiratory_acidosis, 60), (hco3_chronic_respiratory_acidosis, 60),
    (hco3_acute_respiratory_alkalosis, 25), (hco3_chronic_respiratory_alkalosis, 25)])
def test_compensation_never_carries_the_ph_past_normal(rule, paco2):
    """Acidosis stays at or below 7.40 and alkalosis at or above, at the expected center."""
    ph = ph_of(paco2, rule(paco2).center)
    assert ph < 7.40 if paco2 > 40 else ph >= 7.39


@pytest.mark.parametrize(("name", "x", "center"), [
    ("paco2_metabolic_acidosis_schlichtig1998", -15, 25),
    ("paco2_metabolic_alkalosis_schlichtig1998", 20, 52),
    ("base_excess_acute_respiratory_schlichtig1998", 70, 0),
    ("base_excess_chronic_respiratory_schlichtig1998", 60, 8),
    ("base_excess_chronic_respiratory_schlichtig1998", 30, -4)])
def test_rules_for_base_excess(name, x, center):
    """[Schlichtig1998]: 1.0, 0.6, 0 and 0.4; one open text prints the last with its sign turned."""
    expected = getattr(compensation_base_excess, name)(x)
    assert expected.center == pytest.approx(center)
    assert expected.tolerance == 2


def test_the_two_families_of_rules_agree_in_metabolic_acidosis():
    """A base deficit of 15 goes with HCO3 11: both expect about 25 mmHg."""
    by_excess = compensation_base_excess.paco2_metabolic_acidosis_schlichtig1998(base_excess=-15)
    assert by_excess.contains(paco2_winters1967(hco3=11).center)


@given(center=st.floats(1, 80), tolerance=st.floats(0, 9))
def test_expected_counts_its_edges_in(center, tolerance):
    expected = Expected(center, tolerance)
    assert expected.contains(expected.low)
    assert expected.contains(expected.high)
    assert not expected.contains(expected.high + 0.001)
    assert not expected.contains(expected.low - 0.001)
