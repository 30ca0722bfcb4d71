"""Recipes about causes and electrolytes: what a cause brings, the gap, which gas fits a story."""
from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from itertools import pairwise
from typing import Any

from acidbase_lib.reading.disorders import METABOLIC_ACIDOSIS
from acidbase_lib.reading.sources import SOURCES
from acidbase_lib.teaching.explanations.gas_table import gas_line, gas_table
from acidbase_lib.teaching.explanations.reading_steps import disorder_of
from acidbase_lib.teaching.misconceptions.catalog import SOUND, Beliefs, Reader
from acidbase_lib.teaching.patients.cases import Case, draw_case
from acidbase_lib.teaching.patients.causes import Cause, causes, sources_told
from acidbase_lib.teaching.patients.vignettes import Patient, Vignette, draw_patient
from acidbase_lib.teaching.questions.exercise import Answers, Exercise, ExerciseKind
from acidbase_lib.teaching.questions.fields import STANDARD_FIELDS, Choice, Field, lettered
from acidbase_lib.teaching.questions.question_file import Question, UnitError
from acidbase_lib.teaching.seeded_random import SeededRandom

from .parts import boxes_of, kept, make_exercise, placed

_LEVEL = (Choice("low", also=("down", "falls", "lower")),
          Choice("little change", also=("normal", "unchanged", "the same", "no change", "stays")),
          Choice("high", also=("up", "rises", "higher")))
GAP = Field("anion gap", "one", (Choice("normal", also=("in range",)),
                                 Choice("high", also=("raised", "wide"))), also=("gap",))
GAP_NUMBER = Field("anion gap", "number", unit="mmol/L", also=("gap", "ag"))
GAP_STATE = Field("gap is", "one", GAP.choices, also=("state", "gap state"))
FIELDS: Mapping[str, Field] = {
    "disorder": STANDARD_FIELDS["disorder"],
    "potassium": Field("potassium", "one", _LEVEL, also=("k", "k+")),
    "chloride": Field("chloride", "one", STANDARD_FIELDS["PaO2"].choices, also=("cl", "cl-")),
    "anion gap": GAP,
    "whole body": Field("whole body", "one", _LEVEL, also=("body", "in the whole body", "store")),
    "once insulin works": Field("once insulin works", "one", (
        Choice("falls", also=("low", "lower", "goes down", "down")),
        Choice("little change", also=("normal", "unchanged", "stays", "no change")),
        Choice("rises", also=("high", "higher", "goes up", "up"))), also=("insulin", "later")),
}
WITHIN = 1.0  # of a gap: whole numbers are printed [mmol/L]
_ABOUT = Vignette("story", "causes", "", "", "", "days", (22, 80), (14, 14), (80, 80), (120, 120),
                  (36.8, 36.8), ("A", "A", "A"), (8, 8))
_REDRAWS = 400  # a gap that lies in its range is rare in some disorders


def tell_of_a_cause(question: Question, draw: SeededRandom, place: int) -> Exercise:
    """A short history; one mark for each of `parts`: disorder, potassium, chloride, anion gap."""
    cause = _named(question, draw.pick(question.more["causes"]))
    asked = tuple(FIELDS[name] for name in question.more["parts"])
    kind: ExerciseKind = question.more.get("kind") or (
        "choose one" if len(asked) == 1 else "several parts")
    return make_exercise(question, kind, asked, [_bystander(draw)],
                         lambda reader: kept({f.name: _recalled(reader.recall(cause), f.name)
                                              for f in asked}, asked),
                         because=(cause.because, sources_told((cause,))),
                         story=_story(cause, draw), cause=cause.text)


