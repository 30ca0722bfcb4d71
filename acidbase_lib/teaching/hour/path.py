"""A path through an hour: what is offered, what it leads to, and what would have come first."""
from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Final

from acidbase_lib.reading.blood_gas import BloodGas
from acidbase_lib.reading.priority.first_action import first_action
from acidbase_lib.reading.priority.scene import Option, Scene

from .body import HourNumbers, HourState, danger, minutes, numbers_of
from .case import LOOK, HourCase, by_the_school

HOUR: Final = 60
MOST_DECISIONS: Final = 8
#: A look is old after so many minutes. (common practice) [min]
FRESH: Final = 10
#: A look where nothing has been done since the last one: some time is let pass. [min]
WAIT: Final = 5
#: The rule that finds no threat: an option is worth doing by it, none comes first in such an hour.
QUIET: Final = "the one that acts"
#: Of these the last one holds: a device takes the place of the one before.
OXYGEN: Final = ("oxygen up", "oxygen titrated", "oxygen withheld")
#: What old numbers do not hold up: breaths that are too few stay so. (common practice)
AT_ONCE: Final = ("ventilatory support", "life support")
#: With one of these done the threat last seen may have been met, so a look comes first.
MEETS: Final = frozenset({"call for help", "drug", *AT_ONCE})
#: The rules whose finding does not pass by itself.
HOLDS: Final = ("too little breathing", "oxygen at once", "too much oxygen", "tiring",
                "acid from CO2", "circulation", "low glucose", "known problem")
OLD: Final = ("Time has passed since the last look, and nothing is known of it: look first. What "
              "still threatens is met right after.")
ACTED: Final = ("Something has been done since the last look: look again before the next step. "
                "What still threatens is met right after.")
WATCH: Final = ("Nothing offered comes before staying. This is not yet safe: stay, look again "
                "soon, and tell the team at once what gets worse.")


@dataclass(frozen=True, slots=True)
class Moment:
    """A decision to take: the state, what the last look showed, and what has been done."""

    state: HourState
    known: HourNumbers
    tried: tuple[str, ...] = ()
    fresh: bool = True


@dataclass(frozen=True, slots=True)
class Judged:
    """What comes first at a moment, why, and why the others do not; `sources` in words."""

    first: str
    reason: str
    why: Mapping[str, str]
    sources: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Road:
    """Where a path led: its moments, and the state at the end of the hour."""

    moments: tuple[Moment, ...]
    last: HourState

    @property
    def safe_after(self) -> int:
        """The last minute in which something threatened. [min]"""
        return self.last.threatened

    @property
    def harm(self) -> float:
        """The danger added up over the hour; our own scale."""
        return self.last.harm


def begin(case: HourCase) -> Moment:
    """The first decision: everything has been looked at."""
    return Moment(case.start, numbers_of(case.body, case.start))


def offered(case: HourCase, moment: Moment) -> dict[str, Option]:
    """What may be done now."""
    return {name: by_the_school(step.option) for name, step in case.steps.items()
            if step.while_true(moment.state)}


def judge(case: HourCase, moment: Moment) -> Judged:
    """What comes first by the rules of the bedside, from what is known at this moment.

    Where no rule asks for anything that is offered, a look comes first (common practice).
    """
    options = offered(case, moment)
    scene = scene_of(case, moment)
    unmet = not moment.fresh and not set(moment.tried) & MEETS and first_action(
        replace(scene, reassessed=True), options.values())
    found = (unmet if unmet and unmet.best and unmet.best.kind not in (*moment.tried, "assess")
             and unmet.rule in HOLDS else first_action(scene, options.values()))
    why = {row.option.text: row.because for row in found.why_not} | {
        by_the_school(step.option).text: step.why for step in case.steps.values() if step.why}
    named = {option.text: name for name, option in options.items()}
    at_once = found.best is not None and (found is unmet or found.best.kind in AT_ONCE)
    if found.best is None or found.rule == QUIET or not (moment.fresh or at_once):
        reason = WATCH if moment.fresh else ACTED if moment.tried else OLD
        return Judged(LOOK, reason, {name: why.get(option.text, reason)
                                     for name, option in options.items()}, ("Common practice.",))
    first = named[found.best.text]
    reason = case.steps[first].because or found.reason
    return Judged(first, reason,
                  {name: why.get(option.text, reason) for name, option in options.items()},
                  found.citations)


