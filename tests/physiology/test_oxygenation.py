"""Oxygen: printed gradients and saturations, the inverse, altitude, and the grades."""
import math
from itertools import pairwise

import pytest
from for_each import for_each
from hypothesis import given
from hypothesis import strategies as st
from printed import printed

from acidbase_lib.physiology.oxygen_carriage import (
    oxygen_content,
    oxyhemoglobin_fraction,
    pao2_at_ph_7_40_severinghaus1979,
    pao2_ellis1989,
    sao2_severinghaus1979,
)
from acidbase_lib.physiology.oxygen_grades import (
    berlin_severity,
    gradient_limit,
    gradient_limit_mellemgaard1966,
    pf_ratio,
    respiratory_failure_type,
)
from acidbase_lib.physiology.oxygenation import (
    WATER_VAPOR,
    alveolar_arterial_gradient,
    alveolar_po2,
    alveolar_po2_full,
    barometric_pressure_of,
    inspired_po2,
    water_vapor_pressure_buck1981,
)
from acidbase_lib.physiology.quantities import QuantityError
from acidbase_lib.physiology.units import kpa_to_mmhg

GRADIENTS = printed("gradients.csv")


@pytest.mark.parametrize(("one", "next_one"), [
    pair for pair in pairwise(GRADIENTS) if pair[0]["patient"] == pair[1]["patient"]
    and pair[0]["fio2"] == pair[1]["fio2"]],
    ids=lambda row: f"{row['patient']:g}-{row['sample']:g}")
def test_how_a_printed_gradient_moves_between_two_gases(one, next_one):
    """An analyzer's own A-a gradients; the barometric pressure, not recorded, cancels out."""
    ours = [alveolar_po2_full(row["paco2"], row["fio2"]) - row["pao2"] for row in (one, next_one)]
    assert ours[1] - ours[0] == pytest.approx(next_one["printed"] - one["printed"], abs=0.75)


@pytest.mark.parametrize(("pao2", "paco2", "fio2", "quotient", "by_hand"), [
    (62, 28, 0.21, 0.8, 52.7), (80, 40, 0.21, 0.8, 19.7), (68, 58, 0.21, 0.8, 9.2),
    (150, 42, 0.5, 0.8, 154), (85, 32, 0.21, 1.0, 32.7)])
def test_the_gradient_worked_out_by_hand(pao2, paco2, fio2, quotient, by_hand):
    """[MSD2024]: FiO2 x (760 - 47) - PaCO2 / R, less PaO2."""
    assert alveolar_arterial_gradient(
        pao2, paco2, fio2, respiratory_quotient=quotient) == pytest.approx(by_hand, abs=0.06)


def test_room_air_forms_of_the_alveolar_gas_equation():
    """At PaCO2 40: 99.7 by the bedside form, 101.8 in full."""
    assert alveolar_po2(paco2=40, fio2=0.21) == pytest.approx(99.7, abs=0.05)
    assert alveolar_po2_full(paco2=40, fio2=0.21) == pytest.approx(101.8, abs=0.05)
    assert alveolar_po2_full(paco2=40, fio2=0.21) == alveolar_po2_full(
        paco2=40, fio2=0.21, respiratory_quotient=0.8)


def test_on_pure_oxygen_the_full_form_takes_off_carbon_dioxide_once():
    """No nitrogen to dilute: 713 - 40, whatever the quotient."""
    assert alveolar_po2_full(paco2=40, fio2=1.0) == pytest.approx(673)
    assert alveolar_po2_full(paco2=40, fio2=1.0, respiratory_quotient=1.0) == pytest.approx(673)


def test_at_a_quotient_of_1_the_two_forms_are_one():
    for fio2 in (0.21, 0.5, 1.0):
        assert alveolar_po2(40, fio2, respiratory_quotient=1.0) == pytest.approx(
            alveolar_po2_full(40, fio2, respiratory_quotient=1.0))


def test_a_pao2_beyond_the_alveoli_points_to_the_fio2():
    with pytest.raises(QuantityError, match=r"was FiO2 really 0\.21"):
        alveolar_arterial_gradient(pao2=120, paco2=40, fio2=0.21)
    assert alveolar_arterial_gradient(pao2=119, paco2=40, fio2=0.21) < 0  # rounding may do that


