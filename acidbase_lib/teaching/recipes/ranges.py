"""Recipes about single numbers: low or high, in which unit, of which sample, by whose range."""
from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import replace

from acidbase_lib.physiology.henderson_hasselbalch import hco3_of
from acidbase_lib.reading.blood_gas import BloodGas
from acidbase_lib.reading.lab_settings import LabSettings
from acidbase_lib.reading.settings_in_force import in_force
from acidbase_lib.reading.value_range import Range
from acidbase_lib.reading.wording import sentence_case
from acidbase_lib.teaching.explanations.printed_numbers import (
    THREE,
    number_text,
    range_text,
    report_table,
)
from acidbase_lib.teaching.explanations.reading_steps import belief
from acidbase_lib.teaching.explanations.state_lines import state_because
from acidbase_lib.teaching.feedback.gas_reasons import state_told
from acidbase_lib.teaching.feedback.gas_set_reasons import slip_told
from acidbase_lib.teaching.misconceptions.catalog import MISCONCEPTIONS, SOUND, Reader
from acidbase_lib.teaching.patients.cases import Case, draw_case
from acidbase_lib.teaching.questions.exercise import Answers, Exercise
from acidbase_lib.teaching.questions.fields import STANDARD_FIELDS, Choice, Field
from acidbase_lib.teaching.questions.question_file import Question, UnitError
from acidbase_lib.teaching.seeded_random import SeededRandom

from .parts import kept, make_exercise, planted_among

#: Ranges that are in print: OpenStax (by sex), a British course, an American laboratory list.
OTHER_LABS: Mapping[str, LabSettings] = {
    "Saltmere Harbor Clinic": LabSettings(name="Saltmere Harbor Clinic", paco2=Range(32, 45),
                                          hco3=Range(23, 28)),
    "North Pier Laboratory": LabSettings(name="North Pier Laboratory", paco2=Range(35, 48),
                                         hco3=Range(21, 28)),
    "Lighthouse Road Laboratory": LabSettings(name="Lighthouse Road Laboratory",
                                              paco2=Range(34, 45), hco3=Range(22, 29)),
}
_TRIES = 200


def find_case(question: Question, draw: SeededRandom, fits: Callable[[Case], bool]) -> Case:
    """Draw the question's patients until one fits.

    Raises
    ------
    UnitError
        None of many does: the question asks for what its wishes do not bring.
    """
    for attempt in range(_TRIES):
        here = draw.branch(f"patient {attempt}")
        case = draw_case(**here.pick(question.wishes), seed=here.seed)
        if fits(case):
            return case
    raise UnitError(f"{question.id}: none of {_TRIES} patients shows what this question is about. "
                    "Add another wish.")


def sort_the_numbers(question: Question, draw: SeededRandom) -> Exercise:
    """Several single numbers, each of another patient; say low, normal or high of each.

    A row may ask for a unit, and for a number on which a wrong idea shows (`tells`) or that
    lies on one side (`state`). With `even` each answer is right equally often.
    """
    rows: dict[str, tuple[Case, str, str]] = {}
    wanted = list(question.more["rows"])
    if question.more.get("even"):
        telling = [row for row in wanted if "tells" in row]
        wanted = telling + draw.shuffled(row for row in wanted if "tells" not in row)
    for n, row in enumerate(wanted):
        number, unit = row["number"], row.get("unit", "mmHg")
        if question.more.get("even") and "tells" not in row:
            states = [belief(SOUND.read(case.gas, of), name) for case, name, of in rows.values()]
            row = {**row, "state": min(draw.shuffled(STANDARD_FIELDS["pH"].words),
                                       key=states.count)}

        def fits(case: Case, row: Mapping[str, str] = row, number: str = number,
                 unit: str = unit) -> bool:
            mine = belief(SOUND.read(case.gas, unit), number)
            if f"{number} {number_text(case.gas, number, unit)}" in rows:
                return False
            if row.get("state", mine) != mine:
                return False
            idea = row.get("tells")
            return idea is None or belief(MISCONCEPTIONS[idea].read(case.gas, unit), number) != mine

        case = find_case(question, draw.branch(f"row {n}"), fits)
        rows[f"{number} {number_text(case.gas, number, unit)}"] = (case, number, unit)
    rows = {name: rows[name] for name in draw.shuffled(rows)}
    asked = tuple(Field(name, "one", STANDARD_FIELDS["pH"].choices) for name in rows)

    def solve(reader: Reader) -> Answers:
        return kept({name: belief(reader.read(case.gas, unit), number)
                     for name, (case, number, unit) in rows.items()}, asked)

    key = solve(SOUND)
    because = tuple(f"{sentence_case(name)}: {key[name]}. The range is "
                    f"{range_text(number, in_force(), unit)}."
                    for name, (_, number, unit) in rows.items())
    lines = {name: state_told(number, case.gas, unit)
             for name, (case, number, unit) in rows.items()}
    return make_exercise(question, "grid", asked, [case for case, _, _ in rows.values()], solve,
                         because=because, whys=lines,
                         numbers="\n".join(f"- {name}" for name in rows))


