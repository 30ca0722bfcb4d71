"""The rows of a table by whom they are of: each group is read by its own settings."""
from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Any, Final

import numpy as np

from acidbase_lib.physiology.acclimatization import HIGH
from acidbase_lib.reading.blood_gas import YOUNGEST_PREGNANT
from acidbase_lib.reading.lab_settings import LabSettings
from acidbase_lib.reading.whom import populations as whom
from acidbase_lib.reading.whom.history import FOUR_WEEKS, ONE_DAY, TWO_YEARS

#: Why a row is not judged, in the order in which a reading asks.
WHYS: Final = (whom.FIRST_DAY_WHY, whom.TOO_HIGH_WHY, whom.PREGNANT_HIGH_WHY, whom.YOUNG_HIGH_WHY)
_ALL: Final = slice(None)

Group = tuple[Any, LabSettings, int]  # rows, their settings, place in WHYS or -1


def groups_of(numbers: Mapping[str, Any], rows: int, settings: LabSettings) -> Iterator[Group]:
    """The rows that share their settings; one group of all where no history moves a range."""
    if settings.for_whom != "adults" or not _any_history(numbers):
        yield _ALL, settings, -1
        return
    nothing = np.full(rows, np.nan)
    age, altitude, trimester = (numbers.get(key, nothing)
                                for key in ("age", "altitude", "trimester"))
    band = ((age < TWO_YEARS).astype(np.int64) + (age < FOUR_WEEKS) + (age < ONE_DAY))
    stage = np.nan_to_num(trimester).clip(0, 3).astype(np.int64)
    meters = np.nan_to_num(altitude).clip(0, 9000)
    why = np.full(rows, -1)
    for place, no in reversed(list(enumerate((
            band == whom.FIRST_DAY, meters > whom.HIGHEST,
            ~np.isnan(trimester) & (meters > whom.HIGHEST_PREGNANT),
            (band != whom.GROWN) & (meters >= HIGH))))):
        why[no] = place
    hundreds = np.where(meters >= HIGH, np.rint(meters / 100), 0).astype(np.int64)
    key = np.where(why >= 0, -1 - why, (hundreds * 4 + stage) * 4 + band)
    for code in np.unique(key).tolist():
        here = np.flatnonzero(key == code)
        if code < 0:
            yield here, settings, -1 - code
        else:
            yield here, whom.moved(settings, code % 4, code // 4 % 4, code // 16 * 100), -1


def _any_history(numbers: Mapping[str, Any]) -> bool:
    return ("trimester" in numbers or "altitude" in numbers
            or ("age" in numbers and bool((numbers["age"] < TWO_YEARS).any())))


def impossible_history(numbers: Mapping[str, Any]) -> Any:
    """The rows whose trimester is none, or whose age does not go with a pregnancy."""
    if "trimester" not in numbers:
        return False
    trimester = numbers["trimester"]
    wrong = ~np.isnan(trimester) & (trimester != np.rint(trimester))
    if "age" in numbers:
        wrong |= ~np.isnan(trimester) & (numbers["age"] < YOUNGEST_PREGNANT)
    return wrong
