"""Patients for questions about oxygen, and what a reader says of each."""
from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise
from typing import Any

from acidbase_lib.reading.priority.scene import Option
from acidbase_lib.reading.settings_in_force import in_force
from acidbase_lib.teaching.explanations.reading_steps import belief
from acidbase_lib.teaching.misconceptions.catalog import MISCONCEPTIONS, SOUND, Beliefs
from acidbase_lib.teaching.patients.cases import Case
from acidbase_lib.teaching.patients.oxygen_cases import OxygenCase, draw_oxygen_case
from acidbase_lib.teaching.questions.exercise import Answers
from acidbase_lib.teaching.questions.fields import Field
from acidbase_lib.teaching.questions.question_file import Question, UnitError
from acidbase_lib.teaching.seeded_random import SeededRandom

from .parts import kept

#: Where the gradient would be a matter of rounding, another patient is drawn. [mmHg]
CLEAR_OF_LIMIT = 4.0
_REDRAWS = 40


def targets() -> tuple[Option, ...]:
    """Ways of giving oxygen: toward the low target, the usual one, without one, or none at all."""
    school = in_force()
    return (*(Option(f"Oxygen brought up in steps toward {aim} %", "oxygen titrated",
                     target=(aim.low, aim.high))
              for aim in (school.oxygen_target_co2_risk, school.oxygen_target)),
            Option("As much oxygen as there is, without a target", "oxygen up"),
            Option("No added oxygen, because it may raise carbon dioxide", "oxygen withheld"))


def one_of(question: Question, draw: SeededRandom, tail: str = "", *,
         target: bool = False) -> OxygenCase:
    """One of the question's wishes."""
    return draw_oxygen_case(**_wish(draw.pick(question.wishes)), seed=f"{draw.seed}{tail}",
                            target=target)


def telling(question: Question, draw: SeededRandom, asked: Sequence[Field]) -> OxygenCase:
    """A patient for whom every part has an answer, and on whom the ideas of `tells` show."""
    ideas = [MISCONCEPTIONS[name] for name in question.more.get("tells", ())]
    for attempt in range(_REDRAWS):
        found = one_of(question, draw, f"|{attempt}")
        key = kept_of(SOUND.read(found.case.gas), asked)
        if len(key) == len(asked) and all(kept_of(idea.read(found.case.gas), asked) != key
                                          for idea in ideas):
            return found
    raise UnitError(f"{question.id}: no patient of these wishes answers every part. Name another "
                    "wish.")


def several_of(question: Question, draw: SeededRandom, *, target: bool = False,
             decided: bool = False) -> list[OxygenCase]:
    """All of the question's wishes, no history twice; with `decided` all are short of oxygen."""
    found: list[OxygenCase] = []
    for number, wish in enumerate(question.wishes):
        whys = tuple(one.story.vignette.id for one in found)
        able = (draw_oxygen_case(**_wish(wish), seed=f"{draw.seed}|{number}|{i}", target=target,
                                 avoid=whys) for i in range(_REDRAWS))
        aims = targets()[:2]
        one = next((one for one in able if not decided
                    or SOUND.choose(one.scene, aims) is not None), None)
        if one is None and in_force().changed:  # a school's target may lie below a PaO2 that is low
            worse = {**_wish(wish), "shows": "type 1"}
            one = next((one for i in range(_REDRAWS) if SOUND.choose((one := draw_oxygen_case(
                **worse, seed=f"{draw.seed}|{number}|{i}", target=target, avoid=whys)).scene,
                aims) is not None), None)
        if one is None:
            raise UnitError(f"{question.id}: wish {number + 1} brings nobody short of oxygen.")
        found.append(one)
    return found


def spread(question: Question, draw: SeededRandom) -> list[Case]:
    """Patients on oxygen whose ratios lie well apart, in another order than their PaO2."""
    for attempt in range(200):
        cases = [draw_oxygen_case(**_wish(wish), seed=f"{draw.seed}|{attempt}|{n}").case
                 for n, wish in enumerate(question.wishes)]
        ratios = sorted(ratio_of(SOUND.read(case.gas)) for case in cases)
        by_ratio = sorted(cases, key=lambda case: ratio_of(SOUND.read(case.gas)))
        by_pao2 = sorted(cases, key=lambda case: float(case.gas.pao2 or 0))
        steps = (b - a for a, b in pairwise(ratios))
        pressures = {case.gas.pao2 for case in cases}
        if min(steps) >= 25 and by_ratio != by_pao2 and len(pressures) == len(cases):
            return draw.shuffled(cases)
    raise UnitError(f"{question.id}: no patients were found whose ratios lie well apart. "
                    "Name other inspired fractions.")


def _wish(wish: Any) -> dict[str, Any]:
    return dict(wish)


def clear(found: OxygenCase) -> bool:
    """Whether the gradient is far enough from its limit to be judged."""
    reading = found.case.reading.oxygenation
    if reading is None or reading.gradient is None or reading.gradient_limit is None:
        return False
    return abs(reading.gradient - reading.gradient_limit) >= CLEAR_OF_LIMIT


def said_of_oxygen(beliefs: Beliefs, name: str) -> str | None:
    oxygen = beliefs.oxygen
    if name == "failure":
        return oxygen.failure if oxygen else None
    if name == "PaO2":
        return oxygen.state if oxygen else None
    return belief(beliefs, name)


def kept_of(beliefs: Beliefs, asked: Sequence[Field]) -> Answers:
    return kept({f.name: said_of_oxygen(beliefs, f.name) for f in asked}, asked)


def ratio_of(beliefs: Beliefs) -> float:
    oxygen = beliefs.oxygen
    return oxygen.ratio if oxygen and oxygen.ratio else 0.0
