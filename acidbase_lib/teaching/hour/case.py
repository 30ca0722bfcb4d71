"""What an hour at the bedside is made of: a person, a first minute, and steps to take."""
from __future__ import annotations

import re
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field, replace
from typing import Any, Final

from acidbase_lib.reading.priority.scene import Option
from acidbase_lib.reading.telling.filled import ends_in, filled
from acidbase_lib.teaching.patients.people import draw_he_or_she
from acidbase_lib.teaching.seeded_random import SeededRandom

from .body import HourBody, HourState

LOOK: Final = "look"
EVERYTHING: Final = ("breathing", "saturation", "circulation", "consciousness")


@dataclass(frozen=True, slots=True)
class Step:
    """Something that may be done: how it is offered, how long it takes, what it changes.

    `sets` holds at the start, `ends` once its minutes are over; `team` is in how many minutes help
    comes; `gains` is added to the glucose [mmol/L]; `while_true` says when it is offered; `why` is
    why it does not come first, `because` why it does, where the rule's own words do not fit.
    """

    option: Option
    minutes: int
    says: str
    sets: Mapping[str, Any] = field(default_factory=dict)
    ends: Mapping[str, Any] = field(default_factory=dict)
    gains: float = 0.0
    team: int | None = None
    why: str = ""
    because: str = ""
    while_true: Callable[[HourState], bool] = lambda state: True


@dataclass(frozen=True, slots=True)
class HourCase:
    """An hour: the person, the first minute, the steps by name, and what to keep of it.

    `vary` holds the span of what differs from hour to hour; `problem` names, for a state, what the
    findings already call for treatment of; `given` which other looks are known; `airway` how it is,
    where the story is of it.
    """

    name: str
    age: tuple[int, int]
    ward: str
    story: str
    body: HourBody
    start: HourState
    steps: Mapping[str, Step]
    keep: tuple[str, str, str]
    shows: tuple[str, ...]
    vary: Mapping[str, tuple[float, float]]
    problem: Callable[[HourState], str | None] = lambda state: None
    given: Callable[[HourState], tuple[str, ...]] = lambda state: ("laboratory",)
    airway: Callable[[HourState], str] | None = None


def by_the_school(option: Option) -> Option:
    """An option whose words name a target of the settings, told and aimed as they have it."""
    text = filled(option.text)
    aim = re.search(r"([\d.]+–[\d.]+) %", text)
    if option.target is None or aim is None:
        return option
    low, high = ends_in(aim[1])
    return replace(option, text=text, target=(low, high))


def varied(case: HourCase, draw: SeededRandom) -> tuple[HourCase, Mapping[str, Any]]:
    """The case with a person and first numbers of its own."""
    person = draw_he_or_she(draw, case.age)
    first = {name: round(draw.between(*span), 1) for name, span in case.vary.items()}
    start = replace(case.start, **first)  # type: ignore[arg-type]
    return replace(case, start=start), {**person.words, "cohb": f"{start.cohb:.0f}",
                                         "potassium": f"{start.potassium:.1f}"}


def look(minutes: int = 2) -> Step:
    return Step(Option("Stay and look: breathing, SpO2, pulse, how {they} answers", "assess",
                       looks_at=EVERYTHING), minutes, "You stay and look.")


def call() -> Step:
    return Step(Option("Phone the provider, and wait for the answer before going on",
                       "call for help"), 10, "The phone was busy. Help is on its way.", team=10,
                while_true=lambda state: state.team is None)


def paper(text: str, minutes: int = 15, why: str = "What threatens goes on while you write, and "
          "may get worse unseen.") -> Step:
    return Step(Option(text, "document"), minutes, "Time has passed; you did nothing for what "
                "threatens.", why=why)


def back_on() -> Step:
    """Oxygen toward the target of a CO2 risk, for somebody from whom it was taken."""
    return Step(Option("Put on a Venturi mask toward <<oxygen_target_co2_risk>>, and call out for "
                       "help", "oxygen titrated", target=(88, 92)), 5,
                "The Venturi mask is on, set for the target; help is called.",
                {"fio2": 0.30, "device": "venturi mask"}, team=10,
                while_true=lambda state: state.device == "air")
