"""Recipes about causes and electrolytes: what a cause brings, the gap, which gas fits a story."""
from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace

from acidbase_lib.reading.disorders import METABOLIC_ACIDOSIS
from acidbase_lib.reading.sources import SOURCES
from acidbase_lib.teaching.explanations.gas_table import gas_line, gas_table
from acidbase_lib.teaching.explanations.reading_steps import disorder_of
from acidbase_lib.teaching.feedback.cause_reasons import cause_told, explains_told, story_told
from acidbase_lib.teaching.feedback.gas_set_reasons import gap_sum, gap_told, order_told
from acidbase_lib.teaching.misconceptions.catalog import SOUND, Beliefs, Reader
from acidbase_lib.teaching.patients.cases import Case
from acidbase_lib.teaching.patients.causes import Cause, sources_text
from acidbase_lib.teaching.questions.exercise import Answers, Exercise, ExerciseKind
from acidbase_lib.teaching.questions.fields import STANDARD_FIELDS, Choice, Field, lettered
from acidbase_lib.teaching.questions.question_file import Question, UnitError
from acidbase_lib.teaching.seeded_random import SeededRandom

from .cause_patients import (
    bystander,
    gaps_apart,
    mixed_causes,
    named_cause,
    printed,
    story_of,
    with_gap,
)
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
_REDRAWS = 400  # until as many causes fit as the question is worth


def tell_of_a_cause(question: Question, draw: SeededRandom) -> Exercise:
    """A short history; one mark for each of `parts`: disorder, potassium, chloride, anion gap."""
    cause = named_cause(question, draw.pick(question.more["causes"]))
    asked = tuple(FIELDS[name] for name in question.more["parts"])
    kind: ExerciseKind = question.more.get("kind") or (
        "choose one" if len(asked) == 1 else "several parts")
    return make_exercise(question, kind, asked, [bystander(draw)],
                         lambda reader: kept({f.name: _recalled(reader.recall(cause), f.name)
                                              for f in asked}, asked),
                         because=(cause.because, sources_text((cause,))),
                         whys={f.name: cause_told(cause, f.name, f.words) for f in asked},
                         story=story_of(cause, draw), cause=cause.text)


def sort_the_causes(question: Question, draw: SeededRandom) -> Exercise:
    """Several causes; the disorder that each tends to bring, or another of `FIELDS` by `sorts`."""
    shown = [named_cause(question, key) for key in draw.shuffled(question.more["causes"])]
    shown = mixed_causes(shown, question.more.get("rows", len(shown)))
    sorts = FIELDS[question.more.get("sorts", "disorder")]
    asked = tuple(Field(f"cause {n}", "one", sorts.choices, says=cause.text)
                  for n, cause in enumerate(shown, start=1))

    def solve(reader: Reader) -> Answers:
        return kept({f.name: _recalled(reader.recall(cause), sorts.name)
                     for f, cause in zip(asked, shown, strict=True)}, asked)

    rows = "\n".join(f"- **{f.name.capitalize()}**: {cause.text}"
                     for f, cause in zip(asked, shown, strict=True))
    because = (*(f"{f.name.capitalize()}: {cause.because}"
                 for f, cause in zip(asked, shown, strict=True)), sources_text(shown))
    whys = {f.name: cause_told(cause, sorts.name, f.words)
            for f, cause in zip(asked, shown, strict=True)}
    return make_exercise(question, "grid", asked, [bystander(draw)], solve, because=because,
                         whys=whys, causes=rows)


def work_out_the_gap(question: Question, draw: SeededRandom) -> Exercise:
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
    whys = gap_told(gas, gap, SOUND.read(gas).gap)
    because = (f"Sodium {gas.sodium:.0f} less chloride {gas.chloride:.0f} less bicarbonate "
               f"{gas.hco3:.0f} leaves {gap:.0f} mmol/L.",
               "The range used here is 8–16. "
               + ("Above it, think of an added acid." if gap > 16 else
                  "Inside it, think of bicarbonate that was lost, or chloride that was gained."),
               f"Source: {SOURCES['Sadjadi2013'].citation}")
    return make_exercise(question, "several parts", (GAP_NUMBER, GAP_STATE), [case], solve,
                         because=because, within={"anion gap": WITHIN},
                         whys={"anion gap": whys["number"], "gap is": whys["state"]},
                         salts=gas_table(gas, ("pH", "PaCO2", "bicarbonate", "sodium", "chloride")))


