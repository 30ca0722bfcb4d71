"""Finding the numbers in a text: which quantity, which value, which unit, and where."""
from __future__ import annotations

import re
import unicodedata
from collections.abc import Iterator
from dataclasses import dataclass, replace
from typing import Final

from acidbase_lib.physiology.units import (
    fahrenheit_to_celsius,
    glucose_mg_dl_to_mmol_l,
    kpa_to_mmhg,
    per_dl_to_per_l,
)

#: What a quantity is called in a stem; the first pattern that fits at a place wins.
_NAMES: Final = (
    ("total_co2", r"(?:total|serum|venous)\s+(?:co2|carbon dioxide)(?:\s+content)?|t\s?co2"),
    ("end_tidal", r"(?:end[- ]tidal|et)\s?(?:co2|carbon dioxide)"),
    ("paco2", r"p\s?a?\s?co2|(?:arterial )?carbon dioxide(?: tension| pressure)?|(?<![a-z])co2"),
    ("hco3", r"(?:\[)?hco3\s?-?(?:\])?|bicarb(?:onate)?(?: level)?"),
    ("pao2", r"p\s?a?\s?o2(?!\s*/\s*fi)|oxygen tension"),
    ("fio2", r"(?<!/)fi\s?o2|(?:fraction of )?inspired oxygen(?: fraction)?"),
    ("sao2", r"sa\s?o2"),
    ("spo2", r"sp\s?o2|pulse oximet(?:ry|er)|o2 sats?|sats|(?:oxygen|o2) saturations?|saturation"
             r"|sat"),
    ("gap_printed", r"anion gap"),
    ("sodium", r"sodium|na\s?\+?"),
    ("potassium", r"potassium|k\s?\+?"),
    ("chloride", r"chloride|cl\s?-?"),
    ("albumin", r"albumin"),
    ("lactate", r"lactate|lactic acid"),
    ("glucose", r"(?:blood )?(?:glucose|sugar)"),
    ("hemoglobin", r"h(?:a)?emoglobin|hgb|hb"),
    ("base_excess", r"base excess|be"),
    ("respiratory_rate", r"respiratory rate|resp(?:iratory)? rate|respirations|rr|breathing rate"),
    ("pulse", r"heart rate|pulse(?: rate)?|hr"),
    ("systolic", r"blood pressure|bp|systolic(?: blood pressure| pressure)?"),
    ("temperature", r"temperature|temp"),
    ("age", r"aged?"),
    ("ph", r"ph"),
)
_JOIN = (r"(?:\s|[:=,|]|\b(?:of|is|was|has|at|to|now|level|levels|reading|value|values|result|"
         r"shows?"
         r"|fell|fallen|falls|rose|risen|rises|dropped|about|around|only|measured|reported|as"
         r"|are|equals|reads|arterial|with|a|the|low|high|normal)\b|[↑↓~≈])*?")
_NUMBER = r"(?<![\w.])-?\d{1,4}(?:[.,]\d{1,3})?(?![\d])"
_UNIT = (r"(?:\s*(mm\s?hg|torr|k\s?pa|m\s?eq\s?/\s?l|m\s?mol\s?/\s?l|meq|mmol|mosm/kg|mg\s?/\s?dl"
         r"|g\s?/\s?dl|g\s?/\s?l|g/100 ml|%|percent|°\s?c|°\s?f|/\s?min(?:ute)?|bpm"
         r"|breaths(?:\s?(?:/|per|a)\s?min(?:ute)?)?|beats(?:\s?(?:/|per|a)\s?min(?:ute)?)?"
         r"|years?|liters?\b|l/min)(?![a-z]))?")
_ANY: Final = re.compile(
    r"(?<![a-z0-9])(?:" + "|".join(f"(?P<{key}>{names})" for key, names in _NAMES) + r")"
    r"(?:\s*\((?P<inside>mm\s?hg|kpa|meq/l|mmol/l|%)\))?(?:\s*\([^()\d]{0,24}\))?"
    + rf"(?P<join>{_JOIN})(?P<from>\bfrom\s+)?(?P<number>{_NUMBER})"
    + _UNIT.replace("(mm", "(?P<unit>mm", 1)
    + r"(?:\s*(?P<dash>-|to|and|→|->|/)\s*(?P<second>\d{1,4}(?:[.,]\d{1,3})?)(?![\d]))?"
    + _UNIT.replace("(mm", "(?P<unit2>mm", 1), re.I)
_BEFORE: Final = re.compile(
    rf"(?P<number>{_NUMBER})\s*(?P<unit>mm\s?hg|k\s?pa|m\s?eq/l|m\s?mol/l|%) +(?:of +|for +)?"
    r"(?:the\s+)?(?:(?P<paco2>p\s?a?co2)|(?P<hco3>hco3-?|bicarb(?:onate)?)|(?P<pao2>p\s?a?o2)"
    r"|(?P<spo2>spo2|oxygen saturation|saturation)|(?P<fio2>fio2))(?![\w])(?!\s*[:=|]?\s*\d)", re.I)
