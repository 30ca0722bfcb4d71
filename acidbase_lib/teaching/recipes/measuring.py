"""Recipes about what a number is: its unit, how many hydrogen ions, measured or worked out."""
from __future__ import annotations

from collections.abc import Mapping

from acidbase_lib.physiology.units import kpa_to_mmhg, mmhg_to_kpa
from acidbase_lib.reading.blood_gas import BloodGas
from acidbase_lib.reading.kilopascal import kpa_first
from acidbase_lib.reading.measured import CALCULATED, MEASURED, ORIGINS
from acidbase_lib.reading.wording import sentence_case
from acidbase_lib.teaching.explanations.printed_numbers import THREE
from acidbase_lib.teaching.feedback.gas_set_reasons import number_told
from acidbase_lib.teaching.feedback.option_reasons import Reasons
from acidbase_lib.teaching.misconceptions.catalog import SOUND, Reader
from acidbase_lib.teaching.patients.cases import Case
from acidbase_lib.teaching.questions.exercise import Answers, Exercise
from acidbase_lib.teaching.questions.fields import Choice, Field, lettered
from acidbase_lib.teaching.questions.question_file import Question
from acidbase_lib.teaching.seeded_random import SeededRandom

from .parts import make_exercise, one_case
from .ranges import find_case

_ABOUT = {0.5: "half as many", 1.0: "about as many", 2.0: "twice as many"}


def convert_pressure(question: Question, draw: SeededRandom) -> Exercise:
    """One PaCO2 in mmHg, to be written in kPa; at a school with kPa the other way."""
    # 56 divided by 7.5 is 7.5: whoever writes down the factor would be right by accident
    case = find_case(question, draw, lambda case: case.gas.paco2 >= 60)
    mmhg = case.gas.paco2
    kpa = round(mmhg_to_kpa(mmhg), 1)
    if kpa_first():
        return _into_mmhg(question, case, kpa)
    asked = Field("PaCO2 in kPa", "number", unit="kPa", also=("PaCO2", "PCO2"), converting=True)

    def solve(reader: Reader) -> Answers:
        """Who sees no unit sees no need to convert: the figure stays."""
        takes_one_for_the_other = (reader.read(case.gas, "kPa").paco2 == "low"
                                   and reader.read(case.gas, "mmHg").paco2 == "high")
        return {asked.name: mmhg if takes_one_for_the_other else kpa}

    return make_exercise(question, "number", (asked,), [case], solve, within={asked.name: 0.1},
                         because=("1 kPa is 7.5 mmHg, so the number in kPa is the smaller one.",
                                  f"{mmhg:.0f} divided by 7.5 is {kpa:.1f} kPa."),
                         whys={asked.name: number_told(
                             f"1 kPa is 7.5 mmHg: {mmhg:.0f} divided by 7.5 is {kpa:.1f}.",
                             "It is lower than the division gives. 1 kPa is 7.5 mmHg.",
                             "It is higher than the division gives. A kPa is the larger unit, so "
                             "fewer of them make the same pressure.")},
                         mmhg=f"{mmhg:.0f} mmHg", other="kPa")


def _into_mmhg(question: Question, case: Case, kpa: float) -> Exercise:
    """One PaCO2 in kPa, to be written in mmHg."""
    asked = Field("PaCO2 in mmHg", "number", unit="mmHg", also=("PaCO2", "PCO2"), converting=True)
    mmhg = round(kpa_to_mmhg(kpa), 1)

    def solve(reader: Reader) -> Answers:
        """Who sees no unit sees no need to convert: the figure stays."""
        sees_none = reader.read(case.gas, "kPa").paco2 == "low"
        return {asked.name: kpa if sees_none else mmhg}

    return make_exercise(question, "number", (asked,), [case], solve, within={asked.name: 1.0},
                         because=("1 kPa is 7.5 mmHg, so the number in mmHg is the larger one.",
                                  f"{kpa:.1f} times 7.5 is about {mmhg:.0f} mmHg."),
                         whys={asked.name: number_told(
                             f"1 kPa is 7.5 mmHg: {kpa:.1f} times 7.5 is about {mmhg:.0f}.",
                             "It is lower than the product. A kPa is the larger unit, so more "
                             "mmHg make the same pressure.",
                             "It is higher than the product. 1 kPa is 7.5 mmHg.")},
                         mmhg=f"{kpa:.1f} kPa", other="mmHg")


