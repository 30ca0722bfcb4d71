"""Recipes about oxygen: read it, work out the gradient, sort, order by ratio, choose the target."""
from __future__ import annotations

import re
from collections.abc import Sequence

from acidbase_lib.reading.blood_gas import BloodGas
from acidbase_lib.reading.kilopascal import in_school_unit, school_unit
from acidbase_lib.reading.priority.scene import Scene
from acidbase_lib.reading.sources import SOURCES
from acidbase_lib.teaching.explanations.gas_table import gas_line
from acidbase_lib.teaching.explanations.oxygen_steps import (
    first_oxygen_slip,
    oxygen_because,
    oxygen_steps,
)
from acidbase_lib.teaching.feedback.gas_reasons import standard_told
from acidbase_lib.teaching.feedback.gas_set_reasons import slip_told
from acidbase_lib.teaching.feedback.option_reasons import Reasons
from acidbase_lib.teaching.feedback.oxygen_reasons import (
    failure_told,
    gradient_told,
    pao2_told,
    ratio_told,
    risk_told,
    target_told,
    urgent,
)
from acidbase_lib.teaching.misconceptions.catalog import SOUND, Reader
from acidbase_lib.teaching.patients.cases import Case
from acidbase_lib.teaching.patients.oxygen_cases import OxygenCase
from acidbase_lib.teaching.questions.exercise import Answers, Exercise, ExerciseKind
from acidbase_lib.teaching.questions.fields import STANDARD_FIELDS, Choice, Field, lettered
from acidbase_lib.teaching.questions.question_file import Question, UnitError
from acidbase_lib.teaching.seeded_random import SeededRandom

from .oxygen_patients import (
    clear,
    kept_of,
    one_of,
    ratio_of,
    said_of_oxygen,
    several_of,
    spread,
    targets,
    telling,
)
from .parts import kept, make_exercise, planted_among

FAILURE = Field("failure", "one", (
    Choice("none", also=("no", "no failure", "no respiratory failure")),
    Choice("type 1", also=("1", "type one", "hypoxemic")),
    Choice("type 2", also=("2", "type two", "hypercapnic"))),
    also=("respiratory failure", "type"))
OXYGEN = Field("PaO2", "one", STANDARD_FIELDS["PaO2"].choices, also=("po2", "oxygen"))
WIDTH = Field("at this age", "one", (Choice("normal", also=("in range",)),
                                      Choice("wide", also=("high", "too wide"))),
              also=("width", "gradient is"))
FIELDS = {field.name: field for field in (FAILURE, OXYGEN)}

_REDRAWS = 40
WITHIN = 3.0  # of a gradient: 150 for 149.7, and PaCO2 x 1.2 for PaCO2 / 0.8 [mmHg]


def read_the_oxygen(question: Question, draw: SeededRandom) -> Exercise:
    """One patient; one mark for each of `parts`: PaO2, PaCO2, failure, disorder."""
    asked = tuple(FIELDS.get(name) or STANDARD_FIELDS[name] for name in question.more["parts"])
    found = telling(question, draw, asked)
    kind: ExerciseKind = "choose one" if len(asked) == 1 else "several parts"
    steps = "\n".join(f"{n}. {step}" for n, step in enumerate(
        oxygen_steps(SOUND.read(found.case.gas), found.case.gas)[:2], start=1))
    return make_exercise(question, kind, asked, [found.case],
                         lambda reader: kept_of(reader.read(found.case.gas), asked),
                         because=oxygen_because(found.case.gas),
                         whys={f.name: _told(f, found.case.gas) for f in asked}, found=steps)


