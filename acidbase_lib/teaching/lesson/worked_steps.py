"""Worked readings step by step: the first is shown, the next has blanks, the last is all blanks."""
from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

from acidbase_lib.reading.blood_gas import BloodGas
from acidbase_lib.reading.disorders import DISORDERS
from acidbase_lib.reading.kilopascal import pressure
from acidbase_lib.teaching.explanations.reading_steps import disorder_of
from acidbase_lib.teaching.explanations.response_steps import compensation_steps
from acidbase_lib.teaching.misconceptions.catalog import SOUND
from acidbase_lib.teaching.questions.fields import STANDARD_FIELDS

_STATES = {"low": "low", "normal": "in range", "high": "high"}
_SIDES = {"low": "The blood is too acid: both alkaloses are out.",
          "high": "The blood is too alkaline: both acidoses are out.",
          "normal": "Neither too acid nor too alkaline."}


@dataclass(frozen=True, slots=True)
class WorkedStep:
    """One step of a reading: what it asks, what may be answered, the answer, and the line told."""

    asks: str
    choices: tuple[str, ...]
    key: str
    reason: str


@dataclass(frozen=True, slots=True)
class WorkedReading:
    """One patient's reading in steps, the last `blanks` of which are left to the reader."""

    title: str
    gas: BloodGas
    steps: tuple[WorkedStep, ...]
    blanks: int


def steps_to_the_name(gas: BloodGas) -> tuple[WorkedStep, ...]:
    """Read pH, bicarbonate, the name and PaCO2 in turn, where all three have left their range."""
    beliefs = SOUND.read(gas)
    name = disorder_of(beliefs) or "no single name"
    way = "the same way" if beliefs.ph == beliefs.hco3 else "opposite ways"
    lungs = "opposite to pH" if {beliefs.ph, beliefs.paco2} == {"low", "high"} else \
        "not opposite to pH"
    says = ("The lungs explain the pH." if lungs == "opposite to pH" else
            "The lungs do not explain the pH.")
    return (
        WorkedStep("Is the pH low, in range or high?", tuple(_STATES.values()),
                   _STATES[beliefs.ph],
                   f"pH {gas.ph:.2f} is {_STATES[beliefs.ph]}. {_SIDES[beliefs.ph]}"),
        WorkedStep("Which way did bicarbonate move, compared with pH?",
                   ("the same way", "opposite ways"), way,
                   f"Bicarbonate {gas.hco3:.0f} mmol/L is {_STATES[beliefs.hco3]}: {way}."),
        WorkedStep("Which name do the two directions give?", DISORDERS, name,
                   f"The pH is {_STATES[beliefs.ph]} and they moved {way}: {name}."),
        WorkedStep("Where did PaCO2 move?", ("opposite to pH", "not opposite to pH"), lungs,
                   f"PaCO2 {pressure(gas.paco2)} is {_STATES[beliefs.paco2]}, {lungs}. {says} "
                   "That fits the name."),
    )


def steps_to_the_word(gas: BloodGas) -> tuple[WorkedStep, ...]:
    """Read pH, cause, helper and the word for compensation in turn."""
    beliefs = SOUND.read(gas)
    reason = compensation_steps(beliefs, gas)
    cause = "PaCO2" if str(beliefs.disorder).startswith("respiratory") else "bicarbonate"
    helper_state = beliefs.hco3 if cause == "PaCO2" else beliefs.paco2
    return (
        WorkedStep("Is the pH low, in range or high?", tuple(_STATES.values()),
                   _STATES[beliefs.ph], reason[0]),
        WorkedStep("Which value pushed the pH: which is the cause?", ("PaCO2", "bicarbonate"),
                   cause, reason[1]),
        WorkedStep("Has the helper left its range to help?", ("yes", "no"),
                   "no" if helper_state == "normal" else "yes", reason[2]),
        WorkedStep("Which word is it?", STANDARD_FIELDS["compensation"].words,
                   str(beliefs.compensation), reason[3]),
    )


def fading(patients: Sequence[tuple[str, BloodGas]],
           steps_of: Callable[[BloodGas], tuple[WorkedStep, ...]]) -> tuple[WorkedReading, ...]:
    """Return readings with more and more blanks: none, half of the steps, all of them."""
    made = []
    for place, (title, gas) in enumerate(patients):
        steps = steps_of(gas)
        share = place / max(1, len(patients) - 1)
        made.append(WorkedReading(title, gas, steps, round(share * len(steps))))
    return tuple(made)


class Walk:
    """One reader's way through worked readings, a press at a time."""

    def __init__(self, readings: Sequence[WorkedReading]) -> None:
        self.readings = tuple(readings)
        self.at = self.reached = 0
        self.said: list[str] = []

    @property
    def reading(self) -> WorkedReading:
        """The reading at hand."""
        return self.readings[self.at]

    @property
    def complete(self) -> bool:
        """Whether every step of this reading has been shown."""
        return self.reached == len(self.reading.steps)

    @property
    def blank(self) -> bool:
        """Whether the next step is left to the reader."""
        steps = self.reading.steps
        return not self.complete and self.reached >= len(steps) - self.reading.blanks

    def go_on(self, choice: str = "") -> None:
        """Show the next step, after an answer where it is a blank; then the next patient."""
        if self.complete:
            if self.at + 1 < len(self.readings):
                self.at, self.reached, self.said = self.at + 1, 0, []
            return
        step = self.reading.steps[self.reached]
        if self.blank:
            if choice not in step.choices:
                return
            verdict = "Right." if choice == step.key else f"Not {choice}."
            self.said.append(f"{verdict} {step.reason}")
        else:
            self.said.append(step.reason)
        self.reached += 1
