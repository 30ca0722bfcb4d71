"""Why a word about a cause fails or holds: its disorder, potassium, chloride and gap."""
from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import TYPE_CHECKING, Final

from acidbase_lib.reading.disorders import METABOLIC_ACIDOSIS
from acidbase_lib.teaching.misconceptions.catalog import SOUND

from .gas_set_reasons import gap_sum
from .option_reasons import Reasons

if TYPE_CHECKING:
    from acidbase_lib.reading.blood_gas import BloodGas
    from acidbase_lib.teaching.patients.causes import Cause

_LITTLE: Final = "By itself this moves little potassium into the blood or out of it."
_SHORT: Final = "By itself this moves little chloride."


def cause_told(cause: Cause, name: str, words: Iterable[str]) -> Reasons:
    """What is told of one thing that a cause brings: a field of the recipes about causes."""
    right, reason = _found(cause, name)
    why = dict.fromkeys(words, reason)
    if name == "disorder":
        why = {word: cause.because if word == right else _disorder_fails(cause, word)
               for word in why}
    return Reasons(why, cause.because if name == "disorder" else reason)


def _found(cause: Cause, name: str) -> tuple[str, str]:
    """The right word, and the mechanism behind it."""
    return {"disorder": (cause.disorder, cause.because),
            "potassium": (cause.potassium, _potassium(cause)),
            "chloride": (cause.chloride, _chloride(cause)),
            "anion gap": (cause.gap, _gap(cause)),
            "whole body": (cause.store, _store(cause)),
            "once insulin works": (cause.insulin, "Insulin sends potassium back into the cells. "
                                   "The blood level can fall fast and disturb the heart, so it "
                                   "is measured before and often after.")}[name]


def _disorder_fails(cause: Cause, word: str) -> str:
    family, end = word.split()
    own_family, _ = cause.disorder.split()
    if family != own_family:
        return ("This does not begin with the breathing. The breathing may change in response."
                if family == "respiratory" else
                "Fast breathing adds no acid. Lactate can add one, and only measuring it tells."
                if (cause.key, end) == ("fever", "acidosis") else
                "This begins with the breathing: it changes how much carbon dioxide leaves the "
                "body.")
    if family == "respiratory":
        return ("Carbon dioxide acts as an acid. Here more of it than usual leaves the body."
                if end == "acidosis" else
                "Carbon dioxide acts as an acid. Here less of it than usual leaves the body.")
    if end == "acidosis":
        return ("Stomach juice is acid: whoever loses it is left with less acid."
                if cause.loses == "stomach juice" else
                "The kidneys pass chloride here and keep bicarbonate, a base.")
    if cause.loses == "bowel juice":
        return "Bowel juice is rich in bicarbonate: whoever loses it is left with less base."
    return ("An acid is added here, or stays in. It uses up bicarbonate, the base."
            if cause.gap == "high" else "Bicarbonate, the base, becomes less here.")


def _potassium(cause: Cause) -> str:
    if cause.potassium == "little change":
        return _LITTLE
    if cause.potassium == "high":
        return ("Without insulin potassium leaves the cells and goes into the blood."
                if cause.insulin else
                "The kidneys pass on too little potassium, so it stays in the blood, where it can "
                "disturb the heart.")
    if cause.key == "stoma":
        # Rud CL et al. Scand J Gastroenterol 2023;58:971-9, abstract: aldosterone often high;
        # J Med Case Rep 2013;7:207, abstract: potassium can stay in where kidneys fail
        return ("Potassium leaves with the juice and with the urine. In a dry patient whose "
                "kidneys fail it can be high instead, so it is measured.")
    return {"bowel juice": "The stool carries potassium out of the body.",
            "stomach juice": "The kidneys pass potassium with the extra bicarbonate.",
            }.get(cause.loses, "Potassium is passed with the urine.")


def _chloride(cause: Cause) -> str:
    if cause.chloride == "high":
        return ("Salt water brings much chloride." if cause.key == "saline" else
                "The body keeps chloride in place of the bicarbonate that is lost.")
    if cause.chloride == "low":
        return ("Stomach juice carries chloride out of the body."
                if cause.loses == "stomach juice" else
                "The kidneys pass chloride with the urine.")
    return ("The other half of the added acid takes the place of bicarbonate, so chloride can "
            "stay." if cause.gap == "high" else _SHORT)


def _gap(cause: Cause) -> str:
    if cause.gap == "high":
        return "An acid is added, and its other half is not counted: the gap rises."
    return ("Chloride takes the place of bicarbonate. Both are counted, so the gap does not rise."
            if cause.disorder == METABOLIC_ACIDOSIS else
            "No acid is added here, so the gap does not rise.")


def _store(cause: Cause) -> str:
    if cause.insulin and cause.store == "low":
        return ("The blood level is not the store: potassium has left the cells, and for days it "
                "has left the body with the urine.")
    way = {"stoma": "with the juice and the urine", "diarrhea": "with the stool"}.get(
        cause.key, "with the urine")
    return {"low": f"Potassium leaves the body {way}.",
            "high": "The kidneys pass on too little potassium, so the body holds more.",
            "little change": "Little potassium enters or leaves the body."}[cause.store]


def statement_told(cause: Cause, names: Iterable[str], said: Mapping[str, tuple[str | None, ...]],
                   ) -> Reasons:
    """Of whole statements behind letters: each part that fails, or the cause."""
    names = tuple(names)
    why = {}
    for letter, words in said.items():
        wrong = [(name, word) for name, word in zip(names, words, strict=True)
                 if word != _found(cause, name)[0]]
        why[letter] = " ".join(
            f"{name[:1].upper()}{name[1:]}: not {word}. "
            f"{cause_told(cause, name, (str(word),)).why[str(word)]}"
            for name, word in wrong) or cause.because
    return Reasons(why, cause.because)


def explains_told(causes: Mapping[str, Cause], named: str) -> Reasons:
    """Of several causes behind letters, what each tends to bring; `named` is what the gas shows."""
    return Reasons({letter: f"{cause.text[:1].upper()}{cause.text[1:]}: this tends to bring "
                 f"{cause.disorder}{_with_gap(cause)}." for letter, cause in causes.items()},
                f"The gas shows {named}.")


def story_told(gases: Mapping[str, BloodGas], right: str) -> Reasons:
    """Of several gases behind letters, what each shows, and whether the story brings it."""
    why = {}
    for letter, gas in gases.items():
        sound = SOUND.read(gas)
        gap = (f" with a {sound.gap} gap ({gap_sum(gas)})"
               if sound.disorder == METABOLIC_ACIDOSIS and sound.gap_value is not None else "")
        why[letter] = f"This gas shows {sound.disorder}{gap}. " + (
            "That is what this story brings." if letter == right else
            "This story by itself does not bring that.")
    return Reasons(why, why[right])


def _with_gap(cause: Cause) -> str:
    return f" with a {cause.gap} gap" if cause.disorder == METABOLIC_ACIDOSIS else ""
