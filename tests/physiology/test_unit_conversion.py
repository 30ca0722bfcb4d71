"""Units: there and back, and the factors against their printed values."""
import pytest
from hypothesis import given
from hypothesis import strategies as st

from acidbase_lib.physiology import units
from acidbase_lib.physiology.quantities import QuantityError


@given(kpa=st.floats(0, 190))
def test_kpa_there_and_back(kpa):
    assert units.mmhg_to_kpa(units.kpa_to_mmhg(kpa)) == pytest.approx(kpa)


@given(per_dl=st.floats(0, 30))
def test_per_deciliter_there_and_back(per_dl):
    assert units.per_l_to_per_dl(units.per_dl_to_per_l(per_dl)) == pytest.approx(per_dl)


def test_one_atmosphere():
    """101.325 kPa is 760 mmHg."""
    assert units.kpa_to_mmhg(101.325) == pytest.approx(760, abs=0.001)


@pytest.mark.parametrize(("kpa", "mmhg"), [(4.7, 35), (6.0, 45), (8.0, 60), (13.3, 100)])
def test_the_pairs_texts_print(kpa, mmhg):
    assert units.kpa_to_mmhg(kpa) == pytest.approx(mmhg, abs=0.5)


def test_bedside_divisors():
    """Glucose by 18, urea nitrogen by 2.8, as the osmolal gap is printed."""
    assert units.glucose_mg_dl_to_mmol_l(180) == pytest.approx(180 / 18, rel=0.001)
    assert units.bun_mg_dl_to_mmol_l(28) == pytest.approx(28 / 2.8, rel=0.001)


def test_two_fixed_points_of_temperature():
    assert units.fahrenheit_to_celsius(98.6) == pytest.approx(37)
    assert units.fahrenheit_to_celsius(104) == pytest.approx(40)


def test_percent_is_a_hundredth():
    assert units.percent_to_fraction(40) == pytest.approx(0.4)


def test_percent_above_100_is_refused():
    with pytest.raises(QuantityError, match="between 0 and 100"):
        units.percent_to_fraction(101)


def test_whole_numbers_come_back_as_floats():
    for result in (units.kpa_to_mmhg(5), units.per_dl_to_per_l(4), units.percent_to_fraction(50)):
        assert type(result) is float
