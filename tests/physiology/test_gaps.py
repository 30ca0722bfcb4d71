"""The anion gap, its corrections, the osmolal gap, and the delta family."""
import pytest
from printed import printed

from acidbase_lib.physiology.delta import (
    DELTA_BANDS,
    delta_gap,
    delta_ratio,
    delta_reading,
    excess_gap_haber1991,
)
from acidbase_lib.physiology.gaps import (
    anion_gap,
    anion_gap_corrected_feldman2005,
    anion_gap_corrected_figge1998,
    anion_gap_with_potassium,
    osmolal_gap,
)
from acidbase_lib.physiology.quantities import QuantityError

CASES = printed("gaps.csv")


@pytest.mark.parametrize("row", CASES, ids=lambda row: row["id"])
def test_printed_anion_gap(row):
    """Each text's own sum."""
    assert anion_gap(row["sodium"], row["chloride"], row["hco3"]) == row["anion_gap"]


@pytest.mark.parametrize("row", [row for row in CASES if row["excess_gap"]],
                         ids=lambda row: row["id"])
def test_printed_excess_gap(row):
    """[Haber1991]: both rows end above 30, a metabolic alkalosis too."""
    assert excess_gap_haber1991(row["anion_gap"], row["hco3"]) == row["excess_gap"]


def test_potassium_raises_the_gap_by_itself():
    with_k = anion_gap_with_potassium(sodium=140, potassium=4.5, chloride=104, hco3=24)
    assert with_k - anion_gap(sodium=140, chloride=104, hco3=24) == 4.5


def test_swapped_electrolytes_are_named():
    with pytest.raises(QuantityError, match="are the two swapped"):
        anion_gap(sodium=101, chloride=140, hco3=24)
    with pytest.raises(QuantityError, match="in the right places"):
        anion_gap_with_potassium(sodium=4.4, potassium=139, chloride=101, hco3=24)


def test_albumin_20_adds_5_from_40_and_6_from_44():
    """[Figge1998]: 2.5 for each 10 g/L; a normal of 44 instead of 40 adds one more."""
    assert anion_gap_corrected_figge1998(gap=14, albumin=20) == 19
    assert anion_gap_corrected_figge1998(gap=14, albumin=20, albumin_normal=44) == 20
    assert anion_gap_corrected_feldman2005(gap=14, albumin=20) == pytest.approx(18.6)


def test_normal_albumin_corrects_nothing():
    assert anion_gap_corrected_figge1998(gap=14, albumin=40) == 14


def test_albumin_in_grams_per_deciliter_is_caught():
    with pytest.raises(QuantityError, match=r"albumin = 2 g/L .*g/dL: multiply by 10"):
        anion_gap_corrected_figge1998(gap=14, albumin=2.0)


def test_osmolal_gap_by_the_printed_sum():
    """In mg/dL: 2 x 140 + 90 / 18 + 14 / 2.8 = 290."""
    assert osmolal_gap(osmolality=290, sodium=140, glucose=5, urea=5) == 0
    assert osmolal_gap(osmolality=320, sodium=140, glucose=5, urea=5, ethanol=22) == 8


@pytest.mark.parametrize("row", printed("delta_ratio.csv"), ids=lambda row: row["id"])
def test_delta_ratio_of_printed_gaps(row):
    """No text here prints the ratio: it is worked out from the gap and bicarbonate printed."""
    ratio = delta_ratio(row["gap"], row["hco3"])
    assert ratio == pytest.approx(row["printed"], abs=0.006)
    assert delta_reading(ratio).reading == row["reading"]


def test_near_an_edge_both_readings_are_named():
    near = delta_reading(0.76)
    assert near.near_edge == 0.8
    assert near.next_door == "high anion gap metabolic acidosis alone"
    assert delta_reading(1.4).near_edge is None
    assert delta_reading(1.905).near_edge == 2.0
    assert delta_reading(1.895).near_edge is None  # further than 0.1


@pytest.mark.parametrize("bands", DELTA_BANDS)
def test_bands_leave_no_hole(bands):
    for hundredths in range(-300, 600):
        assert delta_reading(hundredths / 100, bands).reading


@pytest.mark.parametrize(("bands", "pure"), [
    ("house", (0.8, 2)), ("narrow", (1, 2)), ("berend2014", (1, 2))])
def test_where_each_rule_calls_it_pure(bands, pure):
    alone = "high anion gap metabolic acidosis alone"
    assert delta_reading(pure[0], bands).reading == alone
    assert delta_reading(pure[1], bands).reading == alone
    assert delta_reading(pure[0] - 0.01, bands).reading != alone
    assert delta_reading(pure[1] + 0.01, bands).reading != alone


def test_one_rule_leaves_0_8_to_1_without_a_name():
    assert delta_reading(0.9, "narrow").reading.startswith("between the bands")


def test_an_unknown_rule_is_refused():
    with pytest.raises(QuantityError, match="choose one of house, narrow, berend2014"):
        delta_reading(1.0, "other")


def test_no_fall_of_bicarbonate_no_ratio():
    """MX07 and MX16: gas normal, gap high. The difference still speaks."""
    with pytest.raises(QuantityError, match="has not fallen"):
        delta_ratio(gap=20, hco3=25)
    assert delta_gap(gap=20, hco3=25) == 9  # beyond 6: a metabolic alkalosis too


def test_delta_gap_and_ratio_say_the_same_of_an_even_exchange():
    assert delta_gap(gap=22, hco3=14) == 0
    assert delta_ratio(gap=22, hco3=14) == 1
