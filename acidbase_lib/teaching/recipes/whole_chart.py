"""The recipe of a whole chart: one patient, every step of the reading, one mark a line."""
from __future__ import annotations

from dataclasses import replace
from typing import Final

from acidbase_lib.reading.disorders import (
    MIXED_ACIDOSIS,
    MIXED_ALKALOSIS,
    NORMAL,
    UNCOMPENSATED,
)
from acidbase_lib.reading.interpretation import interpret
from acidbase_lib.reading.kilopascal import in_both_units
from acidbase_lib.teaching.explanations.reading_steps import direction
from acidbase_lib.teaching.feedback.gas_reasons import standard_told
from acidbase_lib.teaching.feedback.option_reasons import Reasons
from acidbase_lib.teaching.misconceptions.beliefs import NONE
from acidbase_lib.teaching.misconceptions.catalog import Beliefs, Reader
from acidbase_lib.teaching.patients.cases import Case
from acidbase_lib.teaching.questions.exercise import Answers, Exercise
from acidbase_lib.teaching.questions.fields import STANDARD_FIELDS, Choice, Field, ToldBy
from acidbase_lib.teaching.questions.question_file import Question
from acidbase_lib.teaching.seeded_random import SeededRandom

from .parts import make_exercise, one_case

NO_NAME: Final = "no single name"
NOT_ASKED: Final = "does not apply"  # the compensation of a normal or a mixed gas

def _but(word: str, choice: Choice) -> Choice:
    return replace(choice, also=tuple(other for other in choice.also if other != word))


CHART_FIELDS: Final = (
    STANDARD_FIELDS["pH"], STANDARD_FIELDS["bicarbonate"], STANDARD_FIELDS["direction"],
    STANDARD_FIELDS["PaCO2"],
    Field("disorder", "one", (
        *STANDARD_FIELDS["disorder"].choices,
        Choice(MIXED_ACIDOSIS, also=("mixed acidosis",)),
        Choice(MIXED_ALKALOSIS, also=("mixed alkalosis",)),
        Choice(NORMAL, also=("normal gas", "no disorder")),
        Choice(NO_NAME, also=("no name",))), also=("name", "primary disorder")),
    Field("compensation", "one", (
        Choice(NOT_ASKED, also=("not asked", "not applicable", "n/a")),
        *(_but("none", choice) for choice in STANDARD_FIELDS["compensation"].choices)),
        also=STANDARD_FIELDS["compensation"].also, told_by=ToldBy(
            # "none" is "uncompensated" wherever the word applies, as in units 2 and 3
            "none", "disorder", (MIXED_ACIDOSIS, MIXED_ALKALOSIS, NORMAL, NO_NAME),
            NOT_ASKED, UNCOMPENSATED)),
    Field("processes", "one", (
        Choice("none", also=("0", "zero")), Choice("one", also=("1",)),
        Choice("two", also=("2", "two processes"))), also=("how many processes",)),
)


_ALL_IN_RANGE: Final = "All three numbers are in their ranges: none of them shows a process."
_COUNT_FAILS: Final = {
    "none": "At least one number has left its range, and something has moved it.",
    "one": "One process does not put both PaCO2 and bicarbonate where they are.",
    "two": "One process, and the answer that it calls for, put both values where they are."}


def chart_the_patient(question: Question, draw: SeededRandom) -> Exercise:
    """One patient, charted from the pH to the number of processes."""
    case = one_case(question, draw)

    def solve(reader: Reader) -> Answers:
        return charted(reader.read(case.gas))

    return make_exercise(question, "several parts", CHART_FIELDS, [case], solve,
                         because=_because(case), whys=chart_told(case))


def chart_told(case: Case) -> dict[str, Reasons]:
    """What is told of each of the seven lines."""
    whys = {field.name: standard_told(field.name, case.gas, field.words)
            for field in CHART_FIELDS[:-1]}
    count = len(case.reading.processes)
    found = " and ".join(case.reading.processes) or "no process"
    settles = f"The rules find {found}."
    why = {word: settles if n == count else _COUNT_FAILS[word] for n, word in enumerate(
        ("none", "one", "two"))}
    if count == 0:
        why |= dict.fromkeys(("one", "two"), _ALL_IN_RANGE)
    return whys | {"processes": Reasons(why, settles)}


def charted(beliefs: Beliefs) -> dict[str, str]:
    """What somebody who believes this writes into the seven lines."""
    return {
        "pH": beliefs.ph,
        "bicarbonate": beliefs.hco3,
        "direction": direction(beliefs),
        "PaCO2": beliefs.paco2,
        "disorder": beliefs.disorder or NO_NAME,
        "compensation": NOT_ASKED if beliefs.compensation == NONE else beliefs.compensation,
        "processes": ("none", "one", "two")[min(len(beliefs.processes), 2)],
    }


def _because(case: Case) -> tuple[str, ...]:
    _can_it_exist, *asked, _how_soon = interpret(case.gas).steps
    return tuple(in_both_units(f"{step.question} {step.finding} {step.because}", case.gas)
                 for step in asked)