def sort_the_causes(question: Question, draw: SeededRandom, place: int) -> Exercise:
    """Several causes; the disorder that each tends to bring, or another of `FIELDS` by `sorts`."""
    shown = [_named(question, key) for key in draw.shuffled(question.more["causes"])]
    shown = _mixed(shown, question.more.get("rows", len(shown)))
    sorts = FIELDS[question.more.get("sorts", "disorder")]
    asked = tuple(Field(f"cause {n}", "one", sorts.choices, says=cause.text)
                  for n, cause in enumerate(shown, start=1))

    def solve(reader: Reader) -> Answers:
        return kept({f.name: _recalled(reader.recall(cause), sorts.name)
                     for f, cause in zip(asked, shown, strict=True)}, asked)

    rows = "\n".join(f"- **{f.name.capitalize()}**: {cause.text}"
                     for f, cause in zip(asked, shown, strict=True))
    because = (*(f"{f.name.capitalize()}: {cause.because}"
                 for f, cause in zip(asked, shown, strict=True)), sources_told(shown))
    return make_exercise(question, "grid", asked, [_bystander(draw)], solve, because=because,
                         causes=rows)


def work_out_the_gap(question: Question, draw: SeededRandom, place: int) -> Exercise:
    """One patient with electrolytes; the anion gap, and whether it is high."""
    case = with_gap(draw.pick(question.wishes), draw.seed)
    gas = case.gas

    def solve(reader: Reader) -> Answers:
        beliefs = reader.read(gas)
        said = kept({"gap is": beliefs.gap}, (GAP_STATE,))
        if beliefs.gap_value is None:
            return said
        return {"anion gap": float(round(beliefs.gap_value)), **said}

    gap = SOUND.read(gas).gap_value or 0.0
    because = (f"Sodium {gas.sodium:.0f} less chloride {gas.chloride:.0f} less bicarbonate "
               f"{gas.hco3:.0f} leaves {gap:.0f} mmol/L.",
               "The range used here is 8–16. "
               + ("Above it, think of an added acid." if gap > 16 else
                  "Inside it, think of bicarbonate that was lost, or chloride that was gained."),
               f"Source: {SOURCES['Sadjadi2013'].citation}")
    return make_exercise(question, "several parts", (GAP_NUMBER, GAP_STATE), [case], solve,
                         because=because, within={"anion gap": WITHIN},
                         salts=gas_table(gas, ("pH", "PaCO2", "bicarbonate", "sodium", "chloride")))


def order_by_gap(question: Question, draw: SeededRandom, place: int) -> Exercise:
    """Several metabolic acidoses; from the lowest anion gap to the highest."""
    cases = _apart(question, draw)
    asked = Field("order", "order", lettered(
        gas_line(case.gas, ("sodium", "chloride", "bicarbonate")) for case in cases))
    letters = dict(zip((case.seed for case in cases), asked.words, strict=True))

    def gap_of(case: Case, reader: Reader) -> float:
        value = reader.read(case.gas).gap_value
        return value if value is not None else -1.0

    def solve(reader: Reader) -> Answers:
        if any(gap_of(case, reader) < 0 for case in cases):
            return {}  # never worked out: any order would be a guess
        ordered = sorted(cases, key=lambda case: gap_of(case, reader))
        return {"order": tuple(letters[case.seed] for case in ordered)}

    because = ("Sodium less chloride less bicarbonate, for each.",
               "From the lowest: " + ", ".join(
                   f"{letters[c.seed]} ({gap_of(c, SOUND):.0f})"
                   for c in sorted(cases, key=lambda case: gap_of(case, SOUND))) + ".")
    return make_exercise(question, "put in order", (asked,), cases, solve, because=because,
                         options=asked.choices)


