"""Age, pregnancy and altitude as people say them, or a sentence that says what to write."""
from __future__ import annotations

import pytest

from acidbase_lib.physiology.quantities import QuantityError
from acidbase_lib.reading.whom.history import age_text, meters_of, trimester_of, years_of


@pytest.mark.parametrize(("said", "years"), [
    ("34", 34), ("34y", 34), (34, 34), ("6 months", 0.5), ("18m", 1.5), ("2w", 14 / 365.25),
    ("3d", 3 / 365.25), ("1 day", 1 / 365.25), ("12h", 0.5 / 365.25), ("1,5", 1.5), ("0", 0)])
def test_an_age_in_any_unit(said: str | float, years: float) -> None:
    assert years_of(said) == pytest.approx(years)


@pytest.mark.parametrize(("years", "told"), [
    (0, "0 hours"), (0.5 / 365.25, "12 hours"), (1 / 365.25, "1 day"), (3 / 365.25, "3 days"),
    (0.5, "6 months"), (2, "2 years"), (67, "67 years"), (67.9, "67 years")])
def test_an_age_is_told_in_its_unit(years: float, told: str) -> None:
    assert age_text(years) == told


@pytest.mark.parametrize(("said", "trimester"), [
    (1, 1), ("2", 2), ("T3", 3), ("3rd", 3), ("third", 3), ("third trimester", 3), ("term", 3),
    (4, 1), (13, 1), ("13.9w", 1), (14, 2), ("week 27", 2), ("28 weeks", 3), ("w40", 3), (44, 3),
    ("trimester 2", 2), ("no", None)])
def test_a_week_or_a_trimester(said: str | float, trimester: float | None) -> None:
    """Trimesters from week 14 and week 28 on (common practice)."""
    assert trimester_of(said) == trimester


@pytest.mark.parametrize(("said", "meters"), [
    ("2500", 2500), ("2500 m", 2500), (0, 0), ("-300m", -300), ("8000 ft", 2438.4)])
def test_an_altitude_in_meters_or_feet(said: str | float, meters: float) -> None:
    assert meters_of(said) == pytest.approx(meters)


@pytest.mark.parametrize(("read", "said", "says"), [
    (years_of, "-1", r"age = -1 is outside 0-120 years"),
    (years_of, -1, r"age = -1 years is outside 0-120 years"),
    (years_of, "130", "age = 130 is outside 0-120 years"),
    (years_of, "old", "age 'old' is not understood: write 34 for years, or 3d"),
    (years_of, True, "age must be a number"),
    (trimester_of, 60, r"week of pregnancy = 60 weeks is outside 4-44 weeks \(days"),
    (trimester_of, "60", "week of pregnancy = 60 weeks is outside 4-44 weeks"),
    (trimester_of, "w2", "week of pregnancy = 2 weeks is outside 4-44 weeks"),
    (trimester_of, "T5", "trimester = 5 is outside 1-3"),
    (trimester_of, "yes", "pregnant 'yes' is not understood: write a week such as 34"),
    (trimester_of, -3, "week of pregnancy = -3 weeks is outside"),
    (meters_of, "high", "altitude 'high' is not understood: write meters, such as 2500, within"),
    (meters_of, 12000, r"altitude = 12000 m is outside -450 to 9000 m \(a value in feet"),
])
def test_bad_input_is_refused_in_a_sentence(read, said, says: str) -> None:
    with pytest.raises(QuantityError, match=says):
        read(said)
