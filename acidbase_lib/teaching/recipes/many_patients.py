"""Recipes about several patients: which fits, all that fit, sort them, put them in order."""
from __future__ import annotations

from acidbase_lib.teaching.explanations.gas_table import gas_line
from acidbase_lib.teaching.explanations.reading_steps import belief, disorder_of, label_of
from acidbase_lib.teaching.feedback.gas_reasons import standard_told
from acidbase_lib.teaching.feedback.gas_set_reasons import fits_told, order_told, shows_told
from acidbase_lib.teaching.misconceptions.catalog import SOUND, Reader
from acidbase_lib.teaching.patients.cases import Case, draw_case
from acidbase_lib.teaching.questions.exercise import Answers, Exercise
from acidbase_lib.teaching.questions.fields import STANDARD_FIELDS, Field, lettered
from acidbase_lib.teaching.questions.question_file import Question
from acidbase_lib.teaching.seeded_random import SeededRandom

from .parts import kept, letter, make_exercise, placed, shows_paco2


def which_gas_fits(question: Question, draw: SeededRandom, *, slot: int) -> Exercise:
    """Four gases, one label; the first wish is the one that fits."""
    cases = placed([draw_case(**wish, seed=f"{draw.seed}|{i}")
                     for i, wish in enumerate(question.wishes)], slot)
    target = label_of(SOUND.read(cases[slot].gas))
    if question.more.get("plain"):
        target = disorder_of(SOUND.read(cases[slot].gas)) or target
    shows = question.more.get("shows")
    asked = Field("answer", "one", lettered(gas_line(case.gas, shows) for case in cases))
    because = tuple(f"{choice.word}: {label_of(SOUND.read(case.gas))}."
                    for choice, case in zip(asked.choices, cases, strict=True))
    return make_exercise(question, "choose one", (asked,), cases,
                     lambda reader: letter([label_of(reader.read(c.gas)) for c in cases], target),
                     because=because, whys={"answer": fits_told(
                         target, dict(zip(asked.words, (c.gas for c in cases), strict=True)),
                         asked.words[slot])},
                     options=asked.choices, label=target)


def all_gases_that(question: Question, draw: SeededRandom) -> Exercise:
    """Several gases; select every one whose disorder holds the word that is asked for."""
    cases = draw.shuffled([draw_case(**wish, seed=f"{draw.seed}|{i}")
                           for i, wish in enumerate(question.wishes)])
    word = question.more["holds"]
    shows = question.more.get("shows")
    asked = Field("answer", "many", lettered(gas_line(case.gas, shows) for case in cases))

    def solve(reader: Reader) -> Answers:
        return {"answer": tuple(choice.word for choice, case in zip(asked.choices, cases,
                                                                    strict=True)
                                if word in (disorder_of(reader.read(case.gas)) or ""))}

    because = tuple(f"{choice.word}: {disorder_of(SOUND.read(case.gas))}."
                    for choice, case in zip(asked.choices, cases, strict=True))
    return make_exercise(question, "select all", (asked,), cases, solve, because=because,
                     whys={"answer": shows_told(dict(zip(
                         asked.words, (case.gas for case in cases), strict=True)))},
                     options=asked.choices)


def sort_the_patients(question: Question, draw: SeededRandom) -> Exercise:
    """Several patients; one choice a row, of the standard field named by `sorts`."""
    cases = draw.shuffled(_all_cases(question, draw))
    sorts = question.more.get("sorts", "disorder")
    choices = STANDARD_FIELDS[sorts].choices
    shows = question.more.get("shows")
    lines = [f"{case.vignette} {gas_line(case.gas, shows)}." for case in cases]
    asked = tuple(Field(f"patient {n}", "one", choices, says=text)
                  for n, text in enumerate(lines, start=1))

    def solve(reader: Reader) -> Answers:
        return kept({f.name: belief(reader.read(case.gas), sorts)
                     for f, case in zip(asked, cases, strict=True)}, asked)

    rows = "\n".join(f"- **{f.name.capitalize()}**: {f.says}" for f in asked)
    because = tuple(f"{f.name.capitalize()}: {label_of(SOUND.read(case.gas))}."
                    for f, case in zip(asked, cases, strict=True))
    whys = {f.name: standard_told(sorts, case.gas, f.words, shows_paco2(question))
            for f, case in zip(asked, cases, strict=True)}
    return make_exercise(question, "grid", asked, cases, solve, because=because, whys=whys,
                         patients=rows)


def order_by_ph(question: Question, draw: SeededRandom) -> Exercise:
    """Several gases; put them in order from the most acid to the most alkaline blood."""
    cases = draw.shuffled(_all_cases(question, draw))
    shows = question.more.get("shows")
    asked = Field("order", "order", lettered(gas_line(case.gas, shows) for case in cases))
    letters = {case.seed: choice.word for case, choice in zip(cases, asked.choices, strict=True)}

    def solve(reader: Reader) -> Answers:
        backwards = any(reader.read(case.gas).side != SOUND.read(case.gas).side for case in cases)
        ordered = sorted(cases, key=lambda case: case.gas.ph, reverse=backwards)
        return {"order": tuple(letters[case.seed] for case in ordered)}

    because = ("A lower pH is more acid blood: more hydrogen ions.",
               "From the most acid: " + ", ".join(
                   f"{letters[c.seed]} (pH {c.gas.ph:.2f})"
                   for c in sorted(cases, key=lambda case: case.gas.ph)) + ".")
    whys = order_told({letters[case.seed]: f"pH {case.gas.ph:.2f}" for case in cases}, because[0])
    return make_exercise(question, "put in order", (asked,), cases, solve, because=because,
                         whys={"order": whys}, options=asked.choices)


def _all_cases(question: Question, draw: SeededRandom) -> list[Case]:
    return [draw_case(**wish, seed=f"{draw.seed}|{i}") for i, wish in enumerate(question.wishes)]
