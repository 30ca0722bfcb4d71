"""Patients for questions about oxygen: a gas that can be, and oxygen that follows."""
from __future__ import annotations

import tomllib
from collections.abc import Collection, Mapping
from dataclasses import dataclass, replace
from functools import cache
from types import MappingProxyType
from typing import Any, Final

from acidbase_lib.physiology.oxygen_carriage import sao2_severinghaus1979
from acidbase_lib.physiology.oxygenation import alveolar_po2
from acidbase_lib.reading.interpretation import interpret
from acidbase_lib.reading.oxygenation.target import ASTHMA, OPIOID
from acidbase_lib.reading.priority.scene import Scene
from acidbase_lib.reading.settings_in_force import in_force
from acidbase_lib.teaching.content import content_text
from acidbase_lib.teaching.seeded_random import SeededRandom

from .cases import Case, draw_case
from .people import draw_person
from .requests import CaseRequestError
from .vignettes import Vignette
from .vitals import Oxygen, draw_vitals

ROOM_AIR: Final = 0.21
#: What a sample shows, and the PaO2 for it: clear of 60 and 80 by 3 mmHg. [mmHg]
SPANS: Final = MappingProxyType({"type 1": (47, 57), "type 2": (47, 57), "low": (63, 77),
                                 "enough": (83, 97), "treated": (64, 96)})
#: The ratio of a sample on oxygen, and the fractions that a device may be set to.
RATIOS: Final = (110, 290)
FRACTIONS: Final = (0.28, 0.35, 0.40, 0.50, 0.60)
_REDRAWS: Final = 60


@dataclass(frozen=True, slots=True)
class Story:
    """A history that bears on oxygen."""

    vignette: Vignette
    shows: tuple[str, ...]
    base: Mapping[str, Any]
    history: tuple[str, ...]
    target: bool


@dataclass(frozen=True, slots=True)
class OxygenCase:
    """A patient with an oxygen reading, and what the history says of the target."""

    case: Case
    story: Story
    shows: str

    @property
    def scene(self) -> Scene:
        """The bedside as a rule can read it: low saturation, alert, breathing hard."""
        case = self.case
        return Scene(airway="open", respiratory_rate=case.vitals.respiratory_rate,
                     effort="labored", spo2=case.vitals.spo2, consciousness="alert",
                     circulation="steady", device="air" if case.vitals.device == "air" else
                     "simple mask", fio2=case.gas.fio2, history=self.story.history, gas=case.gas)


def stories() -> tuple[Story, ...]:
    """Every history about oxygen that lessons and forms draw."""
    return _read("vignettes_oxygen.toml", in_force().laid_over)


def practice_stories() -> tuple[Story, ...]:
    """Every history about oxygen that practice draws: those of the lessons, and more."""
    return (*stories(), *_read("vignettes_oxygen_practice.toml", in_force().laid_over))


@cache
def _read(file: str, laid_over: str) -> tuple[Story, ...]:
    table = tomllib.loads(content_text("patients", file))
    common = {key: value for key, value in table.items() if key != "stories"}
    return tuple(_story({**common, **row}) for row in table["stories"])


def draw_oxygen_case(shows: str, seed: int | str, *, target: bool = False, risk: bool | None = None,
                     fio2: float | None = None, avoid: Collection[str] = (),
                     among: tuple[Story, ...] | None = None) -> OxygenCase:
    """Draw a patient whose oxygen shows what is asked for.

    pH, PaCO2 and bicarbonate are drawn as for every case and read back; PaO2 follows from the
    alveolar gas equation and a gradient that fits the history.

    Parameters
    ----------
    shows : str
        "type 1", "type 2", "low" or "enough" on room air, or "treated": in or near its range, on
        oxygen, with a low PaO2/FiO2.
    seed : int or str
        The same seed gives the same patient.
    target : bool
        True asks for a history that decides the saturation target.
    risk : bool, optional
        Whether hypercapnic failure is a risk; left out, it does not matter.
    fio2 : float, optional
        For "treated": the inspired fraction.
    avoid : collection of str
        Histories not to be told again.
    among : tuple of Story, optional
        The histories to draw from; left out, those of the lessons.

    Raises
    ------
    WishError
        No history shows that.
    """
    draw = SeededRandom(seed)
    able = [s for s in (among or stories()) if shows in s.shows and (s.target or not target)
            and s.vignette.id not in avoid
            and risk in (None, s.vignette.chronic_lung_disease)]
    if not able:
        raise CaseRequestError(
            f"no history about oxygen shows {shows!r} with risk = {risk}. What can be "
            f"shown is: {', '.join(SPANS)}."
        )
    story = draw.pick(able)
    for attempt in range(_REDRAWS):
        base = draw_case(**story.base, seed=f"{seed}|{attempt}")
        oxygen = _oxygen(story, shows, base, draw, fio2)
        if oxygen is not None:
            return OxygenCase(_with_person(base, story, oxygen, draw), story, shows)
    raise CaseRequestError(f"{story.vignette.id} was not found with oxygen that shows {shows!r}.")


def _oxygen(
    story: Story, shows: str, base: Case, draw: SeededRandom, fio2: float | None
) -> Oxygen | None:
    paco2, (low, high) = base.gas.paco2, SPANS[shows]
    if (shows == "type 1") == (paco2 > 45) and shows in ("type 1", "type 2"):
        return None
    if shows == "treated":
        fraction = fio2 or draw.pick(FRACTIONS)
        ratio = draw.between(max(RATIOS[0], low / fraction), min(RATIOS[1], high / fraction))
        pao2 = float(round(ratio * fraction))
        device = "nasal cannula" if fraction < 0.4 else "simple mask"
        fits = low <= pao2 <= high and alveolar_po2(paco2, fraction) - pao2 > 20
        return _as_oxygen(pao2, fraction, device) if fits else None
    alveolar = alveolar_po2(paco2, ROOM_AIR)
    near, far = story.vignette.gradient
    least, most = max(low, alveolar - far), min(high, alveolar - near)
    if most - least < 1:
        return None
    return _as_oxygen(float(round(draw.between(least, most))), ROOM_AIR, "air")


def _as_oxygen(pao2: float, fio2: float, device: str) -> Oxygen:
    return Oxygen(pao2, float(round(sao2_severinghaus1979(pao2))), fio2, device)


def _with_person(base: Case, story: Story, oxygen: Oxygen, draw: SeededRandom) -> Case:
    """The numbers given to a person whose history fits them."""
    vignette = story.vignette
    patient = draw_person(draw.branch("people"), vignette.age)
    gas = replace(base.gas, pao2=oxygen.pao2, sao2=oxygen.sao2, fio2=oxygen.fio2,
                  age=float(patient.age), chronic_lung_disease=vignette.chronic_lung_disease,
                  asthma=ASTHMA in story.history, opioid=OPIOID in story.history)
    vitals = draw_vitals(vignette, base.severity, oxygen, draw.branch("signs"))
    return replace(base, gas=gas, patient=patient, vignette=vignette.told_of(patient),
                   vitals=vitals, history_says=vignette.history_says, cause=vignette.cause,
                   reading=interpret(gas), story=vignette.id)


def _story(row: Mapping[str, Any]) -> Story:
    own = dict(row)
    rest = {"shows": (), "base": {}, "history": (), "target": True}
    taken = {key: own.pop(key, value) for key, value in rest.items()}
    values: dict[str, Any] = {key: tuple(value) if isinstance(value, list) else value
                              for key, value in own.items()}
    return Story(Vignette(group="oxygen", **values), tuple(taken["shows"]),
                 MappingProxyType(taken["base"]), tuple(taken["history"]), taken["target"])
