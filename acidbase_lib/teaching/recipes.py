"""From a question as data to an exercise: the book of recipes and how a unit is cooked from it."""
from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from types import MappingProxyType

from .draw import Draw
from .exercises import Exercise
from .questions import Question, UnitError, UnitPlan
from .recipes_many_patients import all_gases_that, order_by_ph, sort_the_patients, which_gas_fits
from .recipes_one_patient import (
    choose_the_label,
    find_the_slip,
    name_the_disorder,
    read_in_parts,
    strike_out_by_ph,
)

RECIPES: Mapping[str, Callable[[Question, Draw, int], Exercise]] = MappingProxyType({
    "name the disorder": name_the_disorder,
    "read in parts": read_in_parts,
    "choose the label": choose_the_label,
    "strike out by pH": strike_out_by_ph,
    "find the slip": find_the_slip,
    "which gas fits": which_gas_fits,
    "all gases that": all_gases_that,
    "sort the patients": sort_the_patients,
    "order by pH": order_by_ph,
})

PLACED = frozenset({"choose the label", "which gas fits"})  # the key's letter is dealt out


VARIANTS = 10  # candidates of one question; a digit of `picks` names one


def cook(plan: UnitPlan, form: int, picks: str = "") -> Iterator[Exercise]:
    """Yield a plan's exercises for one form, in order.

    Parameters
    ----------
    plan : UnitPlan
        The questions as data.
    form : int
        Which set of patients.
    picks : str
        A digit for each question: which of its ten candidates was chosen for this form; the
        first one where left out.

    Raises
    ------
    UnitError
        A question names a recipe that is not in the book, or `picks` does not fit.
    """
    if picks and (len(picks) != len(plan.questions) or not (picks.isascii() and picks.isdigit())):
        raise UnitError(f"picks = {picks!r} does not fit {plan.id}: it takes one digit for each of "
                        f"the {len(plan.questions)} questions.")
    places = _places(plan, form)
    for question, pick in zip(plan.questions, picks or "0" * len(plan.questions), strict=True):
        yield cook_one(plan, question, form, int(pick), places.get(question.id, 0))


def candidates(plan: UnitPlan, form: int) -> list[list[Exercise]]:
    """Return every candidate of every question of a form, from which a sitting is chosen."""
    places = _places(plan, form)
    return [[cook_one(plan, question, form, pick, places.get(question.id, 0))
             for pick in range(VARIANTS)] for question in plan.questions]


def cook_one(plan: UnitPlan, question: Question, form: int, pick: int, place: int) -> Exercise:
    """Return one candidate of one question."""
    recipe = RECIPES.get(question.recipe)
    if recipe is None:
        raise UnitError(f"{plan.id}, {question.id}: there is no recipe {question.recipe!r}. "
                        f"The recipes are: {', '.join(RECIPES)}.")
    return recipe(question, Draw(f"{plan.id}|{question.id}|{form}|{pick}"), place)


def _places(plan: UnitPlan, form: int) -> dict[str, int]:
    """Deal out the letters A to D among the keys, each about as often as the others."""
    dealt = [question.id for question in plan.questions if question.recipe in PLACED]
    return dict(zip(dealt, Draw(f"{plan.id}|places|{form}").spread(len(dealt), 4), strict=True))
