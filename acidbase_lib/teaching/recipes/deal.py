"""Deal a unit's questions out for a form: which one, which variant and patient, in which place."""
from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from types import MappingProxyType
from typing import Any

from acidbase_lib.teaching.questions.question_file import Question, UnitError, UnitPlan
from acidbase_lib.teaching.seeded_random import SeededRandom

PICKS = "0123456789abcdefghijklmnopqrstuvwxyz"  # a letter of `picks` names one candidate


def draw_order(plan: UnitPlan, form: int) -> str:
    """Return which question stands in each place of a form, a letter for each.

    Every order is as likely, so what stands in a place of one form tells nothing of another.
    """
    dealt = SeededRandom(f"{plan.id}|order|{form}").shuffled(range(len(plan.questions)))
    return "".join(PICKS[at] for at in dealt)


def deal(plan: UnitPlan, form: int, order: str) -> UnitPlan:
    """Return the plan of one form: the questions in its order, each with what it asks this time.

    A question keeps its points; its place gives it the id. Of its variants one is drawn, of the
    patients that it may be asked about one kind, both before any patient is chosen: what tells
    wrong ideas apart best has no say in what the right answer is.

    Parameters
    ----------
    plan : UnitPlan
        The unit's questions as the lesson asks them.
    form : int
        The seed of the form.
    order : str
        Which question stands in each place; see ``draw_order``.

    Raises
    ------
    UnitError
        The order does not name each question once.
    """
    known = PICKS[:len(plan.questions)]
    if sorted(order) != sorted(known):
        raise UnitError(f"order = {order[:60]!r} does not fit {plan.id}: it takes "
                        f"each of {known} once.")
    sides = _sides(plan, form)
    dealt = []
    for place, letter in zip(plan.questions, order, strict=True):
        question = plan.questions[PICKS.index(letter)]
        draw = SeededRandom(f"{plan.id}|deal|{question.id}|{form}")
        asked = _narrowed(draw.pick(question.variants or (question,)), draw,
                          sides.get(question.id, 0))
        dealt.append(replace(asked, id=place.id, origin=question.id, variants=()))
    return replace(plan, questions=tuple(dealt))


def _sides(plan: UnitPlan, form: int) -> dict[str, int]:
    """Of the questions that deal a side, half are on each: 0 acid, 1 alkaline."""
    sided = [q.id for q in plan.questions if "side" in q.more.get("deals", ())]
    return dict(
        zip(sided, SeededRandom(f"{plan.id}|sides|{form}").spread(len(sided), 2), strict=True)
    )


def _narrowed(question: Question, draw: SeededRandom, side: int) -> Question:
    """Of each list that `deals` names one entry is left; `side` leaves one half of the wishes."""
    more: dict[str, Any] = dict(question.more)
    wishes = question.wishes
    for name in more.pop("deals", ()):
        if name == "wishes":
            wishes = (draw.pick(wishes),)
        elif name == "side":
            half = len(wishes) // 2
            wishes = wishes[half:] if side else wishes[:half]
        elif name in more:
            more[name] = [draw.pick(more[name])]
        else:
            raise UnitError(f"{question.id}: deals = {name!r}, and there is no such list.")
    frozen: Mapping[str, Any] = MappingProxyType(more)
    return replace(question, wishes=wishes, more=frozen)
