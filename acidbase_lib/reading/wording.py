"""Numbers as a reading prints them: few digits, never rounded across a limit that judges them."""
from __future__ import annotations

from collections.abc import Iterable

from acidbase_lib.physiology.quantities import QUANTITIES

_DIGITS = {"fio2": 2, "potassium": 2, "ionized_calcium": 2, "pf_ratio": 0}
LABELS = {"ph": "pH", "paco2": "PaCO2", "hco3": "bicarbonate"}


def number(value: float, *limits: float, digits: int = 1) -> str:
    """A number with few digits, more only where rounding would move it across a limit.

    Examples
    --------
    >>> number(30.0), number(26.04), number(26.04, 22, 26)
    ('30', '26', '26.04')
    """
    for more in range(digits, 12):
        rounded = round(value, more)
        if all(_order(rounded, limit) == _order(value, limit) for limit in limits):
            break
    text = f"{rounded:.{more}f}"
    return (text.rstrip("0").rstrip(".") or "0") if "." in text else text


def ph_text(ph: float, *limits: float) -> str:
    """A pH with two decimals, more where it was given with more or a limit needs it.

    Examples
    --------
    >>> ph_text(7.4), ph_text(7.345)
    ('7.40', '7.345')
    """
    text = number(ph, *limits, digits=3)
    return f"{ph:.2f}" if len(text) <= 4 else text


def with_unit(key: str, value: float, *limits: float) -> str:
    """A value with its unit: ``66 mmHg``, ``7.28``, ``30 mmol/L``."""
    if key == "ph":
        return ph_text(value, *limits)
    digits = _DIGITS.get(key, 1)
    unit = QUANTITIES[key].unit
    return f"{number(value, *limits, digits=digits)} {unit}".rstrip()


def label_of(key: str) -> str:
    """What a quantity is called in a sentence."""
    return LABELS.get(key, QUANTITIES[key].label)


def sentence_case(text: str) -> str:
    """The first letter large; "pH" and the rest stay as they are."""
    return text if text.startswith("pH") else text[:1].upper() + text[1:]


def ended(text: str) -> str:
    """A text as the end of a sentence: one stop, and none after a question.

    Examples
    --------
    >>> ended("low"), ended("It is low."), ended("Is it low?")
    ('low.', 'It is low.', 'Is it low?')
    """
    return text if text.endswith(("?", "!")) else f"{text.rstrip('.')}."


def side_by_side(texts: Iterable[str]) -> str:
    """Texts in one line, parted by one sign: a semicolon, or the one that a question ends with.

    Examples
    --------
    >>> side_by_side(["A. Is it low?", "B. It is."]), side_by_side(["cramps", "sleep"])
    ('A. Is it low? B. It is.', 'cramps; sleep')
    """
    *before, last = [*texts] or [""]
    return "".join(f"{one} " if one.endswith(("?", "!")) else f"{one.rstrip('.')}; "
                   for one in before) + last


def _order(value: float, limit: float) -> int:
    return (value > limit) - (value < limit)
