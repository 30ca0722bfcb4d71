"""Practice on the response: the word for compensation, and one disorder or two."""
from __future__ import annotations

from types import MappingProxyType
from typing import Any, Final

from acidbase_lib.reading.blood_gas import BloodGas
from acidbase_lib.reading.disorders import (
    FULL,
    METABOLIC_ACIDOSIS,
    METABOLIC_ALKALOSIS,
    MIXED_ACIDOSIS,
    MIXED_ALKALOSIS,
    PARTIAL,
    RESPIRATORY_ACIDOSIS,
    RESPIRATORY_ALKALOSIS,
    UNCOMPENSATED,
)
from acidbase_lib.reading.interpretation import interpret
from acidbase_lib.reading.kilopascal import pressure
from acidbase_lib.teaching.explanations.response_steps import compensation_steps
from acidbase_lib.teaching.misconceptions.catalog import SOUND, Beliefs
from acidbase_lib.teaching.recipes.beyond import ONE, TWO
from acidbase_lib.teaching.recipes.response import response_because

from .topic import PracticeStep, RequestWords, Topic

_WORDED: Final = {word: f"{'an' if word == UNCOMPENSATED else 'a'} {word} disorder"
                  for word in (UNCOMPENSATED, PARTIAL, FULL)}
_SAME_WAY: Final = "Both values push the pH the same way, so neither of them answers the other."


def _wish(disorder: str, **more: Any) -> RequestWords:
    return MappingProxyType({"disorder": disorder, **more})


def _compensation(beliefs: Beliefs) -> str | None:
    return _WORDED.get(beliefs.compensation)


def _steps(gas: BloodGas) -> tuple[str, ...]:
    return compensation_steps(SOUND.read(gas), gas)


def _word_falls(gas: BloodGas, choice: str) -> str:
    sound = SOUND.read(gas)
    helper = sound.hco3 if (sound.disorder or "").startswith("respiratory") else sound.paco2
    if choice == _WORDED[FULL]:
        return f"the pH is {gas.ph:.2f}, not back in its range."
    if choice == _WORDED[UNCOMPENSATED]:
        return "the helper has left its range, so there is a response."
    return ("the helper is still in its range." if helper == "normal" else
            f"the pH is {gas.ph:.2f}, back in its range.")


def _how_many(beliefs: Beliefs) -> str:
    return TWO if len(beliefs.processes) > 1 else ONE


def _why_so_many(gas: BloodGas) -> tuple[str, ...]:
    reading = interpret(gas)
    if reading.lead is None:
        sound = SOUND.read(gas)
        return (f"PaCO2 is {pressure(gas.paco2)}: {sound.paco2}. Bicarbonate is {gas.hco3:.0f} "
                f"mmol/L: {sound.hco3}.", _SAME_WAY)
    if reading.lead.startswith("metabolic"):
        return response_because(gas)
    expected = reading.expected
    assert expected is not None
    arms = " ".join(f"{_WHEN[arm.when]} {arm.low:.0f} to {arm.high:.0f} mmol/L."
                    for arm in expected)
    between = not any(arm.contains(gas.hco3) for arm in expected)
    return (f"The lead is {reading.lead}. Bicarbonate is expected at these values:", arms,
            f"It is {gas.hco3:.0f} mmol/L. " + (
                "No history puts it there: a second disorder." if len(reading.processes) > 1 else
                "It lies between the two: a part is old and a part is new. One disorder explains "
                "it." if between else "One disorder explains it; the history says since when."))


_WHEN: Final = {"if acute": "After hours,", "if chronic": "After days,"}


def _number_falls(gas: BloodGas, choice: str) -> str:
    if choice == ONE:
        return ("the value that should answer is not where one disorder would put it."
                if interpret(gas).lead else _SAME_WAY)
    return "one disorder puts both values where they are."


COMPENSATION: Final = Topic(
    name="compensation",
    question="What kind of disorder does this gas show?",
    choices=tuple(_WORDED.values()),
    steps=(
        PracticeStep("The helper is clearly in its range, or clearly out of it.", (
            _wish(RESPIRATORY_ACIDOSIS, compensation=UNCOMPENSATED, severity="mild"),
            _wish(RESPIRATORY_ALKALOSIS, compensation=UNCOMPENSATED, severity="mild"),
            _wish(METABOLIC_ACIDOSIS, compensation=PARTIAL, severity="severe"),
            _wish(RESPIRATORY_ACIDOSIS, compensation=PARTIAL, chronic=True, severity="severe"))),
        PracticeStep("Some have a pH in range.", (
            _wish(RESPIRATORY_ACIDOSIS, compensation=FULL, chronic=True),
            _wish(RESPIRATORY_ALKALOSIS, compensation=FULL, chronic=True),
            _wish(METABOLIC_ALKALOSIS, compensation=FULL),
            _wish(METABOLIC_ALKALOSIS, compensation=PARTIAL),
            _wish(RESPIRATORY_ACIDOSIS, compensation=UNCOMPENSATED))),
        PracticeStep("Some numbers lie right at the edge of a range.", (
            _wish(RESPIRATORY_ACIDOSIS, compensation=FULL, borderline=True),
            _wish(METABOLIC_ACIDOSIS, compensation=PARTIAL, borderline=True),
            _wish(METABOLIC_ALKALOSIS, compensation=PARTIAL, borderline=True),
            _wish(RESPIRATORY_ALKALOSIS, compensation=UNCOMPENSATED, borderline=True))),
    ),
    believe=_compensation,
    explain=_steps,
    falls=_word_falls,
)

ONE_OR_TWO: Final = Topic(
    name="one disorder or two",
    question="How many disorders does this gas show?",
    choices=(ONE, TWO),
    steps=(
        PracticeStep("Where there are two, both push the same way.", (
            _wish(MIXED_ACIDOSIS), _wish(MIXED_ALKALOSIS),
            _wish(METABOLIC_ACIDOSIS, compensation=PARTIAL, severity="moderate"),
            _wish(RESPIRATORY_ACIDOSIS, compensation=PARTIAL, chronic=True))),
        PracticeStep("Where there are two, the helper is still in its range.", (
            _wish(METABOLIC_ACIDOSIS, compensation=UNCOMPENSATED, severity="moderate",
                  second=RESPIRATORY_ACIDOSIS),
            _wish(METABOLIC_ACIDOSIS, compensation=PARTIAL, severity="moderate"),
            _wish(METABOLIC_ALKALOSIS, compensation=PARTIAL))),
        PracticeStep("Where there are two, the helper has moved, too little or too much.", (
            _wish(METABOLIC_ACIDOSIS, compensation=PARTIAL, second=RESPIRATORY_ACIDOSIS),
            _wish(METABOLIC_ACIDOSIS, compensation=PARTIAL, second=RESPIRATORY_ALKALOSIS),
            _wish(METABOLIC_ACIDOSIS, compensation=PARTIAL, severity="severe"),
            _wish(METABOLIC_ACIDOSIS, compensation=PARTIAL, severity="moderate"))),
    ),
    believe=_how_many,
    explain=_why_so_many,
    falls=_number_falls,
)
