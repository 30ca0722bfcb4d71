"""One line of an answer read as a value of its field: a word, several, an order or a number."""
from __future__ import annotations

import math
import re
from collections.abc import Mapping
from functools import lru_cache
from types import MappingProxyType

from acidbase_lib.physiology.quantities import QUANTITIES
from acidbase_lib.physiology.units import kpa_to_mmhg, mmhg_to_kpa

from .fields import Field, Value
from .spelling import fold, has_lookalikes, spell_out

LARGEST = 1e6  # no quantity at the bedside is written with more
LONGEST_WORD = 120  # of what is compared with our choices, which are shorter

# possessive (++): what has been read is not tried again shorter, so a long line costs no more
_NUMBER = re.compile(r"^([+-]?\d++(?:[.,]\d++)?)\s*+((?:[a-zA-Z%/µ°][a-zA-Z0-9%/µ°]*+)?)"
                     r"(?:\s++(?i:\2))?+$")  # a unit typed beside one that stands there already
_SPACED = re.compile(r"\bmm\s++Hg\b", re.IGNORECASE)
_BETWEEN = re.compile(r"[,;/&+?|]|\b(?:or|and|not)\b")
_UNITS = {"mmhg": "mmHg", "torr": "mmHg", "kpa": "kPa", "mmol/l": "mmol/L", "meq/l": "mmol/L",
          "nmol/l": "nmol/L", "%": "%", "percent": "%", "l/min": "L/min", "g/l": "g/L"}


class NotUnderstoodError(ValueError):
    """A value that is none of the field's; carries the nearest word."""

    def __init__(self, sentence: str, did_you_mean: str | None = None) -> None:
        super().__init__(sentence)
        self.did_you_mean = did_you_mean


def read_value(field: Field, text: str) -> Value:
    """Read what was typed for a field.

    Raises
    ------
    NotUnderstoodError
        It is none of what the field takes; the text says what it takes.
    """
    return _READERS[field.kind](field, text)


def _one(field: Field, text: str) -> Value:
    wanted = spell_out(text)
    table = _spellings(field)
    if wanted in table:
        return table[wanted]
    lettered = re.match(r"^(?:option\s+)?([a-j])(?:[.):\s]+(.*))?$", fold(text))
    if lettered and lettered[1] in table:
        return _alone(field, table, table[lettered[1]], lettered[2] or "", text)
    if fold(text) in table:
        return table[fold(text)]
    if field.told_by is not None and fold(text) == field.told_by.word:
        raise NotUnderstoodError(
            f"{field.name}: {text[:60]!r} may mean {field.told_by.otherwise!r} or "
            f"{field.told_by.then!r}. Write which, or answer {field.told_by.field!r} first.")
    from difflib import get_close_matches  # only a slip pays for it

    near = get_close_matches(wanted[:LONGEST_WORD], table, n=1, cutoff=0.6)
    meant = table[near[0]] if near else None
    odd = " Some of its letters belong to another alphabet." if has_lookalikes(text) else ""
    choices = ", ".join(field.words)
    question = f" Did you mean {meant!r}?" if meant else ""
    raise NotUnderstoodError(f"{field.name}: {text[:60]!r} is not one of {choices}.{odd}{question}",
                             meant)


def _alone(field: Field, table: Mapping[str, str], word: str, rest: str, text: str) -> str:
    """The choice that a letter names, unless what follows the letter names another one too."""
    for part in _BETWEEN.split(rest):
        if table.get(spell_out(part.strip("() ")), word) != word:
            raise NotUnderstoodError(f"{field.name}: {text[:60]!r} names more than one choice. "
                                     "Write the one that you mean.")
    return word


def _many(field: Field, text: str) -> Value:
    if fold(text) in {"none", "none of them", "nothing", "-"}:
        return ()
    parts = [p for p in re.split(r"[,;&+]|\band\b", text) if p.strip()]
    compact = re.fullmatch(r"[A-Ja-j](?:\s+[A-Ja-j])*|[A-J]{2,}", text.strip())
    if len(parts) == 1 and compact and all(len(word) == 1 for word in field.words):
        parts = [c for c in text if not c.isspace()]
    chosen = {_one(field, part) for part in parts}
    return tuple(word for word in field.words if word in chosen)


def _order(field: Field, text: str) -> Value:
    parts = [p for p in re.split(r"[>,;→]|\bthen\b", text) if p.strip()]
    chosen = tuple(str(_one(field, part)) for part in parts)
    if len(set(chosen)) != len(chosen):
        raise NotUnderstoodError(f"{field.name}: one step stands there twice. "
                                 "Write each step once.")
    left_out = [word for word in field.words if word not in chosen]
    if left_out:
        raise NotUnderstoodError(f"{field.name}: {', '.join(left_out)} still to be placed. "
                                 "Write every step, first to last, with > between them.")
    return chosen


def _number(field: Field, text: str) -> Value:
    match = _NUMBER.match(_SPACED.sub("mmHg", text.strip().replace("−", "-")))
    if match is None:
        raise NotUnderstoodError(f"{field.name}: {text[:60]!r} is not a number. Write a number, "
                                 f"such as 40{' ' + field.unit if field.unit else ''}.")
    number = float(match[1].replace(",", ".")) + 0.0  # "-0" is told as 0
    if not math.isfinite(number) or not 0 <= number <= LARGEST:
        raise NotUnderstoodError(f"{field.name}: {text[:60]!r} is outside 0 to {LARGEST:,.0f}. "
                                 "Check the sign and the decimal point.")
    unit = _UNITS.get(match[2].casefold())
    if match[2] and unit is None:
        raise NotUnderstoodError(f"{field.name}: the unit {match[2][:20]!r} is not known here. "
                                 f"Use {field.unit or 'no unit'}.")
    if unit in field.units and unit != field.unit:
        pressure = QUANTITIES["pressure_kpa" if unit == "kPa" else "pressure_mmhg"]
        if number > pressure.high:
            raise NotUnderstoodError(f"{field.name}: {text[:60]!r} is outside {pressure.limits}. "
                                     "Check the unit and the decimal point.")
        return float(kpa_to_mmhg(number) if unit == "kPa" else mmhg_to_kpa(number))
    if unit and unit != field.unit:
        raise NotUnderstoodError(f"{field.name}: the unit {unit} does not fit. "
                                 f"Use {field.unit or 'a number without a unit'}.")
    return number


_READERS = MappingProxyType({"one": _one, "many": _many, "order": _order, "number": _number})


@lru_cache(maxsize=512)
def _spellings(field: Field) -> dict[str, str]:
    """Every way a choice may be written, folded, to the word that is kept."""
    table: dict[str, str] = {}
    for choice in field.choices:
        for spelling in (choice.word, choice.text, *choice.also):
            if spelling:
                table.setdefault(fold(spelling), choice.word)
                table.setdefault(spell_out(spelling), choice.word)
    return table