_PAIRED: Final = re.compile(r"\b(?:ph|p\s?a?co2|hco3-?|bicarbonate|p\s?a?o2)\s*(?:,|and|/)\s*"
                           r"(?:the\s+)?$", re.I)
_SLASHES: Final = re.compile(r"(?<![\d.])([67]\.\d{1,3}|8\.0\d?)\s*/\s*(\d{1,3}(?:\.\d)?)\s*/\s*"
                             r"(\d{1,3}(?:\.\d)?)(?:\s*/\s*(\d{1,2}(?:\.\d)?))?(?![\d/])")
_BREATHS: Final = re.compile(r"(?:breath(?:es|ing)?|respirations?)\D{0,24}?(\d{1,3})\s*(?:times|"
                             r"breaths)?\s*(?:a|per|/|each)\s*min|(\d{1,3})\s*breaths"
                             r"\s*(?:/|per|a|each)\s*min", re.I)
#: A unit that is stated away from its number: "PaCO2 in mmHg", "pressures in kPa".
_APART: Final = re.compile(
    r"(?:(?P<paco2>p\s?a?co2)|(?P<hco3>hco3-?|bicarb(?:onate)?)|(?P<all>gas(?:es)?|pressures?"
    r"|tensions?))(?: (?:is|are|given|reported|measured|values?|in)){0,3} in (?P<unit>mm\s?hg"
    r"|k\s?pa|m\s?mol\s?/\s?l|m\s?eq\s?/\s?l)(?![a-z])", re.I)
_YEARS: Final = re.compile(r"(?<!\d)(\d{1,3})[\s-]*(?:year|yr)s?[\s-]*(?:old|of age)|(?<!\d)"
                           r"(\d{1,3})\s?(?:y/?o)\b|\b(?:mr|mrs|ms|miss)\.?\s[\w' -]{2,24},\s"
                           r"(?:who is\s)?(\d{2,3})(?=[,.])", re.I)
_KIND: Final = {"mmhg": "mmHg", "torr": "mmHg", "kpa": "kPa", "meq/l": "mmol/L", "meq": "mmol/L",
                "mmol/l": "mmol/L", "mmol": "mmol/L", "%": "%", "percent": "%", "mg/dl": "mg/dL",
                "g/dl": "g/dL", "g/100ml": "g/dL", "g/l": "g/L", "°c": "°C", "°f": "°F"}
_SHOWN: Final = {"ph": "pH", "paco2": "PaCO2", "hco3": "HCO3", "pao2": "PaO2", "sao2": "SaO2",
                 "gap_printed": "anion gap"}
#: The unit each quantity is kept in, and the others that it may be printed in.
UNITS: Final = {
    "paco2": ("mmHg", "kPa"), "pao2": ("mmHg", "kPa"), "hco3": ("mmol/L",), "sodium": ("mmol/L",),
    "potassium": ("mmol/L",), "chloride": ("mmol/L",), "total_co2": ("mmol/L",),
    "gap_printed": ("mmol/L",), "lactate": ("mmol/L", "mg/dL"), "glucose": ("mmol/L", "mg/dL"),
    "albumin": ("g/L", "g/dL"), "hemoglobin": ("g/L", "g/dL"), "sao2": ("%",), "spo2": ("%",),
    "fio2": ("%",), "temperature": ("°C", "°F"), "base_excess": ("mmol/L",),
}


@dataclass(frozen=True, slots=True)
class Found:
    """One number of a text: `value` as printed, `start` and `end` its place, `unit` as printed.

    `second` is the other end where the text prints a range, such as "PaCO2 35-45 mmHg".
    """

    key: str
    value: float
    unit: str | None
    start: int
    end: int
    second: float | None = None

    @property
    def unit_known(self) -> bool:
        """Whether the unit may go with this quantity; True where none is printed."""
        return self.unit is None or self.unit in UNITS.get(self.key, (self.unit,))

    @property
    def printed(self) -> str:
        """The number as printed: "paco2 35-45 kPa"."""
        ends = f"{self.value:g}" if self.second is None else f"{self.value:g}-{self.second:g}"
        return f"{_SHOWN.get(self.key, self.key)} {ends} {self.unit or ''}".rstrip()

    @property
    def canonical(self) -> float:
        """The value in the unit that the library keeps it in."""
        return canonical(self.key, self.value, self.unit)


def tidy(text: str) -> str:
    """The text with one kind of minus, plain subscripts and an unbroken name for each gas.

    Every character stays at its place, so that a finding can name its line.
    """
    folded = []
    for char in text:
        plain = unicodedata.normalize("NFKC", char)
        folded.append(plain if len(plain) == 1 else char)
    return "".join(folded).translate(_SAME_WIDTH)


