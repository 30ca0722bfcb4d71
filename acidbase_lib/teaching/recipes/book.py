"""From a question as data to an exercise: the book of recipes and how a unit is cooked from it."""
from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from dataclasses import replace
from types import MappingProxyType

from acidbase_lib.teaching.patients.people_names import deal_names, namesakes, recast
from acidbase_lib.teaching.questions.exercise import Exercise
from acidbase_lib.teaching.questions.question_file import (
    BY_HAND,
    Question,
    UnitError,
    UnitPlan,
    unit_ids,
)
from acidbase_lib.teaching.seeded_random import SeededRandom

from .beyond import only_the_gap_speaks, say_why, two_histories, where_it_is_silent, which_cannot_be
from .causes import (
    all_causes_that_fit,
    explain_the_cause,
    gas_for_the_story,
    order_by_gap,
    sort_the_causes,
    tell_of_a_cause,
    work_out_the_gap,
)
from .deal import PICKS
from .facts import true_or_false, which_statement_holds
from .many_patients import all_gases_that, order_by_ph, sort_the_patients, which_gas_fits
from .measuring import convert_pressure, hydrogen_ion_change, what_is_calculated
from .one_patient import (
    choose_the_label,
    find_the_slip,
    name_the_disorder,
    read_in_parts,
    strike_out_by_ph,
)
from .oxygen import (
    all_at_risk,
    choose_the_target,
    find_the_oxygen_slip,
    order_by_ratio,
    read_the_oxygen,
    sort_by_failure,
    work_out_the_gradient,
)
from .ranges import (
    find_the_slip_in_the_numbers,
    read_a_vein,
    sort_the_numbers,
    state_each_number,
)
from .response import (
    choose_with_compensation,
    name_the_compensation,
    read_to_compensation,
    response_and_second,
    slip_in_compensation,
    slip_in_response,
    where_paco2_belongs,
)
from .scene import (
    early_warning_total,
    first_and_why,
    in_order_of_abcde,
    what_first,
    what_to_report,
    which_part,
    written_call,
)
from .start import first_thought, what_it_shows
from .statements import tell_in_one
from .whole_chart import chart_the_patient


def _written_by_hand(question: Question, draw: SeededRandom) -> Exercise:
    """A question in its author's own words; only a school that has its own pays for it."""
    from acidbase_lib.teaching.own_questions.by_hand import written_by_hand

    return written_by_hand(question, draw)


RECIPES: Mapping[str, Callable[..., Exercise]] = MappingProxyType({
    "name the disorder": name_the_disorder,
    "read in parts": read_in_parts,
    "choose the label": choose_the_label,
    "strike out by pH": strike_out_by_ph,
    "find the slip": find_the_slip,
    "which gas fits": which_gas_fits,
    "all gases that": all_gases_that,
    "sort the patients": sort_the_patients,
    "order by pH": order_by_ph,
    "name the compensation": name_the_compensation,
    "read to the compensation": read_to_compensation,
    "choose with compensation": choose_with_compensation,
    "where PaCO2 belongs": where_paco2_belongs,
    "response and second disorder": response_and_second,
    "slip in the compensation": slip_in_compensation,
    "slip in the response": slip_in_response,
    "where the shortcut is silent": where_it_is_silent,
    "two histories": two_histories,
    "only the gap speaks": only_the_gap_speaks,
    "which cannot be": which_cannot_be,
    "say why": say_why,
    "sort the numbers": sort_the_numbers,
    "state each number": state_each_number,
    "convert the pressure": convert_pressure,
    "hydrogen ion change": hydrogen_ion_change,
    "what is calculated": what_is_calculated,
    "read a vein": read_a_vein,
    "find the slip in the numbers": find_the_slip_in_the_numbers,
    "what it shows": what_it_shows,
    "first thought": first_thought,
    "what first": what_first,
    "first and why": first_and_why,
    "what to report": what_to_report,
    "which part of judgment": which_part,
    "in order of ABCDE": in_order_of_abcde,
    "early warning total": early_warning_total,
    "written call": written_call,
    "read the oxygen": read_the_oxygen,
    "work out the gradient": work_out_the_gradient,
    "sort by failure": sort_by_failure,
    "order by ratio": order_by_ratio,
    "choose the target": choose_the_target,
    "all at risk": all_at_risk,
    "find the oxygen slip": find_the_oxygen_slip,
    "tell of a cause": tell_of_a_cause,
    "tell of a cause in one": tell_in_one,
    "sort the causes": sort_the_causes,
    "work out the gap": work_out_the_gap,
    "order by gap": order_by_gap,
    "all causes that fit": all_causes_that_fit,
    "gas for the story": gas_for_the_story,
    "explain the cause": explain_the_cause,
    "chart the patient": chart_the_patient,
    "which statement holds": which_statement_holds,
    "true or false": true_or_false,
    BY_HAND: _written_by_hand,
})

