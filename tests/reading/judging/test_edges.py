"""Edges are said as edges: in the summary, in the step, on both sides of every limit."""
from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from acidbase_lib import BloodGas, LabSettings, interpret
from acidbase_lib.physiology.quantities import QuantityError
from acidbase_lib.reading.judging.edges import POSSIBLE
from acidbase_lib.reading.value_range import Range

quick = settings(max_examples=300, deadline=None, derandomize=True)


def panel(ph: float, paco2: float, hco3: float, gap: float, **more: object):
    return interpret(BloodGas(ph, paco2, hco3, sodium=140, chloride=140 - hco3 - gap,
                              **more))  # type: ignore[arg-type]


@pytest.mark.parametrize(("gas", "processes"), [
    ((7.50, 20, 15), ("respiratory alkalosis", "metabolic acidosis")),  # example 3
    ((7.10, 50, 15), ("respiratory acidosis", "metabolic acidosis"))])  # example 4
def test_published_triples_with_a_ratio_of_two_are_told_the_third(
    gas: tuple[float, float, float], processes: tuple[str, ...]
) -> None:
    """Haber, West J Med 1991;155:146, examples 3 and 4: gap 30, both triple by the author."""
    reading = interpret(BloodGas(*gas, sodium=145, chloride=100))
    assert reading.delta is not None
    assert reading.delta.ratio == 2.0
    assert reading.processes == processes
    assert reading.possible == ("metabolic alkalosis",)
    told = str(reading)
    assert "\nPossible: metabolic alkalosis\n" in told
    assert "This is close to 2" in told


def test_a_gap_of_15_with_a_bicarbonate_of_10_may_be_both_acidoses() -> None:
    """faults.md R10: sodium 135, chloride 110, bicarbonate 10, printed as both kinds."""
    reading = interpret(BloodGas(7.21, 25, 10, sodium=135, chloride=110))
    assert "high gap metabolic acidosis" in reading.possible
    step = next(step for step in reading.steps if step.question == "Is the anion gap raised?")
    assert "an added acid is possible as well" in step.because


def test_severe_alkalosis_raises_the_gap_by_itself() -> None:
    """faults.md R11; Madias 1979: the gap rises in metabolic alkalosis."""
    reading = panel(7.64, 48, 50, 18)
    assert "no high gap metabolic acidosis" in reading.possible
    step = next(step for step in reading.steps if step.question == "Is the anion gap raised?")
    assert "so high a pH raises the gap by itself" in step.because
    assert step.source == "Madias1979"
    for other in (panel(7.64, 48, 50, 30), panel(7.50, 48, 36.6, 20)):  # far above; pH not severe
        assert not any("raises the gap by itself" in step.because for step in other.steps)


@pytest.mark.parametrize(("paco2", "says"), [
    (20.4, ()), (20.9, ("no respiratory alkalosis",)), (21, ("respiratory alkalosis",)),
    (21.5, ("respiratory alkalosis",)), (22, ()),
    (24.4, ()), (24.5, ("respiratory acidosis",)), (25, ("respiratory acidosis",)),
    (25.5, ("no respiratory acidosis",)), (25.6, ())])
def test_a_response_on_either_end_of_winters(paco2: float, says: tuple[str, ...]) -> None:
    """1.5 x 10 + 8 +/- 2 is 21 to 25 mmHg; the edge is half a unit of print wide."""
    reading = interpret(BloodGas(7.21, paco2, 10))
    assert reading.possible == says
    close = any("on the edge" in step.because for step in reading.steps)
    assert close == bool(says)


@pytest.mark.parametrize(("gap", "says"), [
    (14.9, ()), (15, ("high gap metabolic acidosis",)), (16, ("high gap metabolic acidosis",)),
    (16.5, ("no high gap metabolic acidosis",)), (17, ("no high gap metabolic acidosis",)),
    (17.1, ()), (8, ()), (7, ())])
def test_a_gap_on_its_limit(gap: float, says: tuple[str, ...]) -> None:
    found = panel(7.40, 40, 24, gap).possible
    assert tuple(name for name in found if "gap" in name) == says


@pytest.mark.parametrize(("ratio", "says"), [
    (0.65, ()), (0.75, "no normal gap metabolic acidosis"), (0.85, "normal gap metabolic acidosis"),
    (1.5, ()), (1.85, ()), (1.95, "metabolic alkalosis"), (2.0, "metabolic alkalosis"),
    (2.05, "no metabolic alkalosis"), (2.2, ())])
def test_a_delta_ratio_on_an_edge(ratio: float, says: str | tuple[()]) -> None:
    """House bands: 0.8 to 2 is a high gap acidosis alone."""
    reading = panel(7.20, 26, 10, 12 + ratio * 14)
    assert [name for name in reading.possible if "respiratory" not in name] == (
        [says] if says else [])


def test_where_bicarbonate_is_not_low_the_sum_has_its_edge() -> None:
    """Haber 1991: above 30 an alkalosis is named."""
    assert panel(7.40, 40, 24, 17.5).possible == ("metabolic alkalosis",)
    assert panel(7.40, 40, 24, 18.5).possible == ("no metabolic alkalosis",)
    assert panel(7.40, 40, 24, 20).possible == ()


def test_an_edge_moves_with_the_school() -> None:
    ours = LabSettings(anion_gap=Range(3, 11), anion_gap_normal=7.0)
    gas = BloodGas(7.40, 40, 24, sodium=140, chloride=105.5)
    assert interpret(gas, ours).possible == ("high gap metabolic acidosis",)
    assert interpret(gas).possible == ()


@pytest.mark.slow
@quick
@given(st.integers(690, 775), st.integers(10, 110), st.integers(0, 45), st.booleans(),
       st.sampled_from(["arterial", "venous", "capillary"]))
def test_what_is_possible_never_contradicts_what_is_found(
    ph: int, paco2: int, gap: int, chronic: bool, specimen: str
) -> None:
    try:
        bare = BloodGas(ph / 100, paco2)
        gas = BloodGas(ph / 100, paco2, round(bare.hco3), sodium=140,
                       chloride=140 - round(bare.hco3) - gap, chronic_lung_disease=chronic,
                       specimen=specimen)  # type: ignore[arg-type]
    except QuantityError:
        return
    reading = interpret(gas)
    assert set(reading.possible) <= set(POSSIBLE)
    for name in reading.possible:
        assert name not in reading.processes  # what is found is not only possible
        bare_name = name.removeprefix("no ")
        if name.startswith("no ") and "gap" not in name:
            assert bare_name in reading.processes
        assert not (name.startswith("no ") and bare_name in reading.possible)
    if reading.possible:
        assert f"Possible: {'; '.join(reading.possible)}" in str(reading)
    if not reading.consistency.possible:
        assert reading.possible == ()


@quick
@given(st.floats(7.0, 7.7), st.floats(12, 90), st.floats(0.2, 0.49))
def test_a_hair_over_a_limit_is_always_said(ph: float, paco2: float, hair: float) -> None:
    """Just inside and just outside the end of a band, the other reading is named."""
    try:
        reading = interpret(BloodGas(ph, paco2))
    except QuantityError:
        return
    if reading.lead is None or reading.expected is None or reading.expected.quantity != "PaCO2":
        return
    end = reading.expected.high
    for moved in (end - hair, end + hair):
        again = interpret(BloodGas(ph, moved, reading.gas.hco3))
        if again.lead == reading.lead and again.expected == reading.expected:
            assert any("respiratory acidosis" in name for name in again.possible)
