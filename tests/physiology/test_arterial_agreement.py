"""What a venous or capillary value leaves open about the artery, as the reviews print it."""
from __future__ import annotations

import pytest

from acidbase_lib.physiology import arterial_agreement as agreement
from acidbase_lib.physiology.arterial_agreement import Agreement
from acidbase_lib.physiology.quantities import QUANTITIES, QuantityError

VENOUS = {"ph": agreement.arterial_ph_from_venous, "paco2": agreement.arterial_paco2_from_venous,
          "hco3": agreement.arterial_hco3_from_venous}
CAPILLARY = {"ph": agreement.arterial_ph_from_capillary,
             "paco2": agreement.arterial_paco2_from_capillary,
             "hco3": agreement.arterial_hco3_from_capillary}


def test_mean_venous_differences_are_those_of_the_review() -> None:
    """Kelly, Emerg Med Australas 2010;22:493: pH 0.035, PCO2 5.7 mmHg, bicarbonate 1.41."""
    assert agreement.arterial_ph_from_venous(7.30).likely == pytest.approx(7.335)
    assert agreement.arterial_paco2_from_venous(60).likely == pytest.approx(54.3)
    assert agreement.arterial_hco3_from_venous(26).likely == pytest.approx(24.59, abs=0.02)


def test_limits_of_agreement_are_those_of_the_reviews() -> None:
    """Kelly 2010: PCO2 within 20 mmHg, bicarbonate within 5; Chung: pH -0.11 to 0.15."""
    assert agreement.arterial_paco2_from_venous(75) == Agreement(69.3, 55, 95)
    found = agreement.arterial_hco3_from_venous(30)
    assert (found.low, found.high) == (25, 35)
    found = agreement.arterial_ph_from_venous(7.30)
    assert (found.low, found.high) == (pytest.approx(7.19), pytest.approx(7.45))


def test_the_interval_of_another_review_lies_inside() -> None:
    """Byrne, Respirology 2014;19:168: 95 % prediction, arterial less venous PCO2 -10.7 to 2.4."""
    found = agreement.arterial_paco2_from_venous(50)
    assert found.low <= 50 - 10.7 < found.likely < 50 + 2.4 <= found.high


def test_a_capillary_pco2_lies_closer_than_a_venous_one() -> None:
    """Zavorsky 2007: about 2 mmHg off on average; the width of 5 is common practice."""
    for key, value in (("ph", 7.30), ("paco2", 60), ("hco3", 30)):
        near, far = CAPILLARY[key](value), VENOUS[key](value)
        assert far.low <= near.low <= value <= near.high <= far.high
    assert agreement.arterial_paco2_from_capillary(60).low <= 58


@pytest.mark.parametrize("key", VENOUS)
@pytest.mark.parametrize("rules", [VENOUS, CAPILLARY])
def test_bounds_are_in_order_and_credible_everywhere(rules: dict, key: str) -> None:
    row = QUANTITIES[key]
    for step in range(101):
        found = rules[key](row.low + step * (row.high - row.low) / 100)
        assert row.low <= found.low <= found.likely <= found.high <= row.high


def test_a_missing_value_is_refused() -> None:
    with pytest.raises(QuantityError, match="PaCO2 is missing"):
        agreement.arterial_paco2_from_venous(None)  # type: ignore[arg-type]
