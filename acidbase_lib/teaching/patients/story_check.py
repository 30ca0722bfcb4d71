"""What keeps a row that somebody wrote from being a history or a person; a sentence for each."""
from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from dataclasses import fields
from types import MappingProxyType
from typing import Any, Final

from acidbase_lib.reading.sources import SOURCES
from acidbase_lib.teaching.seeded_random import SeededRandom

from .cases import draw_story
from .patient_sources import PATIENT_SOURCES
from .people import Person, draw_he_or_she
from .vignettes import ONSETS, Vignette
from .vitals import MIND, SURVIVABLE_SALTS

#: Words that hold the answer, order a treatment, or judge a person: no history holds one.
ANSWER: Final = re.compile(
    r"acidosis|alkalosis|acidemi|alkalemi|acidic|alkaline|compensat|metabolic|hypoxemi|hypercapn"
    r"|hypocapn|hyperventil|hypoventil|retain|carbon dioxide|\bCO2\b|\bpH\b|PaCO2|PaO2|HCO3", re.I)
ORDERS: Final = re.compile(
    r"\boxygen\b|\bgive\b|\badminister|\bstart (?:her|him|them|the)\b|\bprescrib|\bstop the\b"
    r"|\bincrease\b|\b\d+ ?(?:mg|mcg|milligram|L/min|liters? per)|\bliters a minute\b", re.I)
TRAITS: Final = re.compile(
    r"\b(?:wom[ae]n|m[ae]n|male|female|girl|boy|lady|gentleman|wife|husband|mother|father|pregnan\w*"
    r"|black|white|asian|african|hispanic|latin[oa]|arab|jewish|muslim|christian|immigrant|foreign"
    r"|obese|obesity|overweight|fat|skinny|frail|elderly|old (?:man|woman)|homeless|addict|abuser"
    r"|junkie|alcoholic|drunken|noncompliant|non-compliant|refus\w*|claims|complain\w*"
    r"|denies|suffer\w*|victim|confined|crippled)\b", re.I)
LONGEST: Final = 90  # words of a history

Spans = Mapping[str, tuple[float, float]]
#: Between what a ward sees (common practice); a number outside is a slip.
PAIRS: Final[Spans] = MappingProxyType({
    "age": (18, 100), "rr": (4, 50), "pulse": (30, 180), "systolic": (60, 220),
    "temperature": (32, 42), "gradient": (0, 450), "delta": (0.5, 3), "lactate": (0.3, 20),
    "albumin": (15, 50), **{salt: (SURVIVABLE_SALTS[salt].low, SURVIVABLE_SALTS[salt].high)
                            for salt in ("sodium", "potassium")}, "lactate_share": (0, 1)})
_RISING: Final = frozenset({"age", "delta", "albumin", "sodium", "lactate_share"})
_NUMBERS: Final[Spans] = MappingProxyType({"fio2": (0.21, 0.8), "least_pao2": (40, 100)})
_FITS: Final[Spans] = MappingProxyType({"ph": (6.8, 7.8), "paco2": (8, 130), "hco3": (2, 60)})
_SEVERITIES: Final = ("mild", "moderate", "severe")
_FLAGS: Final = ("chronic_lung_disease", "asthma", "opioid")
KEYS: Final = tuple(one.name for one in fields(Vignette) if one.name != "group")
Objection = tuple[str, str]  # the key of the row, and a sentence


def objections_to_history(row: Mapping[str, Any]) -> Iterator[Objection]:
    """What is wrong with a row, its group's defaults in it, before anybody is drawn."""
    for key in row:
        if key not in KEYS:
            yield key, f"{key[:40]!r} is no key of a history; the keys are {', '.join(KEYS)}."
    for key in ("id", "ward", "text", "cause"):
        if not isinstance(row.get(key), str) or not row[key].strip():
            yield key, f"{key} is missing, or is no text."
            return
    yield from _words_of(row["text"], "text")
    if not row["ward"].startswith("the ") or ANSWER.search(row["ward"]):
        yield "ward", (f"ward = {row['ward'][:40]!r} does not read on after 'is in': write it as "
                       "\"the kidney ward\".")
    yield from _numbers_of(row)
    yield from _choices_of(row)


def objections_to_drawing(row: Mapping[str, Any]) -> Iterator[Objection]:
    """What is wrong with the patients that the kit draws of a history, the school's in force."""
    for seed in range(3):
        try:
            case = draw_story(row["id"], seed)
        except ValueError as error:
            yield "id", f"the kit cannot draw a patient of it: {str(error).rstrip('.')}."
            return
        if case.vitals.consciousness == "unresponsive" and case.vitals.device in (
                "air", "nasal cannula"):
            yield "mind", f"nobody unresponsive is on {case.vitals.device}: name a device."
            return


