"""Three numbers that cannot come from one sample are flagged, never refused."""
from __future__ import annotations

import pytest

from acidbase_lib import BloodGas, interpret, strike_out
from acidbase_lib.reading.consistency import check_consistency


def test_the_example_gas_of_a_messaging_standard_cannot_exist() -> None:
    """HL7's published example: pH 7.29, PCO2 35, HCO3 20. pH and PCO2 give 16.6 mmol/L."""
    check = check_consistency(BloodGas(7.29, 35, 20))
    assert round(check.hco3_expected, 1) == 16.6
    assert round(check.residual, 1) == 3.4
    assert check.verdict == "impossible"
    assert not check.consistent


@pytest.mark.parametrize(("gas", "verdict"), [
    (BloodGas(7.30, 38, 18), "consistent"),  # Harrison table 5-2
    (BloodGas(7.34, 56, 32), "doubtful"),  # 29.9 by the equation: between one and two tolerances
    (BloodGas(7.35, 23, 10), "impossible"),  # an abstract: bicarbonate of another sample (SHM)
    (BloodGas(7.50, 50, 30), "impossible"),  # 38.6 by the equation
    (BloodGas(7.40, 40), "consistent"),  # derived: fits by construction
])
def test_printed_gases_are_told_apart(gas: BloodGas, verdict: str) -> None:
    assert check_consistency(gas).verdict == verdict


def test_the_tolerance_is_the_larger_of_1_and_6_percent() -> None:
    assert check_consistency(BloodGas(7.20, 20, 8)).tolerance == 1
    high = check_consistency(BloodGas(7.50, 50, 38))
    assert high.tolerance == pytest.approx(0.06 * high.hco3_expected)


def test_rounding_to_print_is_never_called_doubtful() -> None:
    """A true gas printed to 0.01, 1 mmHg and 1 mmol/L stays consistent (PaCO2 20 and up)."""
    for tenth_ph in range(690, 771, 5):
        for paco2 in range(20, 101, 7):
            ph = tenth_ph / 100
            for true_ph in (ph - 0.0049, ph + 0.0049):
                hco3 = BloodGas(true_ph, paco2).hco3 if 0.0307 * paco2 * 10 ** (
                    true_ph - 6.1) < 79 else 0
                if hco3 >= 1.5:
                    assert check_consistency(BloodGas(ph, paco2, round(hco3))).consistent


def test_an_impossible_gas_is_read_no_further() -> None:
    reading = interpret(BloodGas(7.29, 35, 20, sodium=140, chloride=100))
    assert reading.label is reading.primary is reading.expected is reading.anion_gap is None
    assert reading.processes == ()
    assert "cannot come from one sample" in str(reading.why_no_label)
    assert "cannot come from one sample" in reading.steps[0].finding
    assert reading.ph_state == "acidemia"
    struck = strike_out(reading.gas, ["metabolic acidosis", "normal"])
    assert [one.step for one in struck] == [0, 0]


def test_a_doubtful_gas_is_read_with_a_warning_first() -> None:
    reading = interpret(BloodGas(7.33, 55, 32))
    assert reading.label == "partially compensated respiratory acidosis"
    assert "care" in reading.steps[0].finding
