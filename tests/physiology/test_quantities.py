"""The table of quantities, and errors that teach."""
import pickle
from fractions import Fraction

import pytest
from for_each import for_each

from acidbase_lib.physiology.quantities import (
    QUANTITIES,
    Expected,
    QuantityError,
    require,
    require_all,
)


@pytest.mark.parametrize(("given", "says"), [
    ({"paco2": 235}, r"is outside 8-150 mmHg .*If it is real.*the team must know at once"),
    ({"paco2": 5.3}, r"^PaCO2 = 5\.3 mmHg is outside 8-150 mmHg \(a value near 5 is in kPa"),
    ({"paco2": 495}, r"converted again as if it were in kPa"),
    ({"fio2": 21}, r"^FiO2 = 21 is outside 0\.2-1 \(a percent\? Write 0\.21 for 21 %"),
    ({"albumin": 4.0}, r"^albumin = 4 g/L is outside 8-80 g/L \(a value near 4 is in g/dL"),
    ({"hemoglobin": 14.2}, r"a value near 14 is in g/dL: multiply by 10"),
    ({"age": 804}, r"an age in months\? Divide by 12"),
    ({"sao2": 0.97}, r"write 97, not 0\.97"),
    ({"sao2": 101}, r"a saturation cannot be above 100 %"),
    ({"sodium": 4.4}, r"are sodium, potassium and chloride in the right places\?"),
    ({"potassium": 139}, r"are sodium, potassium and chloride in the right places\?"),
    ({"ph": 40}, r"A value near 40 is \[H\+\]"),
    ({"glucose": 180}, r"in mg/dL\? Divide by 18"),
    ({"temperature": 98.6}, r"°F"),
    ({"barometric_pressure": 101.3}, r"in kPa"),
])
def test_the_message_names_quantity_value_limits_and_likely_slip(given, says):
    with pytest.raises(QuantityError, match=says) as caught:
        require(**given)
    (name, value), = given.items()
    assert (caught.value.quantity, caught.value.value) == (name, value)
    assert str(QUANTITIES[name].limits) in str(caught.value)


@pytest.mark.parametrize("value", ["7.4", True, None.__class__, [7.4], 7.4 + 0j, b"7", object()])
def test_what_is_no_number_is_refused(value):
    with pytest.raises(QuantityError, match=r"^pH must be a number within 6\.5-8, not "):
        require(ph=value)


@pytest.mark.parametrize("value", [float("nan"), float("inf"), -float("inf")])
def test_what_is_not_finite_is_refused(value):
    with pytest.raises(QuantityError, match="must be a finite number"):
        require(ph=value)


def test_huge_numbers_give_a_short_message():
    with pytest.raises(QuantityError, match="more than 300 digits") as caught:
        require(ph=10**5000)
    assert len(str(caught.value)) < 200


def test_none_is_skipped_by_one_and_refused_by_the_other():
    require(ph=None, paco2=40)
    with pytest.raises(QuantityError, match="PaCO2 is missing"):
        require_all(ph=7.4, paco2=None)


@for_each(QUANTITIES)
def test_the_limits_themselves_are_allowed(name):
    row = QUANTITIES[name]
    require(**{name: row.low})
    require(**{name: row.high})
    with pytest.raises(QuantityError):
        require(**{name: row.high + 0.01})
    with pytest.raises(QuantityError):
        require(**{name: row.low - 0.01})


def test_any_kind_of_real_number_will_do():
    numpy = pytest.importorskip("numpy")
    for value in (7, 7.4, Fraction(37, 5), numpy.float64(7.4), numpy.float32(7.4)):
        require(ph=value)


def test_an_error_survives_being_sent_between_processes():
    error = QuantityError("pH = 9", quantity="ph", value=9)
    again = pickle.loads(pickle.dumps(error))
    assert (str(again), again.quantity, again.value) == ("pH = 9", "ph", 9)


def test_the_table_cannot_be_changed():
    with pytest.raises(TypeError):
        QUANTITIES["ph"] = None


def test_expected_reaches_beyond_its_center():
    expected = Expected(center=32.0, tolerance=2.0, reach=(31.0, 34.0))
    assert (expected.low, expected.high) == (29, 36)
    assert expected.contains(29)
    assert not expected.contains(28.9)
