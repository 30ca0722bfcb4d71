"""A question with everything that was read out of it, and keys that are a number or a state."""
from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass

from acidbase_lib.physiology.compensation_defaults import paco2_winters1967
from acidbase_lib.physiology.quantities import QuantityError
from acidbase_lib.reading.interpretation import Interpretation, interpret
from acidbase_lib.reading.lab_settings import LabSettings
from acidbase_lib.teaching.handwritten.question_sheet import WrittenOption, WrittenQuestion

from .findings import MUST, THOUGHT, Finding
from .meaning import AskedKind, Meaning, asks
from .numbers import tidy
from .sample import Sample, StemNumbers


@dataclass(frozen=True, slots=True)
class Asked:
    """A question with everything that was read out of it."""

    question: WrittenQuestion
    kind: AskedKind
    numbers: StemNumbers
    meanings: tuple[Meaning, ...]
    settings: LabSettings

    @property
    def pairs(self) -> tuple[tuple[WrittenOption, Meaning], ...]:
        """Each option with its meaning."""
        return tuple(zip(self.question.options, self.meanings, strict=True))

    @property
    def sample(self) -> Sample | None:
        """The sample that the question is about."""
        return self.numbers.last

    @property
    def reading(self) -> Interpretation | None:
        """The reading of that sample, where its numbers make a gas that can exist."""
        gas = self.sample.gas if self.sample else None
        if gas is None:
            return None
        reading = interpret(gas, self.settings)
        return reading if reading.consistency.possible else None

    def is_key(self, option: WrittenOption) -> bool:
        """Whether an option belongs to the key."""
        return option.letter in self.question.right

    @property
    def key_line(self) -> int:
        """The line on which the key is given."""
        return self.question.right_line or self.question.line


# --- a number -------------------------------------------------------------------------------------

def computed(asked: Asked) -> tuple[str, float, float] | None:
    """What a question with numbers for options asks: (name, value, tolerance), or None."""
    sample, words = asked.sample, tidy(asks(asked.question)).lower()
    if sample is None:
        return None
    every = {key: one.canonical for key, one in sample.found.items()}
    if "gap" in words and {"sodium", "chloride", "hco3"} <= set(every):
        value = every["sodium"] - every["chloride"] - every["hco3"]
        if asked.settings.anion_gap_with_potassium and "potassium" in every:
            value += every["potassium"]
        return "the anion gap", value, 0.5
    expects = re.search(r"expect|winters|predict|should|appropriate", words)
    if expects and re.search(r"p\s?a?co2|carbon dioxide|winters", words) and "hco3" in every:
        try:
            return "the expected PaCO2", paco2_winters1967(every["hco3"]).center, 2.0
        except QuantityError:
            return None
    if re.search(r"p/f|pao2\s*/\s*fio2|pao2[- ]to[- ]fio2", words) \
            and {"pao2", "fio2"} <= set(every):
        return "PaO2/FiO2", every["pao2"] / every["fio2"], 3.0
    return None


def check_number(asked: Asked) -> Iterator[Finding]:
    task = computed(asked)
    if task is None and (row := _range_asked(asked)):
        yield from _against_range(asked, row)
        return
    if task is None:
        if re.search(r"gap|winters|p/f|fio2|gradient", tidy(asks(asked.question)), re.I):
            return  # audit_needs says what is missing
        yield Finding(THOUGHT, "not recomputed", asked.key_line,
                      "The check does not know how to work out this number, so the key was not "
                      "recomputed.", "Have a colleague work it out.")
        return
    name, value, tolerance = task
    fits = {option.letter: meaning.number[0] - tolerance - 1e-9 <= value
            <= meaning.number[1] + tolerance + 1e-9
            for option, meaning in asked.pairs if meaning.number is not None}
    band = f"{value:.0f}" + (f" ± {tolerance:g}" if tolerance >= 1 else "")
    for option, _ in asked.pairs:
        if asked.is_key(option) and not fits.get(option.letter, True):
            better = [letter for letter, fit in fits.items() if fit]
            yield Finding(MUST, "wrong key", asked.key_line,
                          f"The key is {option.letter} ({option.text}), and {name} is {band}.",
                          f"Write 'right: {better[0]}'." if len(better) == 1
                          else f"Write {value:.0f} in option {option.letter}.")
        elif not asked.is_key(option) and fits.get(option.letter) and any(
                fits.get(letter) for letter in asked.question.right):
            yield Finding(MUST, "more than one right answer", option.line,
                          f"Option {option.letter} ({option.text}) is right as well: {name} is "
                          f"{band}.", "Move it further away.", "Haladyna2002")


_RANGED = (("ph", r"\bph\b"), ("paco2", r"p\s?a?co2|carbon dioxide"), ("hco3", r"hco3|bicarb"),
           ("pao2", r"p\s?a?o2"), ("sao2", r"s\s?a?o2|saturation"))


def _range_asked(asked: Asked) -> str:
    """The quantity whose normal range is asked for, or nothing."""
    words = tidy(asks(asked.question)).lower()
    if not re.search(r"\b(?:normal|reference|usual)\b.*\b(?:ranges?|values?|limits)\b", words):
        return ""
    named = [key for key, pattern in _RANGED if re.search(pattern, words)]
    return named[0] if len(named) == 1 else ""


def _against_range(asked: Asked, key: str) -> Iterator[Finding]:
    """Ranges differ between laboratories; only one whose middle lies outside ours is wrong."""
    ours, kpa = getattr(asked.settings, key), 7.50062
    for option, meaning in asked.pairs:
        if meaning.number is None or not asked.is_key(option):
            continue
        factor = kpa if re.search(r"kpa", option.text, re.I) else 1.0
        if not ours.low <= factor * sum(meaning.number) / 2 <= ours.high:
            yield Finding(MUST, "wrong key", asked.key_line,
                          f"The key is {option.letter} ({option.text}), and the range is "
                          f"{asked.settings.text(key)}.", "Key the option with this range.",
                          "NursingRanges")


# --- low, normal or high --------------------------------------------------------------------------

def state_asked(asked: Asked) -> tuple[str, str] | None:
    """Which quantity is asked about and its state, where that can be read."""
    reading, words = asked.reading, tidy(asks(asked.question)).lower()
    if reading is None:
        return None
    states = {"ph": {"acidemia": "low", "normal": "normal", "alkalemia": "high"}[reading.ph_state],
              "paco2": reading.paco2_state, "hco3": reading.hco3_state}
    named = [key for key, pattern in (("ph", r"\bph\b"), ("paco2", r"p\s?a?co2|carbon dioxide"),
                                      ("hco3", r"hco3|bicarb")) if re.search(pattern, words)]
    return (named[0], states[named[0]]) if len(named) == 1 else None


def check_state(asked: Asked) -> Iterator[Finding]:
    task = state_asked(asked)
    if task is None:
        return
    for option, meaning in asked.pairs:
        if asked.is_key(option) and meaning.state and meaning.state != task[1]:
            right = [one.letter for one, read in asked.pairs if read.state == task[1]]
            yield Finding(MUST, "wrong key", asked.key_line,
                          f"The key is {option.letter} ({option.text}), and by "
                          f"{asked.settings.text(task[0])} the value is {task[1]}.",
                          f"Write 'right: {right[0]}'." if right else f"Offer '{task[1]}'.",
                          "NursingRanges")
