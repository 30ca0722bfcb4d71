"""The skills that practice remembers: each topic's kinds of case, and the unit that opens them."""
from __future__ import annotations

from collections.abc import Collection, Mapping
from types import MappingProxyType
from typing import Final

from acidbase_lib.teaching.recipes.whole_chart import CHART_FIELDS, NO_NAME

from .bedside import CLINICAL_PRIORITY, SCENE_STEPS
from .topics import TOPICS
from .whole_gas import WHOLE_GAS

#: Topic: the number of the unit that teaches it, in the order of the course.
TAUGHT_IN: Final[Mapping[str, str]] = MappingProxyType({
    "in range or not": "01", "primary disorder": "02", "compensation": "03",
    "one disorder or two": "04", WHOLE_GAS: "04", "oxygen": "05", "causes": "06",
    CLINICAL_PRIORITY: "07"})


def kinds_of(topic: str) -> tuple[str, ...]:
    """A topic's kinds of case."""
    if topic == CLINICAL_PRIORITY:
        return tuple(f"step {step + 1}" for step in range(SCENE_STEPS))
    if topic == WHOLE_GAS:
        names = next(field.words for field in CHART_FIELDS if field.name == "disorder")
        return tuple(name for name in names if name != NO_NAME)
    return TOPICS[topic].choices


def split(skill: str) -> tuple[str, str]:
    """A skill's topic and kind; the kind is empty where there is no such skill.

    Examples
    --------
    >>> split("oxygen: respiratory failure, type 1")
    ('oxygen', 'respiratory failure, type 1')
    """
    topic, _, kind = skill.partition(": ")
    return (topic, kind) if topic in TAUGHT_IN and kind in kinds_of(topic) else (topic, "")


def open_skills(begun: Collection[str], practiced: Collection[str] = ()) -> tuple[str, ...]:
    """The skills to be asked of somebody: of units begun, and of topics practiced before.

    Parameters
    ----------
    begun : collection of str
        The numbers of the units that were begun, such as "02".
    practiced : collection of str
        Skills that were practiced.
    """
    met = {split(skill)[0] for skill in practiced if split(skill)[1]}
    return tuple(f"{topic}: {kind}" for topic, unit in TAUGHT_IN.items()
                 if unit in begun or topic in met for kind in kinds_of(topic))