def all_causes_that_fit(question: Question, draw: SeededRandom, place: int) -> Exercise:
    """A gas with electrolytes; select every cause that can explain it."""
    wish, keys = draw.pick(question.wishes), draw.shuffled(question.more["causes"])
    most = int(question.more.get("fits", 3))
    for attempt in range(_REDRAWS):  # until as many fit as the question is worth
        case = with_gap(wish, f"{draw.seed}|{attempt}" if attempt else draw.seed)
        beliefs = SOUND.read(case.gas)
        # a cause that brings this disorder, and by itself not so far, would be disputed: left out
        table = [cause for key in keys
                 if (cause := _named(question, key)).disorder != beliefs.disorder
                 or cause.reaches(**_printed(case))]
        fits = [cause for cause in table if _fits(cause, beliefs)]
        if len(fits) >= most:
            break
    else:
        raise UnitError(f"{question.id}: no patient was found whom {most} of the causes fit.")
    # at least as many that do not fit as do, so that ticking everything earns nothing
    near = [c for c in table if c not in fits and c.disorder == beliefs.disorder]
    far = [c for c in table if c not in fits and c not in near]
    shown = draw.shuffled([*fits[:most], *near[:2], *far[:most + 1 - len(near[:2])]])
    asked = Field("answer", "many", lettered(cause.text for cause in shown))

    def solve(reader: Reader) -> Answers:
        read = reader.read(case.gas)
        return {"answer": tuple(word for word, cause in zip(asked.words, shown, strict=True)
                                if _fits(reader.recall(cause), read))}

    named = f"{beliefs.disorder} with a {beliefs.gap} anion gap" if (
        beliefs.disorder == METABOLIC_ACIDOSIS) else f"{beliefs.disorder}"
    because = (f"The gas shows {named}.",
               *(f"{word}: {_bring(cause)}." for word, cause in zip(asked.words, shown,
                                                                    strict=True)),
               sources_told(fits))
    return make_exercise(question, "select all", (asked,), [case], solve, because=because,
                         options=asked.choices)


def gas_for_the_story(question: Question, draw: SeededRandom, place: int) -> Exercise:
    """A short history and four gases; the first wish is of the gas that fits it."""
    cause = _named(question, draw.pick(question.more["causes"]))
    gap = cause.gap if cause.disorder == METABOLIC_ACIDOSIS else None
    own = [w for w in question.wishes if (w["disorder"], w.get("gap")) == (cause.disorder, gap)]
    if not own:
        raise UnitError(f"{question.id}: no wish is of {cause.disorder}, which {cause.key!r} "
                        "brings.")
    others = [wish for wish in question.wishes if wish is not own[0]]
    wishes = placed([own[0], *draw.shuffled(others)[:3]], place)
    cases = [with_gap(wish, f"{draw.seed}|{i}", cause if wish is own[0] else None)
             for i, wish in enumerate(wishes)]
    shows = question.more.get("shows", ("pH", "PaCO2", "bicarbonate", "sodium", "chloride"))
    asked = Field("answer", "one", lettered(gas_line(case.gas, shows) for case in cases))

    def solve(reader: Reader) -> Answers:
        recalled = reader.recall(cause)
        found = [word for word, case in zip(asked.words, cases, strict=True)
                 if _fits(recalled, reader.read(case.gas))]
        return {"answer": found[0]} if len(found) == 1 else {}

    because = (cause.because, *(f"{word}: {disorder_of(SOUND.read(case.gas))}, anion gap "
                                f"{SOUND.read(case.gas).gap_value:.0f}."
                                for word, case in zip(asked.words, cases, strict=True)),
               sources_told((cause,)))
    return make_exercise(question, "choose one", (asked,), cases, solve, because=because,
                         options=asked.choices, story=_story(cause, draw))


def explain_the_cause(question: Question, draw: SeededRandom, place: int) -> Exercise:
    """A short history and a claim; two or three sentences, marked by the instructor."""
    cause = _named(question, draw.pick(question.more["causes"]))
    asked = Field("answer", "text", also=("why", "because"),
                  boxes=boxes_of(question))
    made = make_exercise(question, "rationale", (asked,), [_bystander(draw)],
                         lambda reader: {"answer": ""}, because=(cause.because,),
                         story=_story(cause, draw))
    return replace(made, key=None)


# --- what fits what ------------------------------------------------------------------------------

