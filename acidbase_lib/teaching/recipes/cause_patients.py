"""Patients for questions about causes: a story told, a gas with its gap, gaps that lie apart."""
from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from itertools import pairwise
from typing import Any

from acidbase_lib.teaching.misconceptions.catalog import SOUND
from acidbase_lib.teaching.patients.cases import Case, draw_case
from acidbase_lib.teaching.patients.causes import Cause, causes
from acidbase_lib.teaching.patients.people import draw_person
from acidbase_lib.teaching.patients.vignettes import Vignette
from acidbase_lib.teaching.questions.question_file import Question, UnitError
from acidbase_lib.teaching.seeded_random import SeededRandom

_ABOUT = Vignette("story", "causes", "", "", "", "days", (22, 80), (14, 14), (80, 80), (120, 120),
                  (36.8, 36.8), ("A", "A", "A"), (8, 8))
_REDRAWS = 400  # a gap that lies in its range is rare in some disorders


def named_cause(question: Question, key: str) -> Cause:
    if key not in causes():
        raise UnitError(f"{question.id}: the table has no cause {key!r}. It has "
                        f"{', '.join(causes())}.")
    return causes()[key]


def story_of(cause: Cause, draw: SeededRandom) -> str:
    """The history, told of an invented patient."""
    history = replace(_ABOUT, ward=cause.ward, text=cause.story)
    return history.told_of(draw_person(draw.branch("people"), history.age))


def bystander(draw: SeededRandom) -> Case:
    """A case for a question that prints no gas: its numbers are not shown."""
    return draw_case("normal", seed=f"{draw.seed}|unseen")


def printed(case: Case) -> dict[str, float]:
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
        far = of is not None and not of.reaches(**printed(case))
        if plain and gap is not None and not far and wanted in (None, gap.state) and (
                clear_of_ends(gap.value)):
            return case
    raise UnitError(f"no patient was found with {wish}.")


def clear_of_ends(gap: float) -> bool:
    """Whether a gap keeps clear of 8 and 16, so that rounding does not decide it."""
    return not 15 <= gap <= 17 and not 7 <= gap <= 8


def gaps_apart(question: Question, draw: SeededRandom) -> list[Case]:
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


def mixed_causes(shown: Sequence[Cause], rows: int) -> list[Cause]:
    """The first `rows` causes, every disorder among them where it can be."""
    first: list[Cause] = []
    for cause in shown:
        if cause.disorder not in {c.disorder for c in first}:
            first.append(cause)
    rest = [cause for cause in shown if cause not in first]
    return [cause for cause in shown if cause in [*first, *rest][:rows]]
