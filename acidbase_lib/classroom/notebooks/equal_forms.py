"""A form of one's own for each learner, of equal difficulty by the unit's own plan."""
from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace

from acidbase_lib.teaching.questions.question_file import UnitPlan
from acidbase_lib.teaching.recipes.deal import PICKS, deal, draw_order
from acidbase_lib.teaching.seeded_random import SeededRandom
from acidbase_lib.teaching.unit import Unit

HIGHEST = 999_999  # the highest number of a form
LOOKED_AT = 12_000  # forms of which the commonest kinds of patients are taken for everybody
MOST = 40_000  # forms that are tried for one learner
COUNTED = ("disorder", "compensation", "severity", "second")  # of a wish for a patient

Kinds = Mapping[str, int]  # what patients are to show: of how many a form's plan asks it


class EqualFormsError(ValueError):
    """No further form of equal difficulty was found; the text says what to do."""


@dataclass(frozen=True, slots=True)
class OwnForm:
    """One learner's form: its number, the patients picked, and what stands in each place."""

    form: int
    order: str
    picks: str = ""


def kinds_of(plan: UnitPlan, form: int) -> Kinds:
    """Count what a form's plan asks of its patients: disorders, compensation, severity, a second.

    Nothing is drawn: the plan is dealt, and what it wishes for is counted. What the plan leaves
    open, such as most severities, is drawn with the patient and is not counted here.
    """
    dealt = deal(plan, form, PICKS[:len(plan.questions)])
    return Counter(
        f"a second {wish[name]}" if name == "second" else str(wish[name])
        for question in dealt.questions for wish in question.wishes
        for name in COUNTED if wish.get(name))


def what_varies(plan: UnitPlan) -> UnitPlan:
    """Return the plan with those questions alone that ask of others in another form."""
    return replace(plan, questions=tuple(
        question for question in plan.questions if question.variants or question.more.get("deals")))


def kinds_for_all(plan: UnitPlan, seed: int) -> Kinds:
    """Return the kinds of patients that most forms of a unit ask for, the first where alike."""
    varies = what_varies(plan)
    draw = SeededRandom(f"{plan.id}|kinds|{seed}")
    seen = Counter(frozenset(kinds_of(varies, draw.whole(1, HIGHEST)).items())
                   for _ in range(LOOKED_AT))
    return dict(seen.most_common(1)[0][0])


def own_forms(plan: UnitPlan, seed: int, learners: Iterable[str],
              kept: Mapping[str, OwnForm]) -> dict[str, OwnForm]:
    """Draw a form for each learner, no two alike; all ask for the same kinds of patients.

    Parameters
    ----------
    plan : UnitPlan
        The unit's questions.
    seed : int
        The class's seed.
    learners : iterable of str
        Their ids; a learner's form follows from the id, not from the place in the list.
    kept : mapping of str to OwnForm
        Whom a form was made for before: they keep it.

    Raises
    ------
    EqualFormsError
        None is left that asks for the same kinds.
    """
    varies, kinds = what_varies(plan), kinds_for_all(plan, seed)
    taken = {one.form for one in kept.values()}
    found: dict[str, OwnForm] = {}
    for learner in learners:
        if learner in kept:
            found[learner] = kept[learner]
            continue
        draw = SeededRandom(f"{plan.id}|own|{seed}|{learner}")
        form = next((number for _ in range(MOST) if (number := draw.whole(1, HIGHEST)) not in taken
                     and kinds_of(varies, number) == kinds), None)
        if form is None:
            raise EqualFormsError(
                f"Of {MOST:,} forms of {plan.id} none asks {learner} for the same kinds of "
                "patients as the others' do. Take another --seed.")
        taken.add(form)
        found[learner] = OwnForm(form, draw_order(plan, form))
    return found


def own_unit(plan: UnitPlan, own: OwnForm, worth: Mapping[str, float]) -> Unit:
    """Draw a learner's patients; each question is worth as much as everybody's.

    Parameters
    ----------
    plan : UnitPlan
        The unit's questions.
    own : OwnForm
        The learner's form.
    worth : mapping of str to float
        The points of each of the unit's questions.

    Raises
    ------
    EqualFormsError
        None of a question's patients makes it worth as much.
    """
    picks = [PICKS.index(letter) for letter in own.picks or "0" * len(plan.questions)]
    while True:
        unit = Unit(plan, own.form, "".join(PICKS[at] for at in picks), own.order)
        other = [at for at, exercise in enumerate(unit)
                 if exercise.points != worth[unit.origins[exercise.id]]]
        if not other:
            return unit
        for at in other:
            picks[at] += 1
        if max(picks) >= plan.candidates:
            raise EqualFormsError(f"Form {own.form} of {plan.id} has a question that is worth "
                                  "other points than everybody's. Take another --seed.")
