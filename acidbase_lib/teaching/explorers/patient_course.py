"""A patient over time: what each choice does to the breathing, and the numbers that follow."""
from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from math import exp
from typing import Final

from acidbase_lib.physiology.compensation_defaults import (
    hco3_acute_respiratory_acidosis,
    hco3_acute_respiratory_alkalosis,
)
from acidbase_lib.physiology.henderson_hasselbalch import ph_of
from acidbase_lib.physiology.oxygen_carriage import sao2_severinghaus1979
from acidbase_lib.physiology.oxygenation import alveolar_po2
from acidbase_lib.reading.oxygenation.target import oxygen_target

#: mmHg · L/min per mL/min: PaCO2 = 0.863 · CO2 given off / alveolar ventilation. The number turns
#: a gas at 0 °C, dry, into one at 37 °C in the lung: 760 · 310 / 273 / 1000 (arithmetic).
CO2_FACTOR: Final = 0.863
#: Much oxygen leaves less of the breathing useful: up to this share. Aubier 1980 saw PaCO2 rise
#: from 65 to 88 mmHg on pure oxygen, as if a quarter of the ventilation had gone.
OXYGEN_COSTS: Final = 0.25
#: The arterial oxygen pressure at which that begins, and at which it is complete. [mmHg]
COSTS_FROM, COSTS_TO = 70.0, 170.0
#: What the body holds of CO2, for each mmHg and kg: it leaves through the breathing, so PaCO2 falls
#: the slower, the less somebody breathes. Farhi and Rahn, J Appl Physiol 1955;7:472 (abstract):
#: 1.5 mL in dogs, where half of a change took 4 minutes. [mL/mmHg/kg]
CO2_STORES: Final = 1.5
#: Of everybody in these cases, our own. [kg]
WEIGHT: Final = 70.0
#: From here on treatment has begun to work, by our own rule: who is offered it may go on. [1]
TREATED: Final = 0.25
#: A picture for a course stops here. [mmHg]
MOST_PACO2, LEAST_PAO2 = 110.0, 32.0
#: Below this pH, by our own rule, sleepiness takes the breathing's effort. [1]
_TOO_SLEEPY: Final = 7.20


@dataclass(frozen=True, slots=True)
class Body:
    """What stays the same in one patient while the case runs.

    `usual_paco2` and `usual_hco3` are what this person lives at; `lung` is the share of the
    alveolar oxygen pressure that reaches the artery; `tires` is the share of the breathing lost
    in an hour without treatment; below `worn_below` [L/min] it looks very tired; `history`, in the
    words of a scene, decides the target and whether much oxygen raises PaCO2 here.
    """

    usual_paco2: float
    usual_hco3: float
    co2_output: float
    lung: float
    tires: float
    rate: int
    worn_below: float
    history: tuple[str, ...]

    @property
    def target(self) -> tuple[float, float]:
        """The saturation that oxygen is aimed at. [%]"""
        return oxygen_target(self.history).pair

    @property
    def retains(self) -> bool:
        """Whether much oxygen raises PaCO2 in this person."""
        return oxygen_target(self.history).co2_risk


@dataclass(frozen=True, slots=True)
class CourseState:
    """The breathing at one time: useful ventilation [L/min], its help, how eased, the oxygen.

    `stored` is how far PaCO2 still lies above what this breathing brings in the end. [mmHg]
    """

    minute: int
    breathing: float
    fio2: float
    device: str
    support: float = 0.0
    eased: float = 0.0
    stored: float = 0.0


@dataclass(frozen=True, slots=True)
class CourseNumbers:
    """What the monitor and the analyzer show of a state."""

    ph: float
    paco2: float
    hco3: float
    pao2: float
    spo2: int
    rate: int
    effort: str
    mind: str


@dataclass(frozen=True, slots=True)
class CourseChoice:
    """One thing that may be done, and what it does.

    `gains` is the useful ventilation won or lost at once [L/min], `eases` how far the lungs come
    back toward what this person needs, 0 to 1, and `support` what a machine adds at most [L/min].
    How far each goes is our own; which way it goes is told in `says`. `instead` is what it is
    called, and told, on a device on which the label would make no sense; `treated` stands in its
    place where treatment has begun to work.
    """

    label: str
    says: str
    minutes: int
    fio2: float | None = None
    device: str | None = None
    gains: float = 0.0
    eases: float = 0.0
    support: float = 0.0
    instead: tuple[tuple[str, str, str], ...] = ()
    treated: CourseChoice | None = None

    def on(self, device: str) -> tuple[str, str]:
        """Return the label and what is told, for a patient on this device."""
        return next(((label, says) for named, label, says in self.instead if named == device),
                    (self.label, self.says))


@dataclass(frozen=True, slots=True)
class Course:
    """A case: the patient, the first state, and three choices at each point."""

    name: str
    story: str
    clock: int
    body: Body
    start: CourseState
    points: tuple[tuple[CourseChoice, ...], ...]