def work_out_the_gradient(question: Question, draw: SeededRandom) -> Exercise:
    """One patient on room air; the A-a gradient in mmHg, and whether it is wide for the age."""
    found = next((c for i in range(_REDRAWS) if clear(c := one_of(question, draw, f"|{i}"))), None)
    if found is None:
        raise UnitError(f"{question.id}: every gradient lies beside its limit. Name another wish.")
    gas = found.case.gas

    def solve(reader: Reader) -> Answers:
        oxygen = reader.read(gas).oxygen
        if oxygen is None or oxygen.gradient is None or oxygen.width is None:
            return {}
        return {"gradient": in_school_unit(float(round(oxygen.gradient))),
                "at this age": oxygen.width}

    whys = gradient_told(gas)
    gradient = Field("gradient", "number", unit=school_unit(), also=("A-a gradient", "a-a"))
    return make_exercise(question, "several parts", (gradient, WIDTH), [found.case], solve,
                         because=oxygen_because(gas)[-1:],
                         within={"gradient": in_school_unit(WITHIN)},
                         whys={"gradient": whys["gradient"], "at this age": whys["width"]},
                         age=f"{gas.age:.0f}")


def sort_by_failure(question: Question, draw: SeededRandom) -> Exercise:
    """Several patients on room air; the type of failure of each."""
    found = draw.shuffled(several_of(question, draw))
    cases = [one.case for one in found]
    asked = tuple(Field(f"patient {n}", "one", FAILURE.choices) for n in range(1, len(cases) + 1))

    def solve(reader: Reader) -> Answers:
        return kept({f.name: said_of_oxygen(reader.read(case.gas), "failure")
                     for f, case in zip(asked, cases, strict=True)}, asked)

    rows = _rows(asked, cases, question.more.get("shows", ("pH", "PaCO2", "PaO2")))
    because = tuple(f"{f.name.capitalize()}: {oxygen_because(case.gas)[1]}"
                    for f, case in zip(asked, cases, strict=True))
    whys = {f.name: failure_told(case.gas) for f, case in zip(asked, cases, strict=True)}
    return make_exercise(question, "grid", asked, cases, solve, because=because, whys=whys,
                         patients=rows)


def order_by_ratio(question: Question, draw: SeededRandom) -> Exercise:
    """Several patients on oxygen; from the lungs that pass oxygen on worst to the best."""
    cases = spread(question, draw)
    asked = Field("order", "order", lettered(
        gas_line(case.gas, ("PaO2", "inspired oxygen")) for case in cases))
    letters = dict(zip((case.seed for case in cases), asked.words, strict=True))

    def solve(reader: Reader) -> Answers:
        ratio = {case.seed: ratio_of(reader.read(case.gas)) for case in cases}
        ordered = sorted(cases, key=lambda case: ratio[case.seed])
        return {"order": tuple(letters[case.seed] for case in ordered)}

    by_ratio = sorted(cases, key=lambda case: ratio_of(SOUND.read(case.gas)))
    because = ("Divide PaO2 by the inspired fraction. The lower the ratio, the worse the lungs "
               "pass oxygen on.",
               "From the worst: " + ", ".join(
                   f"{letters[c.seed]} ({ratio_of(SOUND.read(c.gas)):.0f})"
                   for c in by_ratio) + ".")
    whys = ratio_told({letters[case.seed]: case.gas for case in cases})
    return make_exercise(question, "put in order", (asked,), cases, solve, because=because,
                         whys={"order": whys}, options=asked.choices)


def choose_the_target(question: Question, draw: SeededRandom) -> Exercise:
    """One patient short of oxygen; which saturation guidance aims at in a person like this."""
    aims = targets()
    options = draw.shuffled(aims)
    found = next((one for i in range(_REDRAWS) if SOUND.choose(
        (one := one_of(question, draw, f"|{i}", target=True)).scene, options) in aims[:2]), None)
    if found is None:
        raise UnitError(f"{question.id}: these patients call for more than a target. Name another "
                        "wish.")
    asked = Field("answer", "one", lettered(option.text for option in options))

    def solve(reader: Reader) -> Answers:
        chosen = reader.choose(found.scene, options)
        return {"answer": asked.words[options.index(chosen)]} if chosen in options else {}

    return make_exercise(question, "choose one", (asked,), [found.case], solve,
                         because=_target_because(found.scene),
                         whys={"answer": target_told(found.scene, options, asked.words)},
                         options=asked.choices)


