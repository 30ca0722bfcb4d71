"""The steps on whom the ranges fit, and on what a sample that is not arterial leaves open."""
from __future__ import annotations

from collections.abc import Iterator
from typing import Final

from acidbase_lib.reading.findings import Findings
from acidbase_lib.reading.whom.history import ADULT, ONE_DAY, age_text
from acidbase_lib.reading.whom.populations import TRIMESTERS
from acidbase_lib.reading.wording import number, ph_text, sentence_case, with_unit

from .step import Step

_FITS = "Do these ranges fit this person?"
#: [Weil1986]: 16 patients during resuscitation, mixed venous PCO2 74 and arterial 32 mmHg
LOW_FLOW: Final = ("In shock or cardiac arrest these limits do not hold: during resuscitation a "
                   "venous PCO2 of 74 mmHg went with an arterial one of 32 (Weil 1986), so there "
                   "the vein cannot tell how the patient breathes.")


def whom_steps(reading: Findings) -> Iterator[Step]:
    """By whose ranges the gas is read, where the history says more than "an adult"."""
    gas, settings = reading.gas, reading.settings
    if reading.not_judged:
        cord = (" Blood of the cord is more acid still, and its vein and artery differ: no limit "
                "of this kit is for it." if gas.age is not None and gas.age < ONE_DAY else "")
        yield Step(_FITS, "No: this gas is not judged.",
                   f"{sentence_case(reading.not_judged)}. The critical limits below are those of "
                   f"adults.{cord}", "NewbornFirstHour" if gas.age is not None and gas.age < 1
                   else "Altitude2023")
    elif settings.for_whom != "adults":
        yield Step(_FITS, f"Yes: they are for {settings.for_whom}.",
                   f"pH {settings.ph.low:.2f}–{settings.ph.high:.2f}, PaCO2 "
                   f"{settings.paco2} mmHg and bicarbonate "
                   f"{settings.hco3} mmol/L are in range here.{_limits_of(reading)}",
                   settings.for_whom_source if settings.for_whom_source != "SchoolSetting"
                   else settings.source)
    elif gas.age is not None and gas.age < ADULT:
        yield Step(_FITS, "Nearly: they are ranges of adults.",
                   f"At {age_text(gas.age)} the values are close to those of adults; bicarbonate "
                   "is 1 to 2 mmol/L lower. Use the ranges of your laboratory if it has its own.",
                   "CommonPractice")


def _limits_of(reading: Findings) -> str:
    """What even the moved ranges leave out."""
    gas, settings = reading.gas, reading.settings
    text = ""
    if gas.trimester is not None:
        text += (" The breathing is deeper in pregnancy: a PaCO2 of 40 mmHg, normal for others, is "
                 f"high in the {TRIMESTERS[int(gas.trimester) - 1]} trimester.")
    if gas.altitude is not None and gas.trimester is None:
        lowest = f"from about {settings.sao2.low:g} %"
        if settings.sao2.low <= settings.critical_sao2:  # the range was cut where the alarm begins
            lowest = f"that may lie below {settings.critical_sao2:g} %, where the alarm begins"
        text += (" They hold after some weeks there; in a newcomer bicarbonate has not yet "
                 f"fallen. Healthy people here have a saturation {lowest}; the oxygen targets and "
                 "alarms below are those of sea level.")
    if gas.age is not None and gas.age < 2:
        text += (" A child born early, and a laboratory with ranges of its own, need others. The "
                 "oxygen targets below are those of adults.")
    return text


def arterial_steps(reading: Findings) -> Iterator[Step]:
    """Where the arterial values lie, what that makes likely, and what would settle it."""
    bounds, gas = reading.arterial, reading.gas
    if bounds is None:
        return
    low, high = bounds.paco2.low, bounds.paco2.high
    limits = reading.settings.paco2.high, reading.settings.critical_paco2.high
    finding = {
        "certain": "A high one: hypercapnia, by every limit of agreement.",
        "flow": "A high one only where blood flows well; in low flow the vein cannot tell.",
        "likely": "Likely a high one: hypercapnia.",
        "possible": "Perhaps a high one: hypercapnia is not ruled out.",
        "unlikely": "Not a high one, most likely."}[
            "flow" if gas.specimen == "venous" and bounds.hypercapnia == "certain"
            else bounds.hypercapnia]
    because = (
        f"A {gas.specimen} PCO2 of {with_unit('paco2', gas.paco2)} goes with an arterial PaCO2 of "
        f"{number(low, *limits)} to {number(high, *limits)} mmHg, about "
        f"{number(bounds.paco2.likely, *limits, digits=0)} mmHg; the arterial pH is "
        f"{ph_text(round(bounds.ph.low, 2))} to {ph_text(round(bounds.ph.high, 2))} and the "
        f"bicarbonate {number(bounds.hco3.low)} to {number(bounds.hco3.high)} mmol/L. ")
    if bounds.hypercapnia == "unlikely" and gas.specimen == "venous":
        because += "A venous PCO2 of 45 mmHg or less rules out hypercapnia that matters. "
    because += (f"{LOW_FLOW} " if gas.specimen == "venous"
                else "From a cold or poorly perfused site they lie further apart. ")
    yield Step("Which arterial PaCO2 goes with this sample?", finding,
               f"{because}An arterial gas settles it.", bounds.source)
