"""Recipes about oxygen: read it, work out the gradient, sort, order by ratio, choose the target."""
from __future__ import annotations

import re
from collections.abc import Sequence
from itertools import pairwise
from typing import Any

from acidbase_lib.reading.priority.scene import Option, Scene
from acidbase_lib.reading.sources import SOURCES
from acidbase_lib.teaching.explanations.gas_table import gas_line
from acidbase_lib.teaching.explanations.oxygen_steps import (
    first_oxygen_slip,
    oxygen_because,
    oxygen_steps,
)
from acidbase_lib.teaching.explanations.reading_steps import belief
from acidbase_lib.teaching.misconceptions.catalog import MISCONCEPTIONS, SOUND, Beliefs, Reader
from acidbase_lib.teaching.patients.cases import Case
from acidbase_lib.teaching.patients.oxygen_cases import OxygenCase, draw_oxygen_case
from acidbase_lib.teaching.questions.exercise import Answers, Exercise, ExerciseKind
from acidbase_lib.teaching.questions.fields import STANDARD_FIELDS, Choice, Field, lettered
from acidbase_lib.teaching.questions.question_file import Question, UnitError
from acidbase_lib.teaching.seeded_random import SeededRandom

from .parts import kept, make_exercise, planted_among

FAILURE = Field("failure", "one", (
    Choice("none", also=("no", "no failure", "no respiratory failure")),
    Choice("type 1", also=("1", "type one", "hypoxemic")),
    Choice("type 2", also=("2", "type two", "hypercapnic"))),
    also=("respiratory failure", "type"))
OXYGEN = Field("PaO2", "one", STANDARD_FIELDS["PaO2"].choices, also=("po2", "oxygen"))
GRADIENT = Field("gradient", "number", unit="mmHg", also=("A-a gradient", "a-a"))
WIDTH = Field("at this age", "one", (Choice("normal", also=("in range",)),
                                      Choice("wide", also=("high", "too wide"))),
              also=("width", "gradient is"))
FIELDS = {field.name: field for field in (FAILURE, OXYGEN)}

#: Where the gradient would be a matter of rounding, another patient is drawn. [mmHg]
CLEAR_OF_LIMIT = 4.0
_REDRAWS = 40
WITHIN = 3.0  # of a gradient: 150 for 149.7, and PaCO2 x 1.2 for PaCO2 / 0.8 [mmHg]

TARGETS = (
    Option("Oxygen brought up in steps toward 88–92 %", "oxygen titrated", target=(88, 92)),
    Option("Oxygen brought up in steps toward 94–98 %", "oxygen titrated", target=(94, 98)),
    Option("As much oxygen as there is, without a target", "oxygen up"),
    Option("No added oxygen, because it may raise carbon dioxide", "oxygen withheld"),
)


def read_the_oxygen(question: Question, draw: SeededRandom, place: int) -> Exercise:
    """One patient; one mark for each of `parts`: PaO2, PaCO2, failure, disorder."""
    asked = tuple(FIELDS.get(name) or STANDARD_FIELDS[name] for name in question.more["parts"])
    found = _telling(question, draw, asked)
    kind: ExerciseKind = "choose one" if len(asked) == 1 else "several parts"
    steps = "\n".join(f"{n}. {step}" for n, step in enumerate(
        oxygen_steps(SOUND.read(found.case.gas), found.case.gas)[:2], start=1))
    return make_exercise(question, kind, asked, [found.case],
                         lambda reader: _kept(reader.read(found.case.gas), asked),
                         because=oxygen_because(found.case.gas), found=steps)


def work_out_the_gradient(question: Question, draw: SeededRandom, place: int) -> Exercise:
    """One patient on room air; the A-a gradient in mmHg, and whether it is wide for the age."""
    found = next((c for i in range(_REDRAWS) if _clear(c := _one(question, draw, f"|{i}"))), None)
    if found is None:
        raise UnitError(f"{question.id}: every gradient lies beside its limit. Name another wish.")
    gas = found.case.gas

    def solve(reader: Reader) -> Answers:
        oxygen = reader.read(gas).oxygen
        if oxygen is None or oxygen.gradient is None or oxygen.width is None:
            return {}
        return {"gradient": float(round(oxygen.gradient)), "at this age": oxygen.width}

    return make_exercise(question, "several parts", (GRADIENT, WIDTH), [found.case], solve,
                         because=oxygen_because(gas)[-1:], within={"gradient": WITHIN},
                         age=f"{gas.age:.0f}")


def sort_by_failure(question: Question, draw: SeededRandom, place: int) -> Exercise:
    """Several patients on room air; the type of failure of each."""
    found = draw.shuffled(_several(question, draw))
    cases = [one.case for one in found]
    asked = tuple(Field(f"patient {n}", "one", FAILURE.choices) for n in range(1, len(cases) + 1))

    def solve(reader: Reader) -> Answers:
        return kept({f.name: _said(reader.read(case.gas), "failure")
                     for f, case in zip(asked, cases, strict=True)}, asked)

    rows = _rows(asked, cases, question.more.get("shows", ("pH", "PaCO2", "PaO2")))
    because = tuple(f"{f.name.capitalize()}: {oxygen_because(case.gas)[1]}"
                    for f, case in zip(asked, cases, strict=True))
    return make_exercise(question, "grid", asked, cases, solve, because=because, patients=rows)