def state_each_number(question: Question, draw: SeededRandom) -> Exercise:
    """One patient; low, normal or high of each number, printed in the unit that is asked for.

    With `lab` the report carries the ranges of another laboratory, and one number lies between
    its range and the usual one. With `tells` a wrong idea shows on the patient.
    """
    unit = question.more.get("unit", "mmHg")
    parts = tuple(question.more.get("parts", THREE))
    name = draw.pick(sorted(OTHER_LABS)) if question.more.get("lab") else in_force().name
    idea = question.more.get("tells")

    def words(reader: Reader, case: Case) -> dict[str, str | None]:
        beliefs = reader.read(case.gas, unit, OTHER_LABS.get(name, in_force()))
        return {number: belief(beliefs, number) for number in parts}

    def shows(case: Case) -> bool:
        return idea is None or words(MISCONCEPTIONS[idea], case) != words(SOUND, case)

    others = [other for other in sorted(OTHER_LABS) if other != name]
    while True:
        try:
            case = find_case(question, draw, shows)
        except UnitError:  # no such patient lies between the usual ranges and this laboratory's
            if question.more.get("lab") and others:
                name = others.pop()
            elif idea is not None and in_force().changed:
                idea = None  # a school's range may be the one that the idea holds
            else:
                raise
        else:
            break
    settings = OTHER_LABS.get(name, in_force())
    asked = tuple(STANDARD_FIELDS[number] for number in parts)
    because = tuple(line for line in state_because(SOUND.read(case.gas, unit, settings), case.gas,
                                                   unit, settings)
                    if line.startswith(tuple(map(sentence_case, parts))))
    return make_exercise(
        question, "several parts", asked, [case], lambda reader: kept(words(reader, case), asked),
        because=because, lab=name,
        whys={number: state_told(number, case.gas, unit, settings) for number in parts},
        report=report_table(case.gas, parts, unit, settings if question.more.get("lab") else None))


def read_a_vein(question: Question, draw: SeededRandom) -> Exercise:
    """A venous sample whose numbers would be read otherwise in an artery; both must be right.

    Both are in the venous range, or as `states` says of pH and PCO2.
    """
    wanted = question.more.get("states", ["normal", "normal"])

    def vein(case: Case) -> BloodGas:
        """The tissues add carbon dioxide: PCO2 about 6 mmHg higher, pH about 0.03 lower."""
        here = SeededRandom(f"{case.seed}|vein")
        ph = round(case.gas.ph - here.between(0.02, 0.05), 2)
        paco2 = round(case.gas.paco2 + here.between(4, 9))
        return BloodGas(ph, paco2, round(hco3_of(ph, paco2)), specimen="venous")

    def words(reader: Reader, gas: BloodGas) -> dict[str, str | None]:
        beliefs = reader.read(gas)
        return {"pH": beliefs.ph, "PCO2": beliefs.paco2}

    def fits(case: Case) -> bool:
        gas = vein(case)
        right, wrong = (words(reader, gas) for reader in
                        (SOUND, MISCONCEPTIONS["venous read as arterial"]))
        if list(right.values()) != list(wanted) or right == wrong:
            return False
        return "states" in question.more or set(wrong.values()) == {"low", "high"}

    found = find_case(question, draw, fits)
    case = replace(found, gas=vein(found))
    asked = (STANDARD_FIELDS["pH"],
             Field("PCO2", "one", STANDARD_FIELDS["PaCO2"].choices, also=("PaCO2", "PvCO2")))
    because = ("The sample is venous, so the venous ranges hold.",
               *(line.replace("PaCO2", "PCO2") for line in
                 state_because(SOUND.read(case.gas), case.gas)[:2]))
    return make_exercise(question, "linked pair", asked, [case],
                         lambda reader: kept(words(reader, case.gas), asked), because=because,
                         whys={"pH": state_told("pH", case.gas),
                               "PCO2": state_told("PaCO2", case.gas)},
                         report=report_table(case.gas))


def find_the_slip_in_the_numbers(question: Question, draw: SeededRandom) -> Exercise:
    """A colleague states the numbers of a report in kPa, with one slip; choose the wrong step."""
    able = planted_among(question.more["slips"])
    planted = draw.pick(able)

    def steps(reader: Reader, case: Case) -> tuple[str, ...]:
        beliefs = reader.read(case.gas, "kPa")
        worked_out = [name for name in (*THREE, "base excess") if name in beliefs.calculated]
        side = f", on the {beliefs.side} side" if beliefs.ph != "normal" else ""
        return (f"The pH is {number_text(case.gas, 'pH')}: {beliefs.ph}{side}.",
                f"PaCO2 is {number_text(case.gas, 'PaCO2', 'kPa')}: {beliefs.paco2}.",
                f"Bicarbonate is {number_text(case.gas, 'bicarbonate')}: {beliefs.hco3}.",
                f"The analyzer has worked out {' and '.join(worked_out)} from other numbers.")

    try:
        case = find_case(question, draw, lambda case: planted is SOUND
                         or steps(planted, case) != steps(SOUND, case))
    except UnitError:  # a school's range may be as wide as the slip thinks it is
        if not in_force().changed:
            raise
        planted = next(reader for reader in able if reader is not planted)
        case = find_case(question, draw, lambda case: planted is SOUND
                         or steps(planted, case) != steps(SOUND, case))
    written = steps(planted, case)
    choices = (*(Choice(str(n)) for n in range(1, len(written) + 1)),
               Choice("none", also=("no slip",)))
    asked = Field("wrong step", "one", choices, also=("step", "answer", "first wrong step"))

    def solve(reader: Reader) -> Answers:
        pairs = zip(written, steps(reader, case), strict=True)
        return {asked.name: next((str(n) for n, (theirs, mine) in enumerate(pairs, start=1)
                                  if theirs != mine), "none")}

    return make_exercise(
        question, "choose one", (asked,), [case], solve,
        because=(*state_because(SOUND.read(case.gas, "kPa"), case.gas, "kPa"),
                 steps(SOUND, case)[-1]),
        whys={asked.name: slip_told(written, steps(SOUND, case),
                                    str(solve(SOUND)[asked.name]))},
        reading="\n".join(f"{n}. {step}" for n, step in enumerate(written, start=1)))