def _fits(cause: Cause, beliefs: Beliefs) -> bool:
    """Whether a remembered cause explains a gas as it is read."""
    if cause.disorder != beliefs.disorder:
        return False
    return cause.disorder != METABOLIC_ACIDOSIS or cause.gap == beliefs.gap


def _bring(cause: Cause) -> str:
    gap = f", {cause.gap} gap" if cause.disorder == METABOLIC_ACIDOSIS else ""
    return f"{cause.text} tends to bring {cause.disorder}{gap}"


def _recalled(cause: Cause, name: str) -> str | None:
    return {"disorder": cause.disorder, "potassium": cause.potassium, "chloride": cause.chloride,
            "anion gap": cause.gap, "whole body": cause.store,
            "once insulin works": cause.insulin or None}[name]


# --- drawing -------------------------------------------------------------------------------------

def _named(question: Question, key: str) -> Cause:
    if key not in causes():
        raise UnitError(f"{question.id}: the table has no cause {key!r}. It has "
                        f"{', '.join(causes())}.")
    return causes()[key]


def _story(cause: Cause, draw: SeededRandom) -> str:
    """The history, told of an invented patient."""
    people = draw.branch("people")
    person = draw_patient(_ABOUT, people)
    told = replace(_ABOUT, ward=cause.ward, text=cause.story)
    return told.told_of(Patient(person.first, person.family, person.pronouns, person.age,
                                cause.ward))


def _bystander(draw: SeededRandom) -> Case:
    """A case for a question that prints no gas: its numbers are not shown."""
    return draw_case("normal", seed=f"{draw.seed}|unseen")


def _printed(case: Case) -> dict[str, float]:
    return {"paco2": case.gas.paco2, "hco3": case.gas.hco3}


def with_gap(wish: Mapping[str, Any], seed: int | str, of: Cause | None = None) -> Case:
    """Draw a case with electrolytes; `gap` in the wish asks for a normal or a high one.

    With `of` the numbers go no further than that cause does by itself.
    """
    own = {"electrolytes": True, **wish}
    wanted = own.pop("gap", None)
    for attempt in range(_REDRAWS):
        case = draw_case(**own, seed=f"{seed}|{attempt}")
        gap = case.reading.anion_gap
        plain = gap is not None and gap.corrected is not None and (
            abs(gap.corrected - gap.value) < 0.6)  # so that the plain sum tells the same story
        far = of is not None and not of.reaches(**_printed(case))
        if plain and gap is not None and not far and wanted in (None, gap.state) and (
                clear_of_ends(gap.value)):
            return case
    raise UnitError(f"no patient was found with {wish}.")


def clear_of_ends(gap: float) -> bool:
    """Whether a gap keeps clear of 8 and 16, so that rounding does not decide it."""
    return not 15 <= gap <= 17 and not 7 <= gap <= 8


def _apart(question: Question, draw: SeededRandom) -> list[Case]:
    """Cases whose gaps lie at least 3 apart, in another order than their bicarbonate."""
    for attempt in range(_REDRAWS):
        cases = [with_gap(wish, f"{draw.seed}|{attempt}|{n}")
                 for n, wish in enumerate(question.wishes)]
        gaps = sorted(SOUND.read(case.gas).gap_value or 0.0 for case in cases)
        apart = sorted(float((c.gas.sodium or 0) - (c.gas.chloride or 0)) for c in cases)
        if min(b - a for a, b in pairwise(gaps)) >= 3 and (
                len(set(apart)) == len(apart)):
            return draw.shuffled(cases)
    raise UnitError(f"{question.id}: no gases were found whose gaps lie apart.")


def _mixed(shown: Sequence[Cause], rows: int) -> list[Cause]:
    """The first `rows` causes, every disorder among them where it can be."""
    first: list[Cause] = []
    for cause in shown:
        if cause.disorder not in {c.disorder for c in first}:
            first.append(cause)
    rest = [cause for cause in shown if cause not in first]
    return [cause for cause in shown if cause in [*first, *rest][:rows]]