def order_by_ratio(question: Question, draw: SeededRandom, place: int) -> Exercise:
    """Several patients on oxygen; from the lungs that pass oxygen on worst to the best."""
    cases = _spread(question, draw)
    asked = Field("order", "order", lettered(
        gas_line(case.gas, ("PaO2", "inspired oxygen")) for case in cases))
    letters = dict(zip((case.seed for case in cases), asked.words, strict=True))

    def solve(reader: Reader) -> Answers:
        ratio = {case.seed: _ratio(reader.read(case.gas)) for case in cases}
        ordered = sorted(cases, key=lambda case: ratio[case.seed])
        return {"order": tuple(letters[case.seed] for case in ordered)}

    by_ratio = sorted(cases, key=lambda case: _ratio(SOUND.read(case.gas)))
    because = ("Divide PaO2 by the inspired fraction. The lower the ratio, the worse the lungs "
               "pass oxygen on.",
               "From the worst: " + ", ".join(
                   f"{letters[c.seed]} ({_ratio(SOUND.read(c.gas)):.0f})" for c in by_ratio) + ".")
    return make_exercise(question, "put in order", (asked,), cases, solve, because=because,
                         options=asked.choices)


def choose_the_target(question: Question, draw: SeededRandom, place: int) -> Exercise:
    """One patient short of oxygen; which saturation guidance aims at in a person like this."""
    options = draw.shuffled(TARGETS)
    found = next((one for i in range(_REDRAWS) if SOUND.choose(
        (one := _one(question, draw, f"|{i}", target=True)).scene, options) in TARGETS[:2]), None)
    if found is None:
        raise UnitError(f"{question.id}: these patients call for more than a target. Name another "
                        "wish.")
    asked = Field("answer", "one", lettered(option.text for option in options))

    def solve(reader: Reader) -> Answers:
        chosen = reader.choose(found.scene, options)
        return {"answer": asked.words[options.index(chosen)]} if chosen in options else {}

    return make_exercise(question, "choose one", (asked,), [found.case], solve,
                         because=_target_because(found.scene), options=asked.choices)


def all_at_risk(question: Question, draw: SeededRandom, place: int) -> Exercise:
    """Several patients; select every one in whom guidance aims at the low target.

    With `even_lengths` those are not the ones with the longest histories.
    """
    low = next(option for option in TARGETS if option.target == (88.0, 92.0))

    def at_risk(one: OxygenCase) -> bool:
        return SOUND.choose(one.scene, TARGETS[:2]) == low

    for attempt in range(_REDRAWS):
        found = draw.shuffled(_several(question, draw.branch(f"people {attempt}") if attempt else
                                       draw, target=True, decided=True))
        longest = sorted(found, key=lambda one: -len(_history(one.case)))
        most = longest[:sum(map(at_risk, found))]
        if not question.more.get("even_lengths") or 2 * sum(map(at_risk, most)) <= len(most) + 1:
            break
    asked = Field("answer", "many", lettered(_history(one.case) for one in found))

    def solve(reader: Reader) -> Answers:
        return {"answer": tuple(word for word, one in zip(asked.words, found, strict=True)
                                if reader.choose(one.scene, TARGETS[:2]) == low)}

    because = tuple(f"{word}: {one.case.cause}. The target is {one.scene.oxygen_target.text}."
                    for word, one in zip(asked.words, found, strict=True))
    because = (*because, f"Source: {SOURCES['BTSOxygen2017'].citation}")
    return make_exercise(question, "select all", (asked,), [one.case for one in found], solve,
                         because=because, options=asked.choices)


def find_the_oxygen_slip(question: Question, draw: SeededRandom, place: int) -> Exercise:
    """An oxygen reading in steps, or the first `steps` of it, with one slip; choose that step."""
    shown = question.more.get("steps", 4)
    slips = planted_among(question.more["slips"])
    for attempt in range(_REDRAWS):
        gas = (found := _one(question, draw, f"|{attempt}")).case.gas
        able = [m for m in slips
                if m is SOUND or (first_oxygen_slip(m.read(gas), SOUND.read(gas), gas) or 9) <= shown]
        if able and _clear(found):
            break
    else:
        raise UnitError(f"{question.id}: none of the slips {list(question.more['slips'])} shows on "
                        "these patients. Name another slip, or another wish.")
    planted = draw.pick(able)
    steps = oxygen_steps(planted.read(gas), gas)[:shown]
    asked = Field("first wrong step", "one", (
        *(Choice(str(n)) for n in range(1, len(steps) + 1)), Choice("none", also=("no slip",))),
        also=("step", "answer", "wrong step"))

    def solve(reader: Reader) -> Answers:
        slip = first_oxygen_slip(planted.read(gas), reader.read(gas), gas)
        return {"first wrong step": str(slip) if slip and slip <= shown else "none"}

    reading = "\n".join(f"{n}. {step}" for n, step in enumerate(steps, start=1))
    return make_exercise(question, "choose one", (asked,), [found.case], solve,
                         because=oxygen_because(gas)[:shown - 1], reading=reading)