_SAME_WIDTH: Final = str.maketrans({"−": "-", "–": "-", "—": "-", "‑": "-", "⁻": "-",
                                    "\t": " ", "*": " ", "_": " ", "`": " ", "·": "."})


def find_numbers(text: str) -> tuple[Found, ...]:
    """Every number whose quantity the text names, in the order of the text."""
    plain = tidy(text)
    found: list[Found] = []
    for match in _SLASHES.finditer(plain):
        found += _slashed(match)
    for match in _ANY.finditer(plain):
        if _PAIRED.search(plain[max(0, match.start() - 40):match.start()]):
            continue  # "PaCO2 and HCO3 are 66 and 30": which is which is not ours to guess
        if not any(one.start < match.end() and match.start() < one.end for one in found):
            found += _named(match)
    for match in _BEFORE.finditer(plain):
        key = next(k for k in ("paco2", "hco3", "pao2", "spo2", "fio2") if match[k])
        if not any(one.start < match.end() and match.start() < one.end for one in found):
            found.append(Found(key, _float(match["number"]), _unit(match["unit"]), match.start(),
                               match.end()))
    for key, pattern in (("respiratory_rate", _BREATHS), ("age", _YEARS)):
        if any(one.key == key for one in found):
            continue
        for match in pattern.finditer(plain):
            value = next(group for group in match.groups() if group)
            found.append(Found(key, float(value), None, match.start(), match.end()))
            break
    apart = {key: _unit(match["unit"]) for match in _APART.finditer(plain)
             for key in (("paco2", "pao2") if match["all"] else
                         ("paco2",) if match["paco2"] else ("hco3",))}
    found = [replace(one, unit=apart[one.key]) if one.unit is None and one.key in apart else one
             for one in found]
    return tuple(sorted(found, key=lambda one: one.start))


def _named(match: re.Match[str]) -> Iterator[Found]:
    key = next(name for name, _ in _NAMES if match[name])
    value = _float(match["number"])
    unit = _unit(match["unit"] or match["unit2"] or match["inside"])
    label = match[key].strip()
    if key == "age" and (match["dash"] or not 0 < value < 121):
        return
    if label.lower() in ("k", "cl", "na", "be", "hb", "sat") and label.islower():
        return  # a short word of everyday text
    if label.lower() == "k" and not label.isupper():
        return
    second = _float(match["second"]) if match["second"] else None
    end = match.end()
    if key == "systolic" and match["dash"] == "/":
        yield Found(key, value, "mmHg", match.start(), end)
        return
    if second is not None and match["from"]:
        yield Found(key, second, unit, match.start(), end)  # from one value to another: the last
        return
    is_range = (second is not None and match["dash"] in ("-", "to", "and")
                and second > value and _alike(value, second))
    if is_range:
        yield Found(key, value, unit, match.start(), end, second)
        return
    if second is not None:
        unit = _unit(match["unit"] or match["inside"])
        end = match.start("dash")
    if value < 0 and key in ("hco3", "chloride"):
        value = abs(value)  # "HCO3 -30" is a dash
    yield Found(key, value, unit, match.start(), end)


def _alike(low: float, high: float) -> bool:
    return high < 4 * max(low, 1)


def _slashed(match: re.Match[str]) -> list[Found]:
    """pH/PaCO2/PaO2/HCO3, or with three numbers pH/PaCO2/HCO3."""
    keys = ("ph", "paco2", "pao2", "hco3") if match[4] else ("ph", "paco2", "hco3")
    return [Found(key, float(match[n]), None, match.start(), match.end())
            for n, key in enumerate(keys, 1)]


def _float(text: str) -> float:
    return float(text.replace(",", "."))


def _unit(text: str | None) -> str | None:
    return None if text is None else _KIND.get(re.sub(r"\s+", "", text).lower(), text.strip())


def canonical(key: str, value: float, unit: str | None) -> float:
    """A value in the unit that the library keeps it in; as it is where no rule applies."""
    try:
        if key in ("paco2", "pao2") and unit == "kPa":
            return round(kpa_to_mmhg(value), 1)
        if key == "glucose" and (unit == "mg/dL" or (unit is None and value > 40)):
            return round(glucose_mg_dl_to_mmol_l(value), 1)
        if key in ("albumin", "hemoglobin") and (unit == "g/dL" or (unit is None and value < 8)):
            return round(per_dl_to_per_l(value), 1)
        if key == "temperature" and (unit == "°F" or (unit is None and value > 80)):
            return round(fahrenheit_to_celsius(value), 1)
    except ValueError:
        return value
    if key == "lactate" and unit == "mg/dL":
        return round(value / 9, 1)
    if key == "fio2" and (unit == "%" or value > 1):
        return value / 100
    if key in ("sao2", "spo2") and value <= 1:
        return value * 100
    return value
