"""Recipes about one patient: name, read in parts, choose a label, strike out, find the slip."""
from __future__ import annotations

from acidbase_lib.teaching.explanations.printed_numbers import THREE
from acidbase_lib.teaching.explanations.reading_steps import (
    belief,
    disorder_of,
    first_slip,
    label_of,
    reading_steps,
)
from acidbase_lib.teaching.explanations.state_lines import state_because
from acidbase_lib.teaching.feedback.gas_reasons import label_told
from acidbase_lib.teaching.feedback.gas_set_reasons import side_told, slip_told
from acidbase_lib.teaching.misconceptions.catalog import SOUND, Reader
from acidbase_lib.teaching.patients.cases import Case
from acidbase_lib.teaching.questions.exercise import Answers, Exercise
from acidbase_lib.teaching.questions.fields import STANDARD_FIELDS, Choice, Field, lettered
from acidbase_lib.teaching.questions.question_file import Question
from acidbase_lib.teaching.seeded_random import SeededRandom

from .parts import (
    because_of,
    capital,
    case_for_a_slip,
    kept,
    letter,
    make_exercise,
    one_case,
    placed,
    told_of,
    wrong_labels,
)


def name_the_disorder(question: Question, draw: SeededRandom) -> Exercise:
    """One patient; choose the disorder."""
    case = one_case(question, draw)
    asked = STANDARD_FIELDS["disorder"]
    found = "\n".join(f"{n}. {step}" for n, step in enumerate(because_of(case)[:2], start=1))
    return make_exercise(question, "choose one", (asked,), [case],
                         lambda reader: kept({"disorder": disorder_of(reader.read(case.gas))},
                                             (asked,)),
                         because=because_of(case, question),
                         whys=told_of(case, (asked,), question), found=found)


def read_in_parts(question: Question, draw: SeededRandom) -> Exercise:
    """One patient; one mark for each number and each step."""
    case = one_case(question, draw)
    asked = tuple(STANDARD_FIELDS[name] for name in question.more["parts"])
    return make_exercise(question, "several parts", asked, [case],
                     lambda reader: kept({f.name: belief(reader.read(case.gas), f.name)
                                           for f in asked}, asked),
                     because=_parts_because(case, question), whys=told_of(case, asked, question))


def _parts_because(case: Case, question: Question) -> tuple[str, ...]:
    """Where only numbers are asked, only ranges are told: no rule was taught yet."""
    if set(question.more["parts"]) == set(THREE):
        return state_because(SOUND.read(case.gas), case.gas)
    return because_of(case, question)


def choose_the_label(question: Question, draw: SeededRandom, *, slot: int) -> Exercise:
    """One patient; four labels, of which one stands when the others are struck out.

    With `plain` the labels are the four disorders, without their compensation.
    """
    case = one_case(question, draw)
    right = label_of(SOUND.read(case.gas))
    wrong = wrong_labels(case, right, draw)
    if question.more.get("plain"):
        right = disorder_of(SOUND.read(case.gas)) or right
        wrong = draw.shuffled(d for d in STANDARD_FIELDS["disorder"].words if d != right)
    labels = placed([right, *wrong[:3]], slot)
    asked = Field("answer", "one", lettered(capital(label) for label in labels))
    return make_exercise(question, "choose one", (asked,), [case],
                     lambda reader: letter(labels, label_of(reader.read(case.gas))),
                     because=because_of(case, question),
                     whys={"answer": label_told(case.gas, labels, asked.words)},
                     options=asked.choices)


def strike_out_by_ph(question: Question, draw: SeededRandom) -> Exercise:
    """One patient; select every label that the pH alone strikes out."""
    case = one_case(question, draw)
    right = label_of(SOUND.read(case.gas))
    wrong = wrong_labels(case, right, draw)
    side = right.rsplit(" ", 1)[-1]
    other = [label for label in wrong if not label.endswith(side)]
    same = [label for label in wrong if label.endswith(side)
            and _fits_this_ph(label, SOUND.read(case.gas).ph)]
    labels = draw.shuffled([right, *same[:2], *other[:3]])
    asked = Field("answer", "many", lettered(capital(label) for label in labels))

    def solve(reader: Reader) -> Answers:
        falls = {"acid": "alkalosis", "alkaline": "acidosis"}.get(reader.read(case.gas).side)
        return {"answer": tuple(choice.word for choice, label in zip(asked.choices, labels,
                                                                     strict=True)
                                if falls is not None and label.endswith(falls))}

    return make_exercise(question, "select all", (asked,), [case], solve,
                     because=because_of(case)[:1], whys={"answer": side_told(
                         dict(zip(asked.words, labels, strict=True)), case.gas)},
                     options=asked.choices)


def _fits_this_ph(label: str, ph: str) -> bool:
    """Whether the word of compensation, too, fits the pH: fully means that it is back in range."""
    return label.startswith("fully") is (ph == "normal")


def find_the_slip(question: Question, draw: SeededRandom) -> Exercise:
    """A reading in steps with one slip; choose the first step that is wrong."""
    case, planted = case_for_a_slip(question, draw, lambda m, case: first_slip(
        m.read(case.gas), SOUND.read(case.gas), case.gas))
    steps = reading_steps(planted.read(case.gas), case.gas)
    choices = (*(Choice(str(n)) for n in range(1, len(steps) + 1)),
               Choice("none", also=("no slip",)))
    asked = Field("first wrong step", "one", choices, also=("step", "answer", "wrong step"))

    def solve(reader: Reader) -> Answers:
        found = first_slip(planted.read(case.gas), reader.read(case.gas), case.gas)
        return {"first wrong step": str(found) if found else "none"}

    reading = "\n".join(f"{n}. {step}" for n, step in enumerate(steps, start=1))
    right = str(solve(SOUND)["first wrong step"])
    return make_exercise(question, "choose one", (asked,), [case], solve,
                     because=because_of(case, question), whys={"first wrong step": slip_told(
                         steps, reading_steps(SOUND.read(case.gas), case.gas), right)},
                     reading=reading)