def test_no_oxygen_left_is_an_error_not_a_negative_pressure():
    with pytest.raises(QuantityError, match="leaves no oxygen"):
        alveolar_po2(paco2=140, fio2=0.21)


def test_fio2_as_percent_is_caught():
    with pytest.raises(QuantityError, match=r"FiO2 = 40 is outside 0\.2-1 \(a percent\?"):
        pf_ratio(pao2=80, fio2=40)


def test_water_vapor_is_47_at_body_temperature():
    assert water_vapor_pressure_buck1981(37) == pytest.approx(WATER_VAPOR, abs=0.2)
    assert water_vapor_pressure_buck1981() == water_vapor_pressure_buck1981(37)


@pytest.mark.parametrize(("altitude", "pressure", "inspired"), [
    (0, 760, 149), (1400, 642, 125), (2500, 560, 107), (3000, 526, 100), (4300, 445, 83)])
def test_altitude_table(altitude, pressure, inspired):
    """The standard atmosphere, worked out beforehand, with room air of 0.2093."""
    at = barometric_pressure_of(altitude)
    assert at == pytest.approx(pressure, abs=0.6)
    assert inspired_po2(0.2093, barometric_pressure=at) == pytest.approx(inspired, abs=0.75)


@for_each(printed("oxygen_saturation_curve.csv"), named=lambda row: f"{row['pao2']:.0f} mmHg")
def test_saturation_stays_within_the_fit_its_author_states(row):
    """[Severinghaus1979]: within 0.0055 of the curve of table 1."""
    if row["pao2"] >= 15:  # below, no arterial gas is accepted
        assert abs(sao2_severinghaus1979(row["pao2"]) - row["saturation"]) <= 0.555


@pytest.mark.parametrize("row", printed("oxygen_saturation_pairs.csv"),
                         ids=lambda row: f"{row['pao2']:.0f} mmHg")
def test_bedside_pairs(row):
    """Rounded for the bedside: within one percent."""
    assert abs(sao2_severinghaus1979(row["pao2"]) - row["saturation"]) <= 1


def test_half_saturated_near_27_mmhg():
    """P50 of adult blood is printed as 26.6 to 26.8 mmHg."""
    assert 26.6 <= pao2_ellis1989(50) <= 27.0


@given(sao2=st.floats(15, 99.8))
def test_saturation_to_pressure_and_back(sao2):
    pao2 = pao2_ellis1989(sao2)
    if 15 <= pao2 <= 700:
        assert sao2_severinghaus1979(pao2) == pytest.approx(sao2, rel=1e-9)


@given(pao2=st.floats(15, 250))
def test_pressure_to_saturation_and_back(pao2):
    assert pao2_ellis1989(sao2_severinghaus1979(pao2)) == pytest.approx(pao2, rel=1e-6)


def test_full_saturation_has_no_pressure():
    with pytest.raises(QuantityError, match="fits every high PaO2"):
        pao2_ellis1989(100)


def test_saturation_as_a_fraction_or_above_100_is_caught():
    with pytest.raises(QuantityError, match=r"write 97, not 0\.97"):
        pao2_ellis1989(0.97)
    with pytest.raises(QuantityError, match="cannot be above 100 %"):
        pao2_ellis1989(104)


@pytest.mark.parametrize("row", printed("oxygen_content.csv"), ids=lambda row: f"{row['sao2']} %")
def test_oxygen_content_worked_out_by_hand(row):
    """1.34 mL for each gram and 0.03 mL/L for each mmHg."""
    content = oxygen_content(row["hemoglobin"], row["sao2"], row["pao2_mmhg"])
    assert content == pytest.approx(row["by_hand"], abs=0.06)


def test_dissolved_oxygen_is_3_ml_a_liter_at_100_mmhg():
    """Printed as 0.003 mL/dL/mmHg."""
    with_more = oxygen_content(hemoglobin=150, sao2=98, pao2=200)
    assert with_more - oxygen_content(hemoglobin=150, sao2=98, pao2=100) == pytest.approx(3)


