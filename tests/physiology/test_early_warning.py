"""NEWS2 against the printed bands, both saturation scales, and the responses."""
from dataclasses import FrozenInstanceError

import pytest
from for_each import for_each
from hypothesis import given
from hypothesis import strategies as st
from printed import printed

from acidbase_lib.physiology.early_warning import News2Score, news2
from acidbase_lib.physiology.quantities import QuantityError

WELL = {"respiratory_rate": 16, "spo2": 97, "on_oxygen": False, "systolic_pressure": 120,
        "pulse": 70, "consciousness": "alert", "temperature": 37.0}
SCALES = {"spo2_scale_1": {"spo2_scale": 1}, "spo2_scale_2_air": {"spo2_scale": 2},
          "spo2_scale_2_oxygen": {"spo2_scale": 2, "on_oxygen": True}}


@for_each(printed("news2.csv"),
          named=lambda row: f"{row['parameter']} {row['from']:g}-{row['to']:g}")
def test_every_printed_band_at_both_ends(row):
    """[RCP2017] chart 1."""
    extra = SCALES.get(row["parameter"], {})
    parameter = "spo2" if extra else row["parameter"]
    for value in (row["from"], row["to"]):
        score = news2(**{**WELL, parameter: value, **extra})
        assert getattr(score, parameter) == row["points"]


@pytest.mark.parametrize("word", ["confusion", "voice", "pain", "unresponsive"])
def test_anything_but_alert_scores_3(word):
    assert news2(**{**WELL, "consciousness": word}).consciousness == 3
    assert news2(**{**WELL, "consciousness": word[0].upper()}).consciousness == 3


def test_oxygen_scores_2_on_both_scales():
    for scale in (1, 2):
        assert news2(**{**WELL, "on_oxygen": True}, spo2_scale=scale).oxygen == 2
    assert news2(**WELL).oxygen == 0


def test_a_well_patient_scores_nothing():
    assert news2(**WELL).total == 0
    assert news2(**WELL).response.monitoring == "every 12 hours"


def test_the_highest_score_is_20():
    worst = news2(respiratory_rate=30, spo2=80, on_oxygen=True, systolic_pressure=80, pulse=140,
                  consciousness="unresponsive", temperature=34)
    assert worst.total == 20


def test_the_same_saturation_reads_differently_on_scale_2():
    """90 % on air: 3 points on scale 1, none where 88-92 % is the target."""
    assert news2(**{**WELL, "spo2": 90}).spo2 == 3
    assert news2(**{**WELL, "spo2": 90}, spo2_scale=2).spo2 == 0


def test_too_much_oxygen_scores_on_scale_2():
    assert news2(**{**WELL, "spo2": 98, "on_oxygen": True}, spo2_scale=2).spo2 == 3
    assert news2(**{**WELL, "spo2": 98}, spo2_scale=2).spo2 == 0


def _score(total: int, single_three: bool) -> News2Score:
    points = [0] * 7
    if single_three:
        points[0] = 3
    free = [i for i in range(7) if not (single_three and i == 0)]
    while sum(points) < total:
        at = next(i for i in free if points[i] < (3 if total > 14 else 2))
        points[at] += 1
    return News2Score(*points)


@pytest.mark.parametrize("row", printed("news2_response.csv"),
                         ids=lambda row: f"{row['from']:g}-{row['to']:g} {row['single_three']}")
def test_response_bands(row):
    for total in range(int(row["from"]), int(row["to"]) + 1):
        score = _score(total, row["single_three"] == "yes")
        assert score.total == total
        assert score.response.risk == row["risk"]
        assert score.response.monitoring == row["monitoring"]


def test_a_single_three_is_named():
    assert news2(**{**WELL, "respiratory_rate": 26}).single_three == ("respiratory_rate",)


def test_a_score_cannot_be_changed():
    with pytest.raises(FrozenInstanceError):
        news2(**WELL).pulse = 0


@pytest.mark.parametrize(("field", "value", "says"), [
    ("consciousness", "sleepy", "must be one of alert, confusion"),
    ("consciousness", None, "must be one of"),
    ("on_oxygen", 1, "must be True or False"),
    ("spo2_scale", 3, "must be 1 or 2"),
    ("spo2_scale", True, "must be 1 or 2"),
    ("temperature", 98.6, "°F"),
    ("spo2", 0.97, "write 97"),
])
def test_bad_input_is_named(field, value, says):
    with pytest.raises(QuantityError, match=says) as caught:
        news2(**{**WELL, field: value})
    assert caught.value.quantity == field
    assert caught.value.value == value


@given(value=st.floats(0, 100))
def test_no_value_falls_between_two_bands(value):
    """The chart is printed in whole breaths: 11.4 is read as 11, 11.5 as 12."""
    assert news2(**{**WELL, "respiratory_rate": value}).respiratory_rate in (0, 1, 2, 3)


def test_a_half_goes_up():
    assert news2(**{**WELL, "spo2": 95.5}).spo2 == 0
    assert news2(**{**WELL, "spo2": 95.48}).spo2 == 1
    assert news2(**{**WELL, "temperature": 38.04}).temperature == 0
    assert news2(**{**WELL, "temperature": 38.06}).temperature == 1
