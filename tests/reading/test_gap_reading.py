"""The anion gap and the delta ratio, on the gases of published cases and at their edges."""
from __future__ import annotations

import pytest

from acidbase_lib import BloodGas, LabSettings, interpret


def gas_of(ph: float, paco2: float, hco3: float, sodium: float, chloride: float,
           **more: float) -> BloodGas:
    return BloodGas(ph, paco2, hco3, sodium=sodium, chloride=chloride, **more)  # type: ignore[arg-type]


@pytest.mark.parametrize(("gas", "gap"), [
    (gas_of(7.30, 38, 18, 140, 102), 20),  # Harrison table 5-2
    (gas_of(7.42, 67, 42, 140, 88), 10),  # Harrison table 5-2
    (gas_of(7.39, 24, 14, 140, 106), 20),  # Harrison table 5-2
    (gas_of(7.28, 23, 11, 143, 101), 31),  # Levitzky, Pulmonary Physiology, ch 9
])
def test_the_gap_of_published_cases(gas: BloodGas, gap: float) -> None:
    reading = interpret(gas)
    assert reading.anion_gap is not None
    assert reading.anion_gap.value == pytest.approx(gap)


def test_a_low_albumin_uncovers_a_gap() -> None:
    """Figge 1998: 2.5 mmol/L for every 10 g/L; gap 14 with albumin 20 g/L is 19."""
    plain = interpret(gas_of(7.38, 36, 21, 140, 105))
    low = interpret(gas_of(7.38, 36, 21, 140, 105, albumin=20))
    assert plain.anion_gap is not None
    assert low.anion_gap is not None
    assert (plain.anion_gap.value, plain.anion_gap.state) == (14, "normal")
    assert (low.anion_gap.used, low.anion_gap.state) == (19, "high")
    assert "metabolic acidosis" in low.processes


def test_only_the_gap_speaks_in_a_gas_that_is_normal() -> None:
    """Haber 1991: pH 7.40, 40, 24 with Na 145 and Cl 100; excess 9 + 24 = 33, above 30."""
    reading = interpret(gas_of(7.40, 40, 24, 145, 100))
    assert reading.label == "normal"
    assert reading.processes == ("metabolic acidosis", "metabolic alkalosis")
    assert reading.delta is not None
    assert (reading.delta.ratio, reading.delta.excess) == (None, 33)


def test_the_ratio_is_not_read_next_to_a_normal_bicarbonate() -> None:
    """At 23.9 a gap of 17 would give a ratio of 50; the excess form says 28.9: no alkalosis."""
    reading = interpret(gas_of(7.38, 41, 23.9, 140, 99))
    assert reading.delta is not None
    assert reading.delta.ratio is None
    assert reading.processes == ("metabolic acidosis",)


def test_a_ratio_at_an_edge_says_so() -> None:
    """Haber's triple disorder has a ratio of exactly 2."""
    reading = interpret(gas_of(7.10, 50, 15, 145, 100))
    assert reading.delta is not None
    assert (reading.delta.ratio, reading.delta.near_edge) == (2.0, 2.0)
    assert "metabolic alkalosis" in str(reading.delta.next_door)
    assert any("close to 2" in step.because for step in reading.steps)


def test_the_bands_are_a_named_setting() -> None:
    """Harrison table 5-2, ratio 0.8: pure by 0.8-2, below the pure band of Berend (1-2)."""
    gas = gas_of(7.39, 24, 14, 140, 106)
    house = interpret(gas).delta
    strict = interpret(gas, LabSettings(delta_bands="berend2014")).delta
    assert house is not None
    assert strict is not None
    assert house.reading == "high anion gap metabolic acidosis alone"
    assert strict.reading == "high anion gap metabolic acidosis with a normal anion gap acidosis"


def test_a_normal_gap_acidosis_is_called_so() -> None:
    reading = interpret(gas_of(7.28, 28, 13, 138, 114))
    assert reading.anion_gap is not None
    assert reading.anion_gap.state == "normal"
    assert reading.delta is None
    assert any("normal gap" in step.finding for step in reading.steps)


def test_kidneys_that_hold_bicarbonate_are_not_called_an_alkalosis() -> None:
    """A chronic respiratory acidosis starts from a high bicarbonate before the acid comes.

    PaCO2 70: up to 41 mmol/L is the answer of the kidneys (5 for every 10 mmHg, + 2).
    """
    reading = interpret(gas_of(7.26, 70, 31, 143, 92, chronic_lung_disease=True))
    assert reading.delta is not None
    assert reading.delta.alkalosis  # the excess form alone would say so: 20 - 12 + 31 = 39
    assert reading.processes == ("respiratory acidosis", "metabolic acidosis")
    assert any("may have raised" in step.because for step in reading.steps)
    beyond = interpret(gas_of(7.26, 70, 31, 143, 88, chronic_lung_disease=True))
    assert "metabolic alkalosis" in beyond.processes  # 24 - 12 + 31 = 43, above 41
