"""Recipes about the response: compensation, where PaCO2 should be, and the second disorder."""
from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

from acidbase_lib.reading.blood_gas import BloodGas
from acidbase_lib.reading.disorders import AS_EXPECTED, DISORDERS, LESS, MORE
from acidbase_lib.reading.interpretation import interpret
from acidbase_lib.reading.kilopascal import in_school_unit, rule_told, school_unit
from acidbase_lib.reading.sources import SOURCES
from acidbase_lib.teaching.explanations.reading_steps import direction
from acidbase_lib.teaching.explanations.response_steps import (
    compensation_steps,
    expected_paco2,
    response_steps,
    second_disorder,
)
from acidbase_lib.teaching.feedback.gas_set_reasons import slip_told
from acidbase_lib.teaching.feedback.response_reasons import paco2_told, response_told
from acidbase_lib.teaching.misconceptions.catalog import SOUND, Reader
from acidbase_lib.teaching.questions.exercise import Answers, Exercise
from acidbase_lib.teaching.questions.fields import STANDARD_FIELDS, Choice, Field
from acidbase_lib.teaching.questions.question_file import Question, UnitError
from acidbase_lib.teaching.seeded_random import SeededRandom

from .one_patient import choose_the_label, read_in_parts
from .parts import case_for_a_slip, kept, make_exercise, one_case, told_of

EXPECTED_PACO2 = "expected PaCO2"
RESPONSE = Field("response", "one", (
    Choice(LESS, also=("less", "too little")),
    Choice(AS_EXPECTED, also=("expected", "right")),
    Choice(MORE, also=("more", "too much"))))
SECOND = Field("second disorder", "one",
               (Choice("none", also=("no", "no second disorder", "one disorder")),
                *(Choice(name) for name in DISORDERS)), also=("second",))

Steps = Callable[[Reader, BloodGas], tuple[str, ...]]


def name_the_compensation(question: Question, draw: SeededRandom) -> Exercise:
    """One patient, read down to the last word; choose the compensation."""
    case = one_case(question, draw)
    asked = STANDARD_FIELDS["compensation"]
    steps = compensation_steps(SOUND.read(case.gas), case.gas)
    found = "\n".join(f"{n}. {step}" for n, step in enumerate(steps[:3], start=1))
    return make_exercise(question, "choose one", (asked,), [case],
                         lambda reader: kept({"compensation":
                                              reader.read(case.gas).compensation}, (asked,)),
                         because=steps, whys=told_of(case, (asked,), question), found=found)


def read_to_compensation(question: Question, draw: SeededRandom) -> Exercise:
    """As "read in parts", with reasons that go down to the word for compensation."""
    made = read_in_parts(question, draw)
    case = one_case(question, SeededRandom(draw.seed))  # the same seed draws the same patient again
    beliefs = SOUND.read(case.gas)
    silent = direction(beliefs) == "cannot tell" and "direction" in question.more["parts"]
    whys = ("One of pH and bicarbonate is in range: there is no direction to compare.",)
    return replace(made, because=(whys if silent else ()) + compensation_steps(beliefs, case.gas))


def choose_with_compensation(question: Question, draw: SeededRandom, *, slot: int) -> Exercise:
    """As "choose the label", with reasons that go down to the word for compensation."""
    made = choose_the_label(question, draw, slot=slot)
    case = one_case(question, SeededRandom(draw.seed))
    return replace(made, because=compensation_steps(SOUND.read(case.gas), case.gas))


def where_paco2_belongs(question: Question, draw: SeededRandom) -> Exercise:
    """One metabolic patient; the PaCO2 that this bicarbonate calls for, within the rule's band."""
    case = one_case(question, draw)
    expected = interpret(case.gas).expected
    if expected is None or expected.quantity != "PaCO2":
        raise UnitError(f"{question.id}: no rule says which PaCO2 to expect in this patient. "
                        "Ask for a metabolic disorder.")

    def solve(reader: Reader) -> Answers:
        value = expected_paco2(reader, case.gas)
        return {} if value is None else {asked.name: in_school_unit(value)}

    asked = Field(EXPECTED_PACO2, "number", unit=school_unit(), also=("PaCO2", "expected"))
    return make_exercise(question, "number", (asked,), [case], solve,
                         because=response_because(case.gas),
                         whys={asked.name: paco2_told(case.gas)},
                         within={asked.name: in_school_unit((expected.high - expected.low) / 2)})


def response_and_second(question: Question, draw: SeededRandom) -> Exercise:
    """One metabolic patient; how the response compares, and the second disorder: both or none."""
    case = one_case(question, draw)
    asked = (RESPONSE, SECOND)

    def solve(reader: Reader) -> Answers:
        return kept({"response": reader.read(case.gas).response,
                     "second disorder": second_disorder(reader, case.gas)}, asked)

    whys = response_told(case.gas)
    return make_exercise(question, "linked pair", asked, [case], solve,
                         because=response_because(case.gas),
                         whys={RESPONSE.name: whys["response"], SECOND.name: whys["second"]})


def slip_in_compensation(question: Question, draw: SeededRandom) -> Exercise:
    """How a colleague came to the word for compensation, with one slip in it."""
    return _slip(question, draw, lambda reader, gas: compensation_steps(reader.read(gas), gas))


def slip_in_response(question: Question, draw: SeededRandom) -> Exercise:
    """How a colleague looked for a second disorder, with one slip in it."""
    return _slip(question, draw, response_steps)


def response_because(gas: BloodGas) -> tuple[str, ...]:
    """Why the response is what it is: the rule, its band, and the value beside it."""
    expected = interpret(gas).expected
    steps = response_steps(SOUND, gas)[2:]
    if expected is None:
        return steps
    only = () if second_disorder(SOUND, gas) != "none" else (
        "This rule tells of the breathing only: a second metabolic disorder does not show in it.",)
    return (f"The rule: {rule_told(expected.quantity, expected.rule)}.", *steps, *only,
            f"Source: {SOURCES[expected.source].citation}")


def _slip(question: Question, draw: SeededRandom, steps_of: Steps) -> Exercise:
    def first(theirs: Reader, mine: Reader, gas: BloodGas) -> int | None:
        pairs = zip(steps_of(theirs, gas), steps_of(mine, gas), strict=True)
        return next((n for n, (a, b) in enumerate(pairs, start=1) if a != b), None)

    case, planted = case_for_a_slip(question, draw, lambda m, case: first(m, SOUND, case.gas))
    steps = steps_of(planted, case.gas)
    asked = Field("first wrong step", "one",
                  (*(Choice(str(n)) for n in range(1, len(steps) + 1)),
                   Choice("none", also=("no slip",))), also=("step", "answer", "wrong step"))
    return make_exercise(
        question, "choose one", (asked,), [case],
        lambda reader: {asked.name: str(first(planted, reader, case.gas) or "none")},
        because=steps_of(SOUND, case.gas),
        whys={asked.name: slip_told(steps, steps_of(SOUND, case.gas),
                                    str(first(planted, SOUND, case.gas) or "none"))},
        reading="\n".join(f"{n}. {step}" for n, step in enumerate(steps, start=1)))
