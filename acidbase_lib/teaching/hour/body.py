"""A person at the bedside, minute by minute: breathing, oxygen, CO2, potassium, glucose."""
from __future__ import annotations

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
from acidbase_lib.teaching.explorers.patient_course import (
    CO2_FACTOR,
    CO2_STORES,
    COSTS_FROM,
    COSTS_TO,
    OXYGEN_COSTS,
    WEIGHT,
)

#: Carboxyhemoglobin halves in this time: on oxygen by reservoir mask or tube 74 min, SD 25, Weaver
#: Chest 2000;117:801 (abstract); on air 320 min, from memory, not yet checked. [min]
CO_HALVES_ON_OXYGEN, CO_HALVES_ON_AIR = 74.0, 320.0
#: Insulin with glucose brings potassium down by 0.83 mmol/L, SD 0.53, in 60 min: Nephron
#: 2014;126:1 (abstract: 10 units with 50 g, ten people on dialysis). Straight: ours. [mmol/L/min]
INSULIN_LOWERS: Final = 0.83 / 60
#: How long naloxone and calcium act here, within what is common practice. [min]
NALOXONE_LASTS, CALCIUM_LASTS = 40, 45
#: What a picture for a course stops at; a test holds it. [mmHg, %, mmol/L]
LEAST_PACO2, MOST_PACO2 = 15.0, 120.0
LEAST_PAO2, LEAST_BREATHING = 30.0, 0.5
#: So long does danger of this size last before somebody else pulls the alarm. [min]
ALARM_AFTER, ALARM_AT = 12, 1.5
#: Below this pH an acid from CO2 threatens: common practice. It is also where support by mask is
#: begun with more than a ward at hand (BTS/ICS 2016, from memory, not yet checked).
ACID: Final = 7.25
#: Insulin brings glucose down so much; straight, our own, within common practice. [mmol/L/min]
INSULIN_TAKES: Final = 0.08
#: Fluid that runs fast refills so much, our own. [L/min]
FLUID: Final = 0.04
#: Below it insulin waits and potassium is given: from memory, not yet checked. [mmol/L]
LOW_POTASSIUM: Final = 3.5
_FULL: Final = 0.8  # oxygen of a reservoir mask as a fraction (BTS guideline, Thorax 2017: 60-90 %)


@dataclass(frozen=True, slots=True)
class HourBody:
    """What stays the same in one person for an hour.

    `lung` is the share of the alveolar oxygen pressure that reaches the artery, `tires` the share
    of the breathing lost in an hour, `glucose_falls` what glucose loses [mmol/L/min], `bleeds`
    what the circulation loses [L/min], `blocks` the share of the breathing that a closed airway
    takes; `deep` says that an acid drives the breathing.
    """

    history: tuple[str, ...] = ()
    usual_paco2: float = 40.0
    usual_hco3: float = 24.0
    co2_output: float = 200.0
    lung: float = 0.9
    tires: float = 0.0
    glucose_falls: float = 0.0
    bleeds: float = 0.0
    blocks: float = 0.0
    deep: bool = False

    @property
    def need(self) -> float:
        """The useful ventilation that keeps PaCO2 where it usually is. [L/min]"""
        return CO2_FACTOR * self.co2_output / self.usual_paco2


@dataclass(frozen=True, slots=True)
class HourState:
    """One minute at the bedside.

    `breathing` is the useful ventilation tried for [L/min], `held` the share of it that a drug
    takes; `support`, `drip`, `choked` and their like are on or off; `antidote`, `calcium` and
    `insulin` are minutes of action left; `deficit` is what the circulation lacks [L]; `team` is
    the minute when help arrives; `harm` adds up the danger, and `threatened` is the last minute
    that had any.
    """

    minute: int
    breathing: float
    paco2: float
    fio2: float = 0.21
    device: str = "air"
    held: float = 0.0
    support: bool = False
    cohb: float = 1.0
    potassium: float = 4.2
    glucose: float = 6.0
    drip: bool = False
    choked: bool = False
    antidote: int = 0
    calcium: int = 0
    insulin: int = 0
    deficit: float = 0.0
    fluid: bool = False
    upright: bool = False
    measured: bool = False
    potassium_drip: bool = False
    lactate: float = 3.4
    team: int | None = None
    alarm: int = 0
    harm: float = 0.0
    threatened: int = 0

    @property
    def helped(self) -> bool:
        """Whether the team is at the bedside."""
        return self.team is not None and self.minute >= self.team


