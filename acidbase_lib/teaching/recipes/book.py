"""From a question as data to an exercise: the book of recipes and how a unit is cooked from it."""
from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from dataclasses import replace
from importlib import import_module
from types import MappingProxyType
from typing import Final

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

from .deal import PICKS


class Book(Mapping[str, Callable[..., Exercise]]):
    """Recipes by their names; a recipe's module is loaded when it is first cooked from.

    So a unit's kernel holds the recipes of that unit alone.
    """

    def __init__(self, places: Mapping[str, str]) -> None:
        self._places = places

    def __getitem__(self, name: str) -> Callable[..., Exercise]:
        module, _, function = self._places[name].rpartition(".")
        recipe: Callable[..., Exercise] = getattr(import_module(module, __package__), function)
        return recipe

    def __iter__(self) -> Iterator[str]:
        return iter(self._places)

    def __len__(self) -> int:
        return len(self._places)


#: The recipe whose lines are the decisions of one hour.
AN_HOUR: Final = "an hour in decisions"
RECIPES: Final = Book(MappingProxyType({
    "name the disorder": ".one_patient.name_the_disorder",
    "read in parts": ".one_patient.read_in_parts",
    "choose the label": ".one_patient.choose_the_label",
    "strike out by pH": ".one_patient.strike_out_by_ph",
    "find the slip": ".one_patient.find_the_slip",
    "which gas fits": ".many_patients.which_gas_fits",
    "all gases that": ".many_patients.all_gases_that",
    "sort the patients": ".many_patients.sort_the_patients",
    "order by pH": ".many_patients.order_by_ph",
    "name the compensation": ".response.name_the_compensation",
    "read to the compensation": ".response.read_to_compensation",
    "choose with compensation": ".response.choose_with_compensation",
    "where PaCO2 belongs": ".response.where_paco2_belongs",
    "response and second disorder": ".response.response_and_second",
    "slip in the compensation": ".response.slip_in_compensation",
    "slip in the response": ".response.slip_in_response",
    "where the shortcut is silent": ".beyond.where_it_is_silent",
    "two histories": ".beyond.two_histories",
    "only the gap speaks": ".beyond.only_the_gap_speaks",
    "which cannot be": ".beyond.which_cannot_be",
    "say why": ".beyond.say_why",
    "sort the numbers": ".ranges.sort_the_numbers",
    "state each number": ".ranges.state_each_number",
    "convert the pressure": ".measuring.convert_pressure",
    "hydrogen ion change": ".measuring.hydrogen_ion_change",
    "what is calculated": ".measuring.what_is_calculated",
    "read a vein": ".ranges.read_a_vein",
    "find the slip in the numbers": ".ranges.find_the_slip_in_the_numbers",
    "what it shows": ".start.what_it_shows",
    "first thought": ".start.first_thought",
    "what first": ".scene.what_first",
    "first and why": ".scene.first_and_why",
    "what to report": ".scene.what_to_report",
    "which part of judgment": ".scene.which_part",
    "in order of ABCDE": ".scene.in_order_of_abcde",
    "early warning total": ".scene.early_warning_total",
    "written call": ".scene.written_call",
    "read the oxygen": ".oxygen.read_the_oxygen",
    "work out the gradient": ".oxygen.work_out_the_gradient",
    "sort by failure": ".oxygen.sort_by_failure",
    "order by ratio": ".oxygen.order_by_ratio",
    "choose the target": ".oxygen.choose_the_target",
    "all at risk": ".oxygen.all_at_risk",
    "find the oxygen slip": ".oxygen.find_the_oxygen_slip",
    "tell of a cause": ".causes.tell_of_a_cause",
    "tell of a cause in one": ".statements.tell_in_one",
    "sort the causes": ".causes.sort_the_causes",
    "work out the gap": ".causes.work_out_the_gap",
    "order by gap": ".causes.order_by_gap",
    "all causes that fit": ".causes.all_causes_that_fit",
    "gas for the story": ".causes.gas_for_the_story",
    "explain the cause": ".causes.explain_the_cause",
    "chart the patient": ".whole_chart.chart_the_patient",
    "which statement holds": ".facts.which_statement_holds",
    "true or false": ".facts.true_or_false",
    AN_HOUR: "acidbase_lib.teaching.hour.decisions.an_hour_in_decisions",
    BY_HAND: "acidbase_lib.teaching.own_questions.by_hand.written_by_hand",
}))

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
