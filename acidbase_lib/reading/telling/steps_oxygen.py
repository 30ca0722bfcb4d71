"""The steps about oxygen and urgency."""
from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from acidbase_lib.reading.oxygen import OxygenReading
from acidbase_lib.reading.wording import number, with_unit

from .step import Step

if TYPE_CHECKING:
    from acidbase_lib.reading.interpretation import Interpretation


def oxygen_steps(reading: Interpretation) -> Iterator[Step]:
    """What the oxygen values say, or why they say nothing."""
    gas, oxygen = reading.gas, reading.oxygenation
    if oxygen is None:
        if gas.pao2 is not None or gas.sao2 is not None:
            yield Step("Is there enough oxygen?", f"A {gas.specimen} sample cannot tell.",
                       "Its oxygen is not the arterial oxygen, and never stands in for it. Read "
                       "the SpO2 at the bedside.", "Byrne2014")
        return
    yield _hypoxemia_step(reading, oxygen)
    if oxygen.pao2 is not None:
        yield _failure_step(reading, oxygen)
    if oxygen.hypercapnic_risk:
        yield _target_step(oxygen)
    if oxygen.gradient_state == "impossible":
        yield Step("Is the A–a gradient wide?", "It cannot be worked out.",
                   f"PaO2 {with_unit('pao2', gas.pao2 or 0)} is more than this air and this PaCO2 "
                   "allow. Check the FiO2.", "FennRahnOtis1946")
    elif oxygen.gradient is not None:
        yield _gradient_step(reading, oxygen)
    if oxygen.pf_ratio is not None and oxygen.room_air is False:
        yield Step("How much oxygen does it take?",
                   f"PaO2/FiO2 is {number(oxygen.pf_ratio, 100, 200, 300, digits=0)} mmHg.",
                   "On room air and healthy it is about 380 to 480. At 300 or less the lungs take "
                   "up oxygen poorly, or a high PaCO2 leaves less room for it; the ratio alone "
                   "names no disease.", "Berlin2012")
    if oxygen.saturation_fits is False and oxygen.sao2 is not None:
        yield Step("Do saturation and PaO2 fit each other?", "No: they lie far apart.",
                   f"This PaO2 goes with about {number(oxygen.sao2_on_curve or 0, digits=0)} %, "
                   f"and {number(oxygen.sao2)} % is given. Are they of one sample, in the right "
                   "unit? Carbon monoxide and other bound hemoglobin do this too.",
                   "Severinghaus1979")


def urgency_step(reading: Interpretation) -> Step:
    """How soon must somebody know?"""
    urgency = reading.urgency
    question = "How soon must somebody know?"
    if urgency.critical:
        told = ". ".join(value.sentence for value in urgency.critical)
        return Step(question, "At once: a critical value.",
                    f"{told}. Stay with the patient and call, as your protocol says.",
                    urgency.critical[0].source)
    if urgency.concerns:
        return Step(question, "Soon: report it.",
                    f"No critical value, but {'; '.join(urgency.concerns)}. Your protocol says how "
                    "soon.", "CommonPractice")
    return Step(question, "No value here is critical.",
                "A quiet gas does not make a safe patient: look at the person first.",
                "CommonPractice")


def _hypoxemia_step(reading: Interpretation, oxygen: OxygenReading) -> Step:
    question, settings = "Is there enough oxygen?", reading.settings
    key = "pao2" if oxygen.pao2 is not None else "sao2"
    value = oxygen.pao2 if oxygen.pao2 is not None else oxygen.sao2
    assert value is not None
    limits = getattr(settings, key)
    named = "PaO2" if key == "pao2" else "SaO2"
    told = f"{named} {with_unit(key, value, limits.low, limits.high, 60, 40)}"
    where = ("on room air" if oxygen.room_air else "FiO2 was not given" if oxygen.fio2 is None
             else f"on FiO2 {with_unit('fio2', oxygen.fio2)}")
    source = settings.source_of(key)
    if oxygen.state == "normal":
        return Step(question, "Yes.", f"{told} is within {settings.told(key)}; {where}.", source)
    if oxygen.state == "high":
        goal = f"{oxygen.target[0]:g}–{oxygen.target[1]:g} %"
        return Step(question, "Yes, more than is needed.",
                    f"{told} is above {settings.told(key)}; {where}. Guidelines aim at a "
                    f"saturation of {goal} here.", "BTSOxygen2017")
    finding = f"No: {oxygen.hypoxemia} hypoxemia." if oxygen.hypoxemia else "No: it is low."
    return Step(question, finding, f"{told} is below {settings.told(key)}; {where}. Below 60 is "
                "moderate and below 40 severe." if key == "pao2" else
                f"{told} is below {settings.told(key)}; {where}.",
                "CommonPractice" if key == "pao2" else source)


def _failure_step(reading: Interpretation, oxygen: OxygenReading) -> Step:
    question, settings = "Is it respiratory failure?", reading.settings
    pao2 = with_unit("pao2", oxygen.pao2 or 0, settings.failure_pao2)
    paco2 = with_unit("paco2", reading.gas.paco2, settings.failure_paco2)
    limits = (f"the limits are PaO2 {settings.told('failure_pao2')} and PaCO2 "
              f"{settings.told('failure_paco2')}.")
    source = settings.source_of("failure_pao2")
    if oxygen.failure:
        high = "is high" if oxygen.failure == "type 2" else "is not high"
        return Step(question, f"Yes: {oxygen.failure}.",
                    f"PaO2 {pao2} is low and PaCO2 {paco2} {high}; {limits}", source)
    told = f"PaO2 {pao2}, PaCO2 {paco2}; {limits}"
    if oxygen.room_air is not True:
        return Step(question, "Not by these numbers.", f"{told} But added oxygen can hide it.",
                    source)
    return Step(question, "No.", told, source)


def _target_step(oxygen: OxygenReading) -> Step:
    return Step("Which saturation do guidelines aim at here?",
                f"{oxygen.target[0]:g}–{oxygen.target[1]:g} %.",
                "This person may retain carbon dioxide. Oxygen is measured out to that target, and "
                "never withheld in dangerous hypoxemia. Local protocol decides.", "BTSOxygen2017")


def _gradient_step(reading: Interpretation, oxygen: OxygenReading) -> Step:
    assert oxygen.gradient is not None
    question = "Is the A–a gradient wide?"
    shown = number(oxygen.gradient, oxygen.gradient_limit or 0, digits=0)
    told = f"On room air the gradient is {shown} mmHg"
    if oxygen.gradient_limit is None:
        return Step(question, "Age was not given, so there is no limit to compare with.",
                    f"{told}.", "FennRahnOtis1946")
    limit = (f"the limit for age {number(reading.gas.age or 0)} is "
             f"{number(oxygen.gradient_limit)} (age / 4 + 4)")
    if oxygen.gradient_state == "wide":
        return Step(question, "Yes: the lungs pass oxygen on poorly.", f"{told}; {limit}.",
                    "CommonPractice")
    low = (" So too little breathing explains the low oxygen." if oxygen.state == "low"
           and reading.paco2_state == "high" else "")
    return Step(question, "No.", f"{told}; {limit}.{low}", "CommonPractice")