def objections_to_person(row: Mapping[str, Any], groups: frozenset[str]) -> Iterator[Objection]:
    """What is wrong with somebody of a made bedside scene, before anything is found there."""
    known = ("id", "of", "age", "wards", "says", "history")
    for key in row:
        if key not in known:
            yield key, f"{key[:40]!r} is no key of a person; the keys are {', '.join(known)}."
    for key in ("id", "says"):
        if not isinstance(row.get(key), str) or not row[key].strip():
            yield key, f"{key} is missing, or is no text."
            return
    for key, allowed in (("of", groups), ("wards", None), ("history", None)):
        words = row.get(key, [] if key == "history" else None)
        if not isinstance(words, list) or not all(isinstance(one, str) for one in words) or (
                key != "history" and not words):
            yield key, f"{key} is missing, or is no list of words."
        elif allowed and (strange := [one for one in words if one not in allowed]):
            yield key, (f"{strange[0][:40]!r} is no group of people; the groups are "
                        f"{', '.join(sorted(allowed))}.")
        elif key == "wards" and (odd := [one for one in words if not one.startswith("the ")]):
            yield key, f"{odd[0][:40]!r} does not read on after 'is in': write \"the ... ward\"."
    yield from _pair("age", row.get("age"))
    try:
        row["says"].format(**draw_he_or_she(SeededRandom(1), (30, 60)).words)
    except (KeyError, ValueError, IndexError, AttributeError) as error:
        yield "says", _BRACES.format(error)


_BRACES: Final = ("braces stand for nothing here ({}): write {{first}}, {{They}}, {{they}}, "
                  "{{them}}, {{their}}, {{is}}, {{was}} or {{has}}.")


def _words_of(text: str, key: str) -> Iterator[Objection]:
    try:
        for pronouns in ("he", "she", "they"):
            told = text.format(**Person("Ada", "Quill", pronouns, 50).words)
    except (KeyError, ValueError, IndexError, AttributeError) as error:
        yield key, _BRACES.format(error)
        return
    if "<" in text or not text.isprintable():
        yield key, "it holds '<' or a sign that no page shows: write plain words."
    if len(told.split()) > LONGEST:
        yield key, f"it has {len(told.split())} words, more than {LONGEST}: a history is short."
    if found := re.search(r"\{first\} \{(?:was|is|has)\}", text):
        yield key, (f"{found[0]!r} would read \"Ada are\" for somebody who goes by they: write "
                    "{They}, or a past tense.")
    yield from _judging(told, key, (ANSWER, ORDERS, TRAITS))


def _judging(text: str, key: str, which: tuple[re.Pattern[str], ...]) -> Iterator[Objection]:
    says = {ANSWER: "holds the answer, which learners are to find",
            ORDERS: "orders or names a treatment, which is not a history's to do",
            TRAITS: "says what somebody is, or blames; say what happened"}
    for pattern in which:
        if found := pattern.search(text):
            yield key, f"the word {found[0]!r} {says[pattern]}."


def _numbers_of(row: Mapping[str, Any]) -> Iterator[Objection]:
    for key in PAIRS:
        if key in row and (key != "lactate_share" or row[key]):
            yield from _pair(key, row[key])
    for key, (low, high) in _NUMBERS.items():
        if key in row and not (_is_number(row[key]) and low <= row[key] <= high):
            yield key, f"{key} = {str(row[key])[:30]} is no number from {low:g} to {high:g}."
    fits = row.get("fits", {})
    if not isinstance(fits, dict):
        yield "fits", "fits is a table, such as { hco3 = [12, 20] }."
        return
    for key, span in fits.items():
        if key not in _FITS:
            yield "fits", f"a history fits ph, paco2 or hco3, not {key[:40]!r}."
        else:
            yield from _pair(key, span, _FITS[key], "fits")


def _pair(key: str, value: Any, limits: tuple[float, float] | None = None,
          where: str = "") -> Iterator[Objection]:
    low, high = limits or PAIRS[key]
    if not isinstance(value, list) or len(value) != 2 or not all(map(_is_number, value)):
        yield where or key, f"{key} is two numbers, such as [{low:g}, {high:g}]."
    elif not all(low <= one <= high for one in value):
        yield where or key, (f"{key} = {value} reaches outside {low:g} to {high:g}, which a ward "
                             "sees.")
    elif (key in _RISING or where) and value[0] > value[1]:
        yield where or key, f"{key} = {value} has its higher end first: [low, high]."
    elif key in ("age", "sodium", "albumin") and not all(isinstance(one, int) for one in value):
        yield where or key, f"{key} = {value} is two whole numbers."


def _choices_of(row: Mapping[str, Any]) -> Iterator[Objection]:
    for key, allowed in (("onset", ONSETS), ("gap", ("normal", "high"))):
        if key in row and row[key] not in allowed:
            yield key, f"{key} is one of {', '.join(allowed)}, not {str(row[key])[:30]!r}."
    for key in _FLAGS:
        if not isinstance(row.get(key, False), bool):
            yield key, f"{key} is true or false."
    for key in ("device", "certain"):
        if not isinstance(row.get(key, ""), str):
            yield key, f"{key} is no text."
    for key, words in (("mind", tuple(MIND)), ("severity", _SEVERITIES),
                       ("source", (*SOURCES, *PATIENT_SOURCES))):
        value = row.get(key, [])
        if not isinstance(value, list) or any(one not in words for one in value):
            yield key, f"{key} is a list, its words of {_some(words)}."
    if "mind" in row and isinstance(row["mind"], list) and len(row["mind"]) != 3:
        yield "mind", "mind is three letters: when it is mild, moderate and severe."


def _some(words: tuple[str, ...]) -> str:
    return ", ".join(words[:6]) + (", ..." if len(words) > 6 else "")


def _is_number(value: object) -> bool:
    return isinstance(value, int | float) and not isinstance(value, bool) and value == value