def hydrogen_ion_change(question: Question, draw: SeededRandom) -> Exercise:
    """A pH that lies 0.3 from a healthy one: how many hydrogen ions, compared with that one?

    With `change = "none"` the two lie side by side.
    """
    steps = (0.02, -0.02) if question.more.get("change") == "none" else (0.30, -0.30)

    def healthy(case: Case) -> float | None:
        found = (round(case.gas.ph + step, 2) for step in steps)
        return next((ph for ph in found if 7.37 <= ph <= 7.43), None)

    case = find_case(question, draw, lambda case: healthy(case) is not None)
    ph = healthy(case) or 7.40
    asked = Field("hydrogen ions", "one", tuple(Choice(word) for word in _ABOUT.values()),
                  also=("hydrogen ion", "H+"))

    def ions(reader: Reader, ph: float) -> int:
        return reader.read(BloodGas(ph, 40)).hydrogen_ion

    def solve(reader: Reader) -> Answers:
        times = ions(reader, case.gas.ph) / ions(reader, ph)
        return {asked.name: _ABOUT[min(_ABOUT, key=lambda known: abs(times / known - 1))]}

    because = (f"pH {ph:.2f} is about {ions(SOUND, ph)} nmol/L of hydrogen ions, pH "
               f"{case.gas.ph:.2f} about {ions(SOUND, case.gas.ph)}.",
               "Each 0.3 down is about twice as many, each 0.3 up about half as many.")
    here = f"pH {ph:.2f} and pH {case.gas.ph:.2f}"
    gone = "lies lower" if case.gas.ph < ph else "lies higher"
    beside = abs(case.gas.ph - ph) < 0.1
    more = "More acid blood has a lower pH and more hydrogen ions."
    side = f"The pH of this patient {gone}. {more}"
    far = f"{here} lie 0.3 apart, and each 0.3 doubles or halves the hydrogen ions."
    near = f"{here} lie side by side: it takes 0.3 to double or halve the hydrogen ions."
    why = dict.fromkeys(_ABOUT.values(), near if beside else side)
    why[_ABOUT[1.0]] = near if beside else far
    whys = Reasons(why | {str(solve(SOUND)[asked.name]): " ".join(because)}, because[1])
    return make_exercise(question, "choose one", (asked,), [case], solve, because=because,
                         whys={asked.name: whys}, options=asked.choices, healthy=f"{ph:.2f}",
                         now=f"{case.gas.ph:.2f}")


#: What each number tells; of the longest options one is measured and one is calculated.
_TELLS: Mapping[str, str] = {
    "pH": "pH, how acid blood is", "PaCO2": "PaCO2, the part of carbon dioxide",
    "PaO2": "PaO2, the part of oxygen", "sodium": "sodium, a salt", "lactate": "lactate, an acid",
    "bicarbonate": "bicarbonate, the blood's main base", "base excess": "base excess"}


def what_is_calculated(question: Question, draw: SeededRandom) -> Exercise:
    """Numbers of a gas report; select those that the analyzer works out from the others.

    With `lettered` the numbers stand behind letters; with `asks = "measured"` those that it
    measures are selected, of as many as it works out.
    """
    case = one_case(question, draw)
    measured = question.more.get("asks") == "measured"
    names = draw.shuffled([*CALCULATED, *draw.shuffled(MEASURED)[:2]] if measured else
                          [*THREE, "base excess", draw.pick(("PaO2", "sodium", "lactate"))])
    choices = (lettered(_TELLS[name] for name in names) if question.more.get("lettered") else
               tuple(Choice(name) for name in names))
    asked = Field("measured" if measured else "calculated", "many", choices, also=("answer",))

    def solve(reader: Reader) -> Answers:
        thought = reader.read(case.gas).calculated
        return {asked.name: tuple(choice.word for choice, name in zip(asked.choices, names,
                                                                      strict=True)
                                  if (name in thought) != measured)}

    because = tuple(f"{sentence_case(name)} is {ORIGINS[name].how}, "
                    f"{'by' if ORIGINS[name].how == 'measured' else 'from'} {ORIGINS[name].by}."
                    for name in names)
    whys = Reasons(dict(zip(asked.words, because, strict=True)),
                "An electrode measures pH, PaCO2, PaO2 and each ion; bicarbonate and base excess "
                "follow from those.")
    return make_exercise(question, "select all", (asked,), [case], solve, because=because,
                         whys={asked.name: whys}, options=asked.choices)