_REDRAWS = 40  # of a question in which two people share a name

# these are given the slot of the key among the choices, dealt out so that no letter comes often
PLACED = frozenset({"choose the label", "choose with compensation", "which gas fits",
                    "gas for the story"})


def cook(plan: UnitPlan, form: int, picks: str = "") -> Iterator[Exercise]:
    """Yield a plan's exercises for one form, in order.

    Parameters
    ----------
    plan : UnitPlan
        The questions as data.
    form : int
        Which set of patients.
    picks : str
        A digit or a letter for each question: which of its candidates was chosen for this form;
        the first one where left out.

    Raises
    ------
    UnitError
        A question names a recipe that is not in the book, or `picks` does not fit.
    """
    chosen = [PICKS.find(letter) for letter in picks or "0" * len(plan.questions)]
    if len(chosen) != len(plan.questions) or not all(0 <= at < plan.candidates for at in chosen):
        raise UnitError(f"picks = {picks[:60]!r} does not fit {plan.id}: it takes one of "
                        f"{PICKS[:plan.candidates]} for each of the {len(plan.questions)} "
                        "questions. For a question that is new, put a 0 at its place.")
    slots = _slots(plan, form)
    for question, pick in zip(plan.questions, chosen, strict=True):
        yield cook_one(plan, question, form, pick, slots.get(question.id, 0))


def candidates(plan: UnitPlan, form: int) -> list[list[Exercise]]:
    """Return every candidate of every question of a form, from which a sitting is chosen."""
    slots = _slots(plan, form)
    return [[cook_one(plan, question, form, pick, slots.get(question.id, 0))
             for pick in range(plan.candidates)] for question in plan.questions]


def cook_one(plan: UnitPlan, question: Question, form: int, pick: int, slot: int) -> Exercise:
    """Return one candidate of one question; `slot` is where its key stands, if that is dealt."""
    recipe = RECIPES.get(question.recipe)
    if recipe is None:
        raise UnitError(f"{plan.id}, {question.id}: there is no recipe {question.recipe!r}. "
                        f"The recipes are: {', '.join(RECIPES)}.")
    seed = f"{plan.id}|{question.id}|{form}|{pick}"
    dealt = {"slot": slot} if question.recipe in PLACED else {}
    made = recipe(question, SeededRandom(seed), **dealt)
    for again in range(1, _REDRAWS):
        if not namesakes(made):
            break
        made = recipe(question, SeededRandom(f"{seed}|{again}"), **dealt)
    pools = deal_names((q.id for q in plan.questions), f"{plan.id}|{form}")
    named = recast(made, pools[question.id])
    return replace(named, origin=question.origin, recipe=question.recipe,
                   because=(*named.because, *_shown_in(question)))


def _shown_in(question: Question) -> Iterator[str]:
    """Of a question asked before its teaching: which unit teaches it."""
    if "shown_in" in question.more:
        name = str(question.more["shown_in"])
        if name not in unit_ids():
            raise UnitError(f"{question.id}: shown_in = {name[:60]!r} is not a unit. The units "
                            f"are: {', '.join(unit_ids())}.")
        yield f"Unit {int(name[:2])} shows how."


def _slots(plan: UnitPlan, form: int) -> dict[str, int]:
    """Deal out the letters A to D among the keys, each about as often as the others."""
    dealt = [question.id for question in plan.questions if question.recipe in PLACED]
    return dict(
        zip(dealt, SeededRandom(f"{plan.id}|places|{form}").spread(len(dealt), 4), strict=True)
    )
