"""Are the ranges that a file or a stem states ranges in which anybody's values lie."""
from __future__ import annotations

from collections.abc import Callable, Iterator
from typing import Final

from acidbase_lib.reading.lab_settings import DEFAULT_SETTINGS
from acidbase_lib.reading.settings_in_force import in_force
from acidbase_lib.reading.telling.filled import told

from .findings import LOOK, MUST, Finding
from .numbers import Found, find_numbers
from .sample import settings_of

#: Where the middle of a healthy adult's range lies, in any laboratory (common practice).
_MIDDLES: Final = {"ph": (7.36, 7.45), "paco2": (30.0, 48.0), "hco3": (20.0, 28.0),
                   "pao2": (70.0, 105.0), "sao2": (92.0, 99.0)}
_EXAMPLE: Final = {"ph": "pH 7.35-7.45", "paco2": "PaCO2 35-45 mmHg (4.7-6.0 kPa)",
                   "hco3": "HCO3 22-26 mmol/L", "pao2": "PaO2 80-100 mmHg (10.7-13.3 kPa)",
                   "sao2": "SaO2 95-100 %"}


def check_ranges(text: str, at: Callable[[int], int], stated: bool = False) -> Iterator[Finding]:
    """What cannot be among the ranges of a text; `stated` where it holds nothing but ranges."""
    found = find_numbers(text)
    seen = set()
    for one in found:
        if one.key not in _MIDDLES:
            continue
        if one.second is None:
            if stated:
                seen.add(one.key)
                yield Finding(LOOK, "ranges", at(one.start),
                              f"'{one.printed}' is not a range from low to high; it was not used.",
                              f"Write '{_EXAMPLE[one.key]}'.")
            continue
        middle = (one.canonical + Found(one.key, one.second, one.unit, 0, 0).canonical) / 2
        low, high = _MIDDLES[one.key]
        if not low <= middle <= high:
            seen.add(one.key)
            yield Finding(MUST, "ranges", at(one.start),
                          f"'{one.printed}' is nobody's normal range{_likely(one, found)}.",
                          f"Write '{_EXAMPLE[one.key]}', or your laboratory's own.")
    if stated:
        yield from _against_the_school(found, at)
    if stated and not seen:
        refused = settings_of([text])[2]
        if refused:
            yield Finding(MUST, "ranges", at(0), f"The stated ranges cannot be used: {refused}.",
                          "Write 'ranges: pH 7.35-7.45, PaCO2 35-45 mmHg, HCO3 22-26 mmol/L'.")
        elif text.strip() and not found:
            yield Finding(LOOK, "ranges", at(0), "No range could be read here, so the kit's own "
                          "were used.",
                          "Write 'ranges: pH 7.35-7.45, PaCO2 35-45 mmHg, HCO3 22-26 mmol/L'.")


def _against_the_school(found: tuple[Found, ...], at: Callable[[int], int]) -> Iterator[Finding]:
    """Which stated ranges are others than the school's own settings, where a school is in force."""
    school = in_force()
    if school == DEFAULT_SETTINGS:
        return
    for one in found:
        if one.key not in _MIDDLES or one.second is None:
            continue
        span = getattr(school, one.key)
        ends = (one.canonical, Found(one.key, one.second, one.unit, 0, 0).canonical)
        # a range in kPa is printed with one decimal, 0.4 mmHg off at most
        apart = max(abs(end - own) for end, own in zip(ends, (span.low, span.high), strict=True))
        if apart > (0.4 if one.unit == "kPa" else 1e-9):
            own = told(one.key, "unit", school).replace("–", "-")
            name = _EXAMPLE[one.key].split()[0]
            yield Finding(LOOK, "ranges", at(one.start),
                          f"'{one.printed}' contradicts the settings of {school.name}, which say "
                          f"{own}: learners would be told two ranges.",
                          f"Write '{name} {own}' here, or change settings.toml.")


def _likely(one: Found, found: tuple[Found, ...]) -> str:
    """The slip behind it, where it shows."""
    assert one.second is not None
    middle = (one.value + one.second) / 2
    if one.key in ("paco2", "pao2"):
        low, high = _MIDDLES[one.key]
        if one.unit == "kPa" and low <= middle <= high:
            return ": the numbers are in mmHg"
        if one.unit != "kPa" and low <= middle * 7.50062 <= high:
            return ": the numbers are in kPa"
    for other, (low, high) in _MIDDLES.items():
        if other != one.key and low <= middle <= high and any(row.key == other for row in found):
            return f": it looks like the range of {_EXAMPLE[other].split()[0]}"
    return ""