@dataclass(frozen=True, slots=True)
class HourNumbers:
    """What a look shows at one time."""

    minute: int
    respiratory_rate: int
    spo2: int
    pulse: int
    consciousness: str
    effort: str
    ph: float
    paco2: int
    hco3: int
    potassium: float
    glucose: float
    systolic: int
    lactate: float


def a_minute(body: HourBody, state: HourState) -> HourState:
    """Return the state a minute later."""
    now = _team_acts(body, state) if state.helped else state
    clears = _useful(body, now)
    settles = CO2_FACTOR * body.co2_output / clears
    slow = CO2_FACTOR * CO2_STORES * WEIGHT / clears  # minutes until 1/e of the way is left
    paco2 = _between(settles + (now.paco2 - settles) * exp(-1 / slow), LEAST_PACO2, MOST_PACO2)
    tires = 0.0 if now.support else body.tires / 60
    falls = (0.0 if now.drip else body.glucose_falls) + INSULIN_TAKES * bool(now.insulin)
    then = replace(
        now, minute=now.minute + 1, paco2=paco2,
        breathing=max(now.breathing * (1 - tires), LEAST_BREATHING),
        cohb=now.cohb * 0.5 ** (1 / co_halves(now.fio2)),
        potassium=now.potassium - (INSULIN_LOWERS if now.insulin else 0.0),
        glucose=max(now.glucose - falls, 1.2),
        antidote=max(now.antidote - 1, 0), calcium=max(now.calcium - 1, 0),
        insulin=max(now.insulin - 1, 0),
        deficit=_between(now.deficit + body.bleeds - (FLUID if now.fluid else 0.0), 0, 2.5),
        lactate=now.lactate + (1.2 + 3 * max(now.deficit - 0.5, 0) - now.lactate) / 60)
    size = danger(body, then)
    alarm = then.alarm + 1 if size >= ALARM_AT else 0
    team = then.team
    if alarm >= ALARM_AFTER and not then.helped:
        team = then.minute
    return replace(then, alarm=alarm, team=team, harm=then.harm + size,
                   threatened=then.minute if size > 0 else then.threatened)


def minutes(body: HourBody, state: HourState, count: int) -> HourState:
    """Return the state some minutes later."""
    for _ in range(count):
        state = a_minute(body, state)
    return state


def numbers_of(body: HourBody, state: HourState) -> HourNumbers:
    """What a look shows now: pH by the acute rule and the equilibrium, SpO2 by the probe."""
    ph, hco3 = _acid(body, state)
    spo2 = _spo2(body, state)
    return HourNumbers(state.minute, _rate(body, state), spo2, _pulse(body, state, ph, spo2),
                       _mind(state, ph, spo2), _effort(body, state), round(ph, 2),
                       round(state.paco2), round(hco3), round(state.potassium, 1),
                       round(state.glucose, 1), _systolic(state), round(state.lactate, 1))


def danger(body: HourBody, state: HourState) -> float:
    """How much threatens now, 0 where nothing does: our own scale, a teaching simplification."""
    ph, _ = _acid(body, state)
    unprotected = state.potassium > 6.5 and not state.calcium
    low = state.potassium < LOW_POTASSIUM and (
        0.3 * (not state.potassium_drip) + (1 + LOW_POTASSIUM - state.potassium) * bool(
            state.insulin))
    return (low + _between((90 - _systolic(state)) / 10, 0, 2)
            + _between((85 - _spo2(body, state)) / 10, 0, 2)
            + _between((ACID - ph) / 0.1, 0, 2)
            + _between(3.5 - state.glucose, 0, 2)
            + (1.0 + state.potassium - 6.5 if unprotected else 0.0)
            + _between((state.cohb - 20) / 10, 0, 2)
            + (_between(4 * (0.8 - state.breathing / body.need), 0, 2) if _tiring(body, state)
               else 0.0))


def co_halves(fio2: float) -> float:
    """Minutes in which carboxyhemoglobin halves; between air and full oxygen our own line."""
    share = _between((fio2 - 0.21) / (_FULL - 0.21), 0, 1)
    return CO_HALVES_ON_AIR * float((CO_HALVES_ON_OXYGEN / CO_HALVES_ON_AIR) ** share)


