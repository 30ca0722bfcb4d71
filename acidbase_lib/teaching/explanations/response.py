"""Where a patient stands against the expected response, over hours and days; and in a sentence."""
from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Final

from acidbase_lib.physiology.henderson_hasselbalch import ph_of
from acidbase_lib.reading.blood_gas import BloodGas
from acidbase_lib.reading.disorders import (
    AS_EXPECTED,
    LESS,
    METABOLIC_ACIDOSIS,
    METABOLIC_ALKALOSIS,
    MORE,
    RESPIRATORY_ACIDOSIS,
    RESPIRATORY_ALKALOSIS,
)
from acidbase_lib.reading.interpretation import interpret
from acidbase_lib.reading.kilopascal import pressure
from acidbase_lib.reading.lab_settings import LabSettings
from acidbase_lib.reading.quantitative import Arm
from acidbase_lib.reading.settings_in_force import in_force

from .balance import LIVED_WITH

#: Breathing answers from minutes on and is complete after 12 to 24 hours (common practice); the
#: kidneys take 3 to 5 days (common practice). The picture takes the first number of each.
LUNGS_DONE: Final = 12
KIDNEYS_BEGIN: Final = 12
KIDNEYS_DONE: Final = 72
LONGEST: Final = 168

_SECOND: Final = {("PaCO2", True): RESPIRATORY_ACIDOSIS, ("PaCO2", False): RESPIRATORY_ALKALOSIS,
                  ("HCO3", True): METABOLIC_ALKALOSIS, ("HCO3", False): METABOLIC_ACIDOSIS}


@dataclass(frozen=True, slots=True)
class Stretch:
    """A stretch of time [hours], where the value belongs in it, and what it is called."""

    start: float
    end: float
    low: float
    high: float
    name: str


@dataclass(frozen=True, slots=True)
class Standing:
    """One patient at one hour: the value that answers, its stretches, and the verdict.

    `quantity` is "PaCO2" or "HCO3", or None where no rule says what belongs; `second` is None
    where the value stands inside its stretch.
    """

    ph: float
    paco2: float
    hco3: float
    hours: float
    name: str | None
    quantity: str | None
    value: float | None
    stretches: tuple[Stretch, ...]
    response: str | None
    second: str | None

    @property
    def now(self) -> Stretch | None:
        """The stretch that this hour lies in."""
        return next((s for s in reversed(self.stretches) if self.hours >= s.start), None)


def standing(paco2: float, hco3: float, hours: float,
             settings: LabSettings | None = None) -> Standing:
    """Put a patient on the picture: PaCO2 [mmHg], bicarbonate [mmol/L], hours since it began.

    Raises
    ------
    QuantityError
        If a value is outside its credible limits.
    """
    settings = settings or in_force()
    ph = round(ph_of(paco2, hco3), 2)
    nothing = Standing(ph, paco2, hco3, hours, None, None, None, (), None, None)
    if not LIVED_WITH[0] <= ph <= LIVED_WITH[1]:
        return nothing
    reading = interpret(BloodGas(ph, paco2, hco3), settings)
    expected = reading.expected
    if expected is None:
        return nothing
    name = reading.lead or next(p for p in reading.processes if p.startswith("metabolic"))
    value = paco2 if expected.quantity == "PaCO2" else hco3
    if expected.acute is not None and expected.chronic is not None:
        stretches = tuple(_kidneys(expected.acute, expected.chronic))
    else:
        stretches = tuple(_lungs(expected.low, expected.high, settings.paco2_set))
    here = Standing(ph, paco2, hco3, hours, name, expected.quantity, value, stretches, None, None)
    now = here.now
    assert now is not None
    if now.low - 1e-9 <= value <= now.high + 1e-9:
        response, second = AS_EXPECTED, None
    else:
        above = value > now.high
        rises = name in (RESPIRATORY_ACIDOSIS, METABOLIC_ALKALOSIS)
        response = MORE if above == rises else LESS
        second = _SECOND[expected.quantity, above]
    return Standing(ph, paco2, hco3, hours, name, expected.quantity, value, stretches, response,
                    second)


def standing_sentence(here: Standing) -> str:
    """Read the patient's place aloud."""
    start = (f"PaCO2 {pressure(here.paco2, as_is=True)} and bicarbonate {here.hco3:g} mmol/L "
             f"make a pH of {here.ph:.2f}")
    now = here.now
    if now is None or here.quantity is None:
        if not LIVED_WITH[0] <= here.ph <= LIVED_WITH[1]:
            return f"{start}. Nobody lives with that for long: move one of them back."
        return f"{start}. Here no rule of response applies: neither value leads alone."
    if here.quantity == "PaCO2":
        word, who, band = "PaCO2", "breathing", pressure(now.low, now.high)
        value = pressure(here.paco2, as_is=True).removesuffix(" mmHg")
    else:
        word, who, band = "bicarbonate", "kidneys", f"{now.low:.0f} to {now.high:.0f} mmol/L"
        value = f"{here.value:g}"
    text = (f"{start}: {here.name}, {time_in_words(here.hours)} old. By now {word} is expected at "
            f"{band} ({now.name}). It is {value}: ")
    if here.second is None:
        return text + _answered(here, now, who)
    return f"{text}{here.response}. Something else is at work: {here.second} as well."


def _answered(here: Standing, now: Stretch, who: str) -> str:
    """What it means that the value stands where it may stand at this hour."""
    done = here.stretches[-1]
    assert here.value is not None
    if now.name == _ON_THE_WAY and not done.low <= here.value <= done.high:
        return ("on the way. The kidneys need more time." if who == "kidneys" else
                "on the way. Breathing may need more time, or it may be failing: look at the "
                "patient now.")
    if who == "breathing":
        return "as expected. Breathing responds as it should."
    if now is here.stretches[0]:
        return ("as expected. The blood's own buffers have moved it a little; the kidneys have "
                "hardly begun.")
    return "as expected. The kidneys have responded as they should."


def time_in_words(hours: float) -> str:
    """Return a time as people say it: hours up to a day, then days."""
    if hours < 1:
        return "minutes"
    if hours < 24:
        return f"{hours:.0f} hour{'' if round(hours) == 1 else 's'}"
    days = hours / 24
    return f"{days:.0f} day{'' if round(days, 1) == 1 else 's'}" if days == int(days) else (
        f"{days:.1f} days")


_ON_THE_WAY: Final = "on the way"


def _kidneys(acute: Arm, chronic: Arm) -> Iterator[Stretch]:
    low, high = acute.low, acute.high
    late_low, late_high = chronic.low, chronic.high
    yield Stretch(0, KIDNEYS_BEGIN, low, high, "minutes to hours")
    yield Stretch(KIDNEYS_BEGIN, KIDNEYS_DONE, min(low, late_low), max(high, late_high),
                  _ON_THE_WAY)
    yield Stretch(KIDNEYS_DONE, LONGEST, late_low, late_high, "days")


def _lungs(low: float, high: float, start: float) -> Iterator[Stretch]:
    yield Stretch(0, LUNGS_DONE, min(low, start), max(high, start), _ON_THE_WAY)
    yield Stretch(LUNGS_DONE, LONGEST, low, high, "half a day and later")