@pytest.mark.parametrize(("age", "bedside", "measured"), [
    (20, 9, 6.7), (40, 14, 10.9), (60, 19, 15.1), (80, 24, 19.3)])
def test_gradient_limits_by_age(age, bedside, measured):
    assert gradient_limit(age) == bedside
    assert gradient_limit_mellemgaard1966(age) == pytest.approx(measured)


def test_age_in_months_is_caught():
    with pytest.raises(QuantityError, match=r"age = 804 years .*months\? Divide by 12"):
        gradient_limit(age=804)


@pytest.mark.parametrize(("pao2", "paco2", "limit", "kind"), [
    (59.9, 40, 45, "type 1"), (60, 40, 45, None), (55, 45, 45, "type 1"), (55, 45.1, 45, "type 2"),
    (55, 48, 50, "type 1"), (55, 51, 50, "type 2"), (80, 60, 45, None)])
def test_respiratory_failure(pao2, paco2, limit, kind):
    """[BTS2017] 60 and 45 mmHg; other texts take 50."""
    assert respiratory_failure_type(pao2, paco2, paco2_limit=limit) == kind
    if limit == 45:
        assert respiratory_failure_type(pao2, paco2) == kind


@pytest.mark.parametrize(("pao2", "fio2", "peep", "grade"), [
    (150, 0.5, 5, "mild"), (100.5, 0.5, 5, "mild"), (100, 0.5, 5, "moderate"),
    (50.5, 0.5, 5, "moderate"), (50, 0.5, 5, "severe"), (150.1, 0.5, 5, None), (50, 0.5, 4, None)])
def test_berlin_edges(pao2, fio2, peep, grade):
    """[Berlin2012] 200 < mild <= 300, 100 < moderate <= 200, severe <= 100, PEEP from 5."""
    assert berlin_severity(pao2, fio2, peep) == grade


def test_berlin_limits_in_kpa_are_the_printed_ones():
    """39.9, 26.6 and 13.3 kPa are printed beside 300, 200 and 100 mmHg."""
    for kpa, mmhg in [(39.9, 300), (26.6, 200), (13.3, 100)]:
        assert kpa_to_mmhg(kpa) == pytest.approx(mmhg, abs=1)


def test_berlin_is_corrected_above_1000_m_only():
    """A ratio of 220: mild at sea level and at 900 m, moderate at 2500 m (x 560/760)."""
    at = barometric_pressure_of
    assert berlin_severity(110, 0.5, 5) == "mild"
    assert berlin_severity(110, 0.5, 5, barometric_pressure=at(990)) == "mild"
    assert berlin_severity(110, 0.5, 5, barometric_pressure=at(1010)) == "moderate"
    assert berlin_severity(110, 0.5, 5, barometric_pressure=at(2500)) == "moderate"


def test_acid_blood_lets_oxygen_go_by_the_printed_slope():
    """Severinghaus 1979, abstract: d ln P / d pH = (P / 26.6)^0.184 - 2.2, so -1.2 at P50, which is
    the Bohr coefficient of about -0.5 that textbooks print."""
    moved = pao2_at_ph_7_40_severinghaus1979(26.6, 7.30)
    assert math.log(moved / 26.6) == pytest.approx(0.1 * -1.2)
    assert math.log10(moved / 26.6) / 0.1 == pytest.approx(-0.52, abs=0.01)
    assert pao2_at_ph_7_40_severinghaus1979(60, 7.40) == 60
    assert pao2_at_ph_7_40_severinghaus1979(60, 7.55) > 60


def test_what_is_bound_carries_no_oxygen():
    """Arithmetic: 97 % of the 70 % that carbon monoxide leaves is 67.9 %."""
    assert oxyhemoglobin_fraction(97, 30, 0) == pytest.approx(67.9)
    assert oxyhemoglobin_fraction(97, 0, 0) == 97
    with pytest.raises(QuantityError, match="together more than 100 %"):
        oxyhemoglobin_fraction(97, 60, 50)