def numbers(body: Body, state: CourseState) -> CourseNumbers:
    """Return what follows from the breathing and the oxygen.

    PaCO2 from the ventilation, oxygen by the alveolar gas equation and this lung, bicarbonate by
    the acute rule from where this person lives, pH from the equilibrium, saturation by
    [Severinghaus1979]_. A rise of PaCO2 is taken as settled: Aubier 1980 measured after 15 minutes.
    A fall takes the time that the stores need.
    """
    paco2 = _paco2(body, _useful(body, state)) + state.stored
    pao2 = _pao2(body, state.fio2, paco2)
    rule = (hco3_acute_respiratory_acidosis if paco2 >= body.usual_paco2
            else hco3_acute_respiratory_alkalosis)
    hco3 = rule(paco2, paco2_set=body.usual_paco2, hco3_set=body.usual_hco3).center
    ph = ph_of(paco2, hco3)
    spo2 = int(sao2_severinghaus1979(pao2) + 0.5)
    return CourseNumbers(round(ph, 2), round(paco2), round(hco3), round(pao2), spo2,
                         _rate(body, state, ph, spo2), _effort(body, state, ph), _mind(ph, spo2))


def after(body: Body, state: CourseState, choice: CourseChoice) -> CourseState:
    """Return the state that a choice leads to."""
    hours = choice.minutes / 60
    starved = numbers(body, state).spo2 < 80 and (choice.fio2 or state.fio2) <= 0.21
    lost = 0.10 * hours if starved else 0.0  # low oxygen tires the muscles of breathing as well
    if not (choice.eases or state.support + choice.support):
        lost += body.tires * hours
    breathing = (state.breathing + choice.gains) * (1 - lost)
    breathing += (_need(body) - breathing) * choice.eases
    then = replace(
        state, minute=state.minute + choice.minutes,
        breathing=max(breathing, _least(body)),
        fio2=state.fio2 if choice.fio2 is None else choice.fio2,
        device=choice.device or state.device, support=state.support + choice.support,
        eased=min(state.eased + choice.eases, 1.0) if choice.eases else state.eased / 2)
    return replace(then, stored=_still_stored(body, state, then))


def offered(point: Sequence[CourseChoice], state: CourseState) -> tuple[CourseChoice, ...]:
    """Return what may be done at a point; who is better for a treatment may go on with it."""
    return tuple(choice.treated if choice.treated and state.eased >= TREATED else choice
                 for choice in point)


def follow(course: Course, path: Sequence[int]) -> tuple[CourseState, ...]:
    """Return the states along a path of choices, the first one included."""
    states = [course.start]
    for point, taken in zip(course.points, path, strict=False):
        states.append(after(course.body, states[-1], offered(point, states[-1])[taken]))
    return tuple(states)


def _paco2(body: Body, ventilation: float) -> float:
    return min(CO2_FACTOR * body.co2_output / ventilation, MOST_PACO2)


def _useful(body: Body, state: CourseState) -> float:
    """The ventilation that clears CO2: less on much oxygen, more with a machine's help. [L/min]"""
    paco2 = _paco2(body, _helped(body, state.breathing, state.support))
    cost = OXYGEN_COSTS * _along(_pao2(body, state.fio2, paco2)) if body.retains else 0.0
    return _helped(body, state.breathing * (1 - cost), state.support)


def _still_stored(body: Body, before: CourseState, then: CourseState) -> float:
    """How far PaCO2 still lies above where it settles, once the stores have had this time. [mmHg]

    A store of S mL/mmHg that V L/min clear falls to its e-th part (1/e) each 0.863 · S / V minutes.
    """
    clears = _useful(body, then)
    above = _paco2(body, _useful(body, before)) + before.stored - _paco2(body, clears)
    slow = CO2_FACTOR * CO2_STORES * WEIGHT / clears  # minutes
    return max(above, 0.0) * exp(-(then.minute - before.minute) / slow)


def _pao2(body: Body, fio2: float, paco2: float) -> float:
    return max(body.lung * alveolar_po2(paco2, fio2), LEAST_PAO2)


def _along(pao2: float) -> float:
    return min(max((pao2 - COSTS_FROM) / (COSTS_TO - COSTS_FROM), 0.0), 1.0)


def _need(body: Body) -> float:
    """The ventilation that keeps this person's PaCO2 where it usually is. [L/min]"""
    return CO2_FACTOR * body.co2_output / body.usual_paco2


def _least(body: Body) -> float:
    """The ventilation below which the case is not told on. [L/min]"""
    return CO2_FACTOR * body.co2_output / MOST_PACO2


def _helped(body: Body, breathing: float, support: float) -> float:
    """Ventilation with a machine's help, which is set to no more than this person needs."""
    return max(breathing, min(breathing + support, _need(body)))


def _rate(body: Body, state: CourseState, ph: float, spo2: int) -> int:
    """Breaths a minute by our own rule: more where oxygen is low, fewer with ease or sleep."""
    rate = body.rate + max(0, body.target[0] - spo2) * 0.4 - 10 * state.eased
    rate -= 6 if state.support else 0
    rate -= 12 if ph < _TOO_SLEEPY else 0
    return round(max(rate, 6))


def _effort(body: Body, state: CourseState, ph: float) -> str:
    """How the breathing looks; who is too acid to be woken breathes slowly, and works no more."""
    if state.support:
        return "helped by the machine"
    if ph < _TOO_SLEEPY:
        return "breathing weakly"
    if state.eased >= 0.5:
        return "with less effort, in whole sentences"
    return "very tired" if state.breathing < body.worn_below else "working hard"


def _mind(ph: float, spo2: int) -> str:
    """How awake, by our own steps of pH and saturation; a person is not so regular."""
    if ph < 7.18 or spo2 < 60:
        return "hard to wake"
    if ph < 7.30 or spo2 < 72:
        return "sleepy, wakes to the voice"
    return "awake"