def _team_acts(body: HourBody, state: HourState) -> HourState:
    """What a team does, in a few words: it supports, steers oxygen, and keeps the drugs going."""
    aim = _FULL if "carbon monoxide" in body.history else (
        0.28 if oxygen_target(body.history).co2_risk else min(state.fio2, 0.6)
        if _spo2(body, state) >= 94 else max(min(state.fio2, 0.6), 0.4))
    weak = state.paco2 > body.usual_paco2 + 8 or body.tires > 0
    return replace(
        state, support=state.support or weak, fio2=aim, drip=True,
        antidote=max(state.antidote, 2) if state.held else 0,
        calcium=max(state.calcium, 2), glucose=max(state.glucose, 5.0),
        insulin=max(state.insulin, 2) if state.potassium > 5.5 else 0, fluid=state.deficit > 0.4,
        upright=False, choked=state.choked and not body.blocks,
        potassium_drip=state.potassium < LOW_POTASSIUM)


def _useful(body: HourBody, state: HourState) -> float:
    """The ventilation that clears CO2; much oxygen costs some of it where CO2 is retained."""
    held = 0.0 if state.antidote else state.held
    cost = 0.0
    if oxygen_target(body.history).co2_risk:
        pao2 = _pao2(body, state)
        cost = OXYGEN_COSTS * _between((pao2 - COSTS_FROM) / (COSTS_TO - COSTS_FROM), 0, 1)
    blocked = body.blocks if state.choked else 0.0
    own = state.breathing * (1 - held) * (1 - cost) * (1 - blocked)
    return max(own, body.need if state.support else 0.0, LEAST_BREATHING)


def _pao2(body: HourBody, state: HourState) -> float:
    lung = body.lung * (0.6 if state.choked else 1.0)
    return max(lung * alveolar_po2(state.paco2, state.fio2), LEAST_PAO2)


def _spo2(body: HourBody, state: HourState) -> int:
    """By the probe, which takes carbon monoxide for oxygen (BTS guideline, Thorax 2017)."""
    return int(sao2_severinghaus1979(_pao2(body, state)) + 0.5)


def _acid(body: HourBody, state: HourState) -> tuple[float, float]:
    rule = (hco3_acute_respiratory_acidosis if state.paco2 >= body.usual_paco2
            else hco3_acute_respiratory_alkalosis)
    hco3 = rule(state.paco2, paco2_set=body.usual_paco2, hco3_set=body.usual_hco3).center
    return ph_of(state.paco2, hco3), hco3


def _rate(body: HourBody, state: HourState) -> int:
    held = 0.0 if state.antidote else state.held
    hard = 16 if body.tires and not state.support else 4 if body.lung < 0.7 else 0
    tired = 0.4 + 0.6 * min(state.breathing / body.need, 1)
    hard += 8 * state.choked
    hard += 10 if body.deep else round(_between(8 * state.deficit, 0, 12))
    return round((16 + hard) * (1 - held) * tired)


def _pulse(body: HourBody, state: HourState, ph: float, spo2: int) -> int:
    if state.potassium > 6.5 and not state.calcium:
        return 46
    return round(78 + 2 * _between(90 - spo2, 0, 20) + (22 if body.tires else 0)
                 + 30 * min(state.deficit, 1.8) + (26 if body.deep else 0)
                 + 12 * _between(4 - state.glucose, 0, 2) + (10 if ph < ACID else 0))


def _mind(state: HourState, ph: float, spo2: int) -> str:
    """How awake, by our own steps; a person is not so regular."""
    drugged = state.held > 0.4 and not state.antidote
    if (drugged and ph < ACID) or ph < 7.10 or spo2 < 60 or state.glucose < 1.6 or (
            _systolic(state) < 60):
        return "pain"
    if drugged or ph < ACID or spo2 < 72 or state.glucose < 3.0 or (
            _systolic(state) < 74):
        return "voice"
    return "alert"


def _effort(body: HourBody, state: HourState) -> str:
    if state.held and not state.antidote:
        return "shallow"
    if _tiring(body, state):
        return "tiring"
    return "deep" if body.deep else "labored" if state.choked or body.lung < 0.7 else "easy"


def _systolic(state: HourState) -> int:
    """Systolic pressure by what the circulation lacks: a straight line of our own. [mmHg]"""
    return round(124 - 34 * state.deficit - (8 if state.upright else 0))


def _tiring(body: HourBody, state: HourState) -> bool:
    """Whether the muscles of breathing give out: below four fifths of the need, our own limit."""
    return bool(body.tires) and not state.support and state.breathing < 0.8 * body.need


def _between(value: float, low: float, high: float) -> float:
    return min(max(value, low), high)