def _one(question: Question, draw: SeededRandom, tail: str = "", *,
         target: bool = False) -> OxygenCase:
    """One of the question's wishes."""
    return draw_oxygen_case(**_wish(draw.pick(question.wishes)), seed=f"{draw.seed}{tail}",
                            target=target)


def _telling(question: Question, draw: SeededRandom, asked: Sequence[Field]) -> OxygenCase:
    """A patient for whom every part has an answer, and on whom the ideas of `tells` show."""
    ideas = [MISCONCEPTIONS[name] for name in question.more.get("tells", ())]
    for attempt in range(_REDRAWS):
        found = _one(question, draw, f"|{attempt}")
        key = _kept(SOUND.read(found.case.gas), asked)
        if len(key) == len(asked) and all(_kept(idea.read(found.case.gas), asked) != key
                                          for idea in ideas):
            return found
    raise UnitError(f"{question.id}: no patient of these wishes answers every part. Name another "
                    "wish.")


def _several(question: Question, draw: SeededRandom, *, target: bool = False,
             decided: bool = False) -> list[OxygenCase]:
    """All of the question's wishes, no history twice; with `decided` all are short of oxygen."""
    found: list[OxygenCase] = []
    for number, wish in enumerate(question.wishes):
        told = tuple(one.story.vignette.id for one in found)
        able = (draw_oxygen_case(**_wish(wish), seed=f"{draw.seed}|{number}|{i}", target=target,
                                 avoid=told) for i in range(_REDRAWS))
        one = next((one for one in able if not decided
                    or SOUND.choose(one.scene, TARGETS[:2]) is not None), None)
        if one is None:
            raise UnitError(f"{question.id}: wish {number + 1} brings nobody short of oxygen.")
        found.append(one)
    return found


def _spread(question: Question, draw: SeededRandom) -> list[Case]:
    """Patients on oxygen whose ratios lie well apart, in another order than their PaO2."""
    for attempt in range(200):
        cases = [draw_oxygen_case(**_wish(wish), seed=f"{draw.seed}|{attempt}|{n}").case
                 for n, wish in enumerate(question.wishes)]
        ratios = sorted(_ratio(SOUND.read(case.gas)) for case in cases)
        by_ratio = sorted(cases, key=lambda case: _ratio(SOUND.read(case.gas)))
        by_pao2 = sorted(cases, key=lambda case: float(case.gas.pao2 or 0))
        steps = (b - a for a, b in pairwise(ratios))
        pressures = {case.gas.pao2 for case in cases}
        if min(steps) >= 25 and by_ratio != by_pao2 and len(pressures) == len(cases):
            return draw.shuffled(cases)
    raise UnitError(f"{question.id}: no patients were found whose ratios lie well apart. "
                    "Name other inspired fractions.")


def _wish(wish: Any) -> dict[str, Any]:
    return dict(wish)


def _clear(found: OxygenCase) -> bool:
    """Whether the gradient is far enough from its limit to be judged."""
    reading = found.case.reading.oxygenation
    if reading is None or reading.gradient is None or reading.gradient_limit is None:
        return False
    return abs(reading.gradient - reading.gradient_limit) >= CLEAR_OF_LIMIT


# --- words ---------------------------------------------------------------------------------------

def _said(beliefs: Beliefs, name: str) -> str | None:
    oxygen = beliefs.oxygen
    if name == "failure":
        return oxygen.failure if oxygen else None
    if name == "PaO2":
        return oxygen.state if oxygen else None
    return belief(beliefs, name)


def _kept(beliefs: Beliefs, asked: Sequence[Field]) -> Answers:
    return kept({f.name: _said(beliefs, f.name) for f in asked}, asked)


def _ratio(beliefs: Beliefs) -> float:
    oxygen = beliefs.oxygen
    return oxygen.ratio if oxygen and oxygen.ratio else 0.0


def _rows(asked: Sequence[Field], cases: Sequence[Case], shows: Sequence[str]) -> str:
    return "\n".join(f"- **{f.name.capitalize()}**: {case.vignette} {gas_line(case.gas, shows)}."
                     for f, case in zip(asked, cases, strict=True))


def _history(case: Case) -> str:
    """The age and the heart of the history, without name and place: short enough for a list."""
    _, *told = case.vignette.split(". ")
    plain = re.sub(rf"\b{case.patient.first}\b", "the patient", ". ".join(told[:2])).rstrip(".")
    return f"Age {case.patient.age}. {re.sub('(^|[.] )t', lambda at: at[0].upper(), plain)}."


def _target_because(scene: Scene) -> tuple[str, ...]:
    from acidbase_lib.reading.priority.first_action import first_action

    aim = scene.oxygen_target
    others = (line.replace("Not first: ", "Not this: ")
              for line in str(first_action(scene, TARGETS)).splitlines()
              if line.startswith("Not first:"))
    return (f"{aim.because} Guidance aims at {aim.text}. Local protocol decides.", *others,
            f"Source: {SOURCES['BTSOxygen2017'].citation}")
