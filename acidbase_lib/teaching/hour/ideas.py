"""Which bedside idea a decision of an hour suggests: what a holder of each would do then."""
from __future__ import annotations

from collections.abc import Mapping

from acidbase_lib.teaching.misconceptions.bedside_ideas import CHOICES, sound_choice
from acidbase_lib.teaching.misconceptions.catalog import MISCONCEPTIONS

from .case import HourCase
from .path import Moment, judge, offered, scene_of


def taken_by_ideas(case: HourCase, moment: Moment) -> Mapping[str, str]:
    """The step that each bedside idea takes at a moment, where it is not what comes first."""
    options = offered(case, moment)
    first = judge(case, moment).first
    named = {option.text: name for name, option in options.items()}
    scene, choices = scene_of(case, moment), tuple(options.values())
    sound = sound_choice(scene, choices)
    taken = {}
    for idea, choose in CHOICES.items():
        chosen = choose(scene, choices)
        if chosen is None or chosen == sound:
            continue
        if (name := named[chosen.text]) != first:
            taken[idea] = name
    return taken


def suggested(case: HourCase, moment: Moment, step: str) -> tuple[str, ...]:
    """What the misconceptions' own texts say of a wrong step; nothing where none takes it.

    Where acting without a look and another idea both take it, the other says more.
    """
    ideas = [idea for idea, taken in taken_by_ideas(case, moment).items() if taken == step]
    if len(ideas) > 1 and "act before assess" in ideas:
        ideas.remove("act before assess")
    return tuple(MISCONCEPTIONS[idea].suggests for idea in ideas[:1])