def all_at_risk(question: Question, draw: SeededRandom) -> Exercise:
    """Several patients; select every one in whom guidance aims at the low target.

    With `even_lengths` those are not the ones with the longest histories.
    """
    aims = targets()[:2]
    low = aims[0]

    def at_risk(one: OxygenCase) -> bool:
        return SOUND.choose(one.scene, aims) == low

    for attempt in range(_REDRAWS):
        found = draw.shuffled(several_of(question, draw.branch(f"people {attempt}") if attempt else
                                       draw, target=True, decided=True))
        longest = sorted(found, key=lambda one: -len(_history(one.case)))
        most = longest[:sum(map(at_risk, found))]
        if not question.more.get("even_lengths") or 2 * sum(map(at_risk, most)) <= len(most) + 1:
            break
    asked = Field("answer", "many", lettered(_history(one.case) for one in found))

    def solve(reader: Reader) -> Answers:
        return {"answer": tuple(word for word, one in zip(asked.words, found, strict=True)
                                if reader.choose(one.scene, aims) == low)}

    because = tuple(f"{word}: {one.case.cause}. The target is {one.scene.oxygen_target.text}."
                    for word, one in zip(asked.words, found, strict=True))
    because = (*because, f"Source: {SOURCES['BTSOxygen2017'].citation}")
    whys = risk_told({word: (one.case.cause, one.scene)
                      for word, one in zip(asked.words, found, strict=True)})
    return make_exercise(question, "select all", (asked,), [one.case for one in found], solve,
                         because=because, whys={"answer": whys}, options=asked.choices)


def find_the_oxygen_slip(question: Question, draw: SeededRandom) -> Exercise:
    """An oxygen reading in steps, or the first `steps` of it, with one slip; choose that step."""
    shown = question.more.get("steps", 4)
    slips = planted_among(question.more["slips"])
    for attempt in range(_REDRAWS):
        gas = (found := one_of(question, draw, f"|{attempt}")).case.gas
        able = [m for m in slips
                if m is SOUND
                or (first_oxygen_slip(m.read(gas), SOUND.read(gas), gas) or 9) <= shown]
        if able and clear(found):
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
    right = str(solve(SOUND)["first wrong step"])
    whys = slip_told(steps, oxygen_steps(SOUND.read(gas), gas)[:len(steps)], right)
    return make_exercise(question, "choose one", (asked,), [found.case], solve,
                         because=oxygen_because(gas)[:shown - 1], whys={"first wrong step": whys},
                         reading=reading)


def _told(asked: Field, gas: BloodGas) -> Reasons:
    if asked.name == FAILURE.name:
        return failure_told(gas)
    return pao2_told(gas) if asked.name == OXYGEN.name else standard_told(asked.name, gas,
                                                                          asked.words)


# --- words ---------------------------------------------------------------------------------------

def _rows(asked: Sequence[Field], cases: Sequence[Case], shows: Sequence[str]) -> str:
    return "\n".join(f"- **{f.name.capitalize()}**: {case.vignette} {gas_line(case.gas, shows)}."
                     for f, case in zip(asked, cases, strict=True))


def _history(case: Case) -> str:
    """The age and the heart of the history, without name and place: short enough for a list."""
    _, *whys = case.vignette.split(". ")
    plain = re.sub(rf"\b{case.patient.first}\b", "the patient", ". ".join(whys[:2])).rstrip(".")
    return f"Age {case.patient.age}. {re.sub('(^|[.] )t', lambda at: at[0].upper(), plain)}."


def _target_because(scene: Scene) -> tuple[str, ...]:
    aim = scene.oxygen_target
    return (f"{aim.because} {aim.says} Local protocol decides.{urgent(scene)}",
            f"Source: {SOURCES['BTSOxygen2017'].citation}")
