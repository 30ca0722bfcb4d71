"""Age, pregnancy and altitude as people say them: "3d", "34w", "2500m"."""
from __future__ import annotations

import re
from typing import Final

from acidbase_lib.physiology.quantities import (
    QUANTITIES,
    QuantityError,
    plain,
    quoted,
    require,
    require_all,
)

DAYS_A_YEAR: Final = 365.25
#: Age limits of the ranges. [years]
ONE_DAY: Final = 1 / DAYS_A_YEAR
FOUR_WEEKS: Final = 28 / DAYS_A_YEAR
TWO_YEARS: Final = 2.0
ADULT: Final = 18.0

_IN_A_YEAR: Final = {"h": 24 * DAYS_A_YEAR, "d": DAYS_A_YEAR, "w": DAYS_A_YEAR / 7, "m": 12.0,
                     "y": 1.0}
_AGE: Final = re.compile(
    r"([-−]?\d+(?:[.,]\d+)?) *(h|d|w|m|y|hours?|days?|weeks?|months?|years?)?")
_PREGNANT: Final = re.compile(r"(?:(t|trimester|w|week) *)?(-?\d+(?:[.,]\d+)?) *"
                              r"(w|weeks?|st|nd|rd)?(?: *(trimester))?")
_ORDINAL: Final = {"first": 1.0, "second": 2.0, "third": 3.0, "term": 3.0}


def years_of(age: float | str) -> float:
    """An age in years, from a number of years or from words: ``3d``, ``6 weeks``, ``8m``, ``34``.

    Parameters
    ----------
    age : float or str
        Hours (h), days (d), weeks (w), months (m) or years (y); a bare number is in years.

    Returns
    -------
    float
        The age. [years]

    Raises
    ------
    QuantityError
        If it cannot be read, or is outside 0 to 120 years.

    Examples
    --------
    >>> years_of("6m"), years_of(34)
    (0.5, 34.0)
    """
    if not isinstance(age, str):
        require_all(age=age)
        return float(age)
    found = _AGE.fullmatch(age.strip().casefold())
    if found is None:
        raise QuantityError(f"age {quoted(age)} is not understood: write 34 for years, or 3d, 6w, "
                            "8m, within 0-120 years", quantity="age", value=age)
    years = _number(found[1]) / _IN_A_YEAR[(found[2] or "y")[0]]
    if not 0 <= years <= QUANTITIES["age"].high:
        raise QuantityError(f"age = {age.strip()} is outside {QUANTITIES['age'].limits} (write "
                            "34 for years, or 3d, 6w, 8m)", quantity="age", value=age)
    return years


def trimester_of(pregnant: float | str) -> float | None:
    """The trimester of a pregnancy, from a week, a trimester, or their words.

    Parameters
    ----------
    pregnant : float or str
        1, 2 and 3 are trimesters, 4 to 44 are weeks since the last period; also ``34w``,
        ``week 34``, ``T3``, ``third``; ``no`` is none.

    Returns
    -------
    float or None
        1 up to week 13, 2 from week 14, 3 from week 28; None for no pregnancy.

    Raises
    ------
    QuantityError
        If it cannot be read, or is no week that a pregnancy can have.

    Examples
    --------
    >>> trimester_of(34), trimester_of("T2"), trimester_of("week 13"), trimester_of("no")
    (3.0, 2.0, 1.0, None)
    """
    unit = ""
    if isinstance(pregnant, str):
        text = pregnant.strip().casefold()
        if text in ("no", "not"):
            return None
        if text.removesuffix(" trimester") in _ORDINAL:
            return _ORDINAL[text.removesuffix(" trimester")]
        found = _PREGNANT.fullmatch(text)
        if found is None:
            raise QuantityError(f"pregnant {quoted(pregnant)} is not understood: write a week such "
                                "as 34, or a trimester such as T3", quantity="pregnancy_week",
                                value=pregnant)
        value: float = _number(found[2])
        marks = "".join(part or "" for part in (found[1], found[3], found[4]))
        unit = "week" if "w" in marks else "trimester" if marks else ""
    else:
        require_all(pregnancy_week=pregnant if not _is_trimester(pregnant) else 4)
        value = float(pregnant)
    if unit != "week" and (_is_trimester(value) or unit == "trimester"):
        require(trimester=value)
        return value
    require(pregnancy_week=value)
    return 1.0 if value < 14 else 2.0 if value < 28 else 3.0


def meters_of(altitude: float | str) -> float:
    """An altitude in meters, from a number or its words: ``2500``, ``2500 m``, ``8200 ft``.

    Raises
    ------
    QuantityError
        If it cannot be read, or is outside the limits.

    Examples
    --------
    >>> meters_of("2500 m"), round(meters_of("8200ft"))
    (2500.0, 2499)
    """
    if isinstance(altitude, str):
        found = re.fullmatch(r"([-−]?\d+(?:[.,]\d+)?) *(m|meters?|ft|feet)?",
                             altitude.strip().casefold())
        if found is None:
            raise QuantityError(
                f"altitude {quoted(altitude)} is not understood: write meters, such as 2500, "
                f"within {QUANTITIES['altitude'].limits}", quantity="altitude", value=altitude)
        altitude = _number(found[1]) * (0.3048 if (found[2] or "m")[0] == "f" else 1)
    require_all(altitude=altitude)
    return float(altitude)


def age_text(age: float) -> str:
    """An age as people say it: hours, days, months below two years, then years.

    Examples
    --------
    >>> age_text(3 / 365.25), age_text(0.5), age_text(67)
    ('3 days', '6 months', '67 years')
    """
    if age < ONE_DAY:
        return _counted(age * DAYS_A_YEAR * 24, "hour")
    if age < FOUR_WEEKS:
        return _counted(age * DAYS_A_YEAR, "day")
    if age < TWO_YEARS:
        return _counted(age * 12, "month")
    return f"{plain(int(age))} years"


def _counted(value: float, unit: str) -> str:
    count = int(value + 1e-9)
    return f"{count} {unit}{'' if count == 1 else 's'}"


def _is_trimester(value: object) -> bool:
    return value in (1, 2, 3) and not isinstance(value, bool)


def _number(text: str) -> float:
    return float(text.replace(",", ".").replace("−", "-"))