def after(case: HourCase, moment: Moment, name: str) -> Moment:
    """The next decision, once a step has been taken and its minutes have passed.

    Raises
    ------
    ValueError
        If the step is not offered at this moment.
    """
    if name not in offered(case, moment):
        raise ValueError(f"{name!r} is not offered at minute {moment.state.minute}. What is: "
                         f"{', '.join(offered(case, moment))}.")
    step = case.steps[name]
    state = replace(moment.state, **step.sets)
    if step.team is not None:
        soon = state.minute + step.team
        state = replace(state, team=soon if state.team is None else min(state.team, soon))
    lasts = WAIT if name == LOOK and moment.fresh else step.minutes
    took = min(lasts, max(HOUR - state.minute, 0))
    state = replace(minutes(case.body, state, took), **step.ends)
    state = replace(state, glucose=state.glucose + step.gains)
    if name == LOOK:
        return Moment(state, numbers_of(case.body, state), moment.tried)
    kind = step.option.kind
    acted = kind not in ("document", "assess")
    old = not moment.fresh or acted or state.minute - moment.known.minute >= FRESH
    meets = acted and step.option.acts_on != "comfort"  # what calms or cools meets no threat
    called = ("call for help",) if step.team is not None and kind != "call for help" else ()
    before = tuple(one for one in moment.tried if "device" not in step.sets or one not in OXYGEN)
    tried = before if not meets else (*before, *(
        one for one in (kind, *called) if one not in before))
    return Moment(state, moment.known, tried, fresh=not old)


def over(case: HourCase, taken: Sequence[Moment]) -> bool:
    """Whether the hour has ended: time is up, or the team has taken over and has looked."""
    now = taken[-1]
    if now.state.minute >= HOUR or len(taken) > MOST_DECISIONS:
        return True
    calm = danger(case.body, now.state) == 0 and judge(case, now).first == LOOK
    return len(taken) > 2 and now.fresh and (now.state.helped or calm)


def follow(case: HourCase, names: Sequence[str]) -> Road:
    """Go along a path of steps; what is left of the hour passes with nothing more done."""
    moments = [begin(case)]
    for name in names:
        if over(case, moments):
            break
        moments.append(after(case, moments[-1], name))
    return _to_the_end(case, moments)


def best(case: HourCase) -> tuple[tuple[str, ...], Road]:
    """The path that the rules take, and where it leads."""
    moments, names = [begin(case)], []
    while not over(case, moments):
        names.append(judge(case, moments[-1]).first)
        moments.append(after(case, moments[-1], names[-1]))
    return tuple(names), _to_the_end(case, moments)


def _to_the_end(case: HourCase, moments: Sequence[Moment]) -> Road:
    """Where it led: the rest of the hour passes with nothing more done."""
    last = minutes(case.body, moments[-1].state, max(HOUR - moments[-1].state.minute, 0))
    return Road(tuple(moments), last)


def scene_of(case: HourCase, moment: Moment) -> Scene:
    """The bedside as a rule reads it: what the last look showed, and what has been done since."""
    known, state = moment.known, moment.state
    gas = BloodGas(ph=known.ph, paco2=known.paco2, hco3=known.hco3) if "ph" in case.shows else None
    sugar = known.glucose if "glucose" in case.shows else None
    guarded = known.consciousness != "voice" or "glucose" not in case.shows  # may choke
    airway = case.airway(state) if case.airway else "open" if guarded else None
    return Scene(
        airway=airway, consciousness=known.consciousness,
        respiratory_rate=known.respiratory_rate, effort=known.effort, spo2=known.spo2,
        pulse=known.pulse, device=state.device, glucose=sugar, gas=gas,
        history=case.body.history, tried=moment.tried, reassessed=moment.fresh,
        systolic=known.systolic if "systolic" in case.shows else None,
        also_given=case.given(state), problem=case.problem(state))