def order_by_gap(question: Question, draw: SeededRandom) -> Exercise:
    """Several metabolic acidoses; from the lowest anion gap to the highest."""
    cases = gaps_apart(question, draw)
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
                   f"{letters[c.seed]} ({gap_sum(c.gas)})"
                   for c in sorted(cases, key=lambda case: gap_of(case, SOUND))) + ".")
    whys = order_told({letters[c.seed]: gap_sum(c.gas) for c in cases}, because[0])
    return make_exercise(question, "put in order", (asked,), cases, solve, because=because,
                         whys={"order": whys}, options=asked.choices)


def all_causes_that_fit(question: Question, draw: SeededRandom) -> Exercise:
    """A gas with electrolytes; select every cause that can explain it."""
    wish, keys = draw.pick(question.wishes), draw.shuffled(question.more["causes"])
    most = int(question.more.get("fits", 3))
    for attempt in range(_REDRAWS):  # until as many fit as the question is worth
        case = with_gap(wish, f"{draw.seed}|{attempt}" if attempt else draw.seed)
        beliefs = SOUND.read(case.gas)
        # a cause that brings this disorder, and by itself not so far, would be disputed: left out
        table = [cause for key in keys
                 if (cause := named_cause(question, key)).disorder != beliefs.disorder
                 or cause.reaches(**printed(case))]
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
               sources_text(fits))
    return make_exercise(question, "select all", (asked,), [case], solve, because=because,
                         whys={"answer": explains_told(
                             dict(zip(asked.words, shown, strict=True)), named)},
                         options=asked.choices)


def gas_for_the_story(question: Question, draw: SeededRandom, *, slot: int) -> Exercise:
    """A short history and four gases; the first wish is of the gas that fits it."""
    cause = named_cause(question, draw.pick(question.more["causes"]))
    gap = cause.gap if cause.disorder == METABOLIC_ACIDOSIS else None
    own = [w for w in question.wishes if (w["disorder"], w.get("gap")) == (cause.disorder, gap)]
    if not own:
        raise UnitError(f"{question.id}: no wish is of {cause.disorder}, which {cause.key!r} "
                        "brings.")
    others = [wish for wish in question.wishes if wish is not own[0]]
    wishes = placed([own[0], *draw.shuffled(others)[:3]], slot)
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
                                f"{gap_sum(case.gas)}."
                                for word, case in zip(asked.words, cases, strict=True)),
               sources_text((cause,)))
    whys = story_told(dict(zip(asked.words, (case.gas for case in cases), strict=True)),
                      asked.words[wishes.index(own[0])])
    return make_exercise(question, "choose one", (asked,), cases, solve, because=because,
                         whys={"answer": whys}, options=asked.choices, story=story_of(cause, draw))


def explain_the_cause(question: Question, draw: SeededRandom) -> Exercise:
    """A short history and a claim; two or three sentences, marked by the instructor."""
    cause = named_cause(question, draw.pick(question.more["causes"]))
    asked = Field("answer", "text", also=("why", "because"),
                  boxes=boxes_of(question))
    made = make_exercise(question, "rationale", (asked,), [bystander(draw)],
                         lambda reader: {"answer": ""}, because=(cause.because,),
                         story=story_of(cause, draw))
    return replace(made, key=None)


# --- what fits what ------------------------------------------------------------------------------

def _fits(cause: Cause, beliefs: Beliefs) -> bool:
    """Whether a remembered cause explains a gas as it is read."""
    if cause.disorder != beliefs.disorder:
        return False
    return cause.disorder != METABOLIC_ACIDOSIS or cause.gap == beliefs.gap


def _bring(cause: Cause) -> str:
    gap = f", {cause.gap} gap" if cause.disorder == METABOLIC_ACIDOSIS else ""
    return f"{cause.text}; this tends to bring {cause.disorder}{gap}"


def _recalled(cause: Cause, name: str) -> str | None:
    return {"disorder": cause.disorder, "potassium": cause.potassium, "chloride": cause.chloride,
            "anion gap": cause.gap, "whole body": cause.store,
            "once insulin works": cause.insulin or None}[name]
