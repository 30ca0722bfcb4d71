"""The assess-or-act rules in their order: what each looks for, puts first, and rests on."""
from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Final

from acidbase_lib.physiology.early_warning import news2
from acidbase_lib.reading.kilopascal import pressure
from acidbase_lib.reading.oxygenation.target import RETAINER

from .scene import Scene

DANGEROUS_SPO2: Final = 85.0  # BTSOxygen2017: reservoir mask; with a CO2 risk common practice
SLOW_BREATHING: Final = 8.0  # NEWS2: scores 3
SHOCK_SYSTOLIC: Final = 90.0  # NEWS2: scores 3
LOW_GLUCOSE: Final = 4.0  # mmol/L; common practice
FULL_OXYGEN: Final = ("reservoir mask", "high-flow nasal oxygen", "mask ventilation")
#: What has been tried, as a reader is told it.
_DONE: Final = {
    "drug": "a drug or fluid was given", "oxygen up": "oxygen was turned up",
    "oxygen titrated": "oxygen was set for its target", "position": "the position was changed",
    "ventilatory support": "breaths were supported", "call for help": "help was called"}


@dataclass(frozen=True, slots=True)
class Rule:
    """One row: when it applies it tells the finding; `first` lists what comes first, best first.

    A want is a kind, or a kind and what it acts on ("drug: breathing", or "drug: problem" for the
    scene's own problem); wants joined by " + "
    are equally first. `stops` rules never pass on: if no option meets them, nothing is first.
    """

    key: str
    finding: Callable[[Scene], str]
    first: tuple[str, ...]
    sentence: str
    sources: tuple[str, ...]
    stops: bool = True


# --- what each rule looks for: the finding in words, or nothing -----------------------------------

def no_pulse(s: Scene) -> str:
    return "There is no pulse." if s.circulation == "no pulse" else ""


def found_unresponsive(s: Scene) -> str:
    unknown = not (s.gives("breathing") or s.gives("circulation"))
    return ("The patient does not respond, and nothing else is known."
            if s.consciousness == "unresponsive" and unknown else "")


def airway_threat(s: Scene) -> str:
    if s.airway in ("blocked", "at risk"):
        return f"The airway is {s.airway}."
    if s.consciousness in ("pain", "unresponsive") and not s.gives("airway"):
        return "The patient cannot guard the airway, and the story does not say that it is open."
    return ""


def too_little_breathing(s: Scene) -> str:
    if s.effort == "none" or s.respiratory_rate == 0:
        return "The patient is not breathing."
    slow = s.respiratory_rate is not None and s.respiratory_rate <= SLOW_BREATHING
    deep_down = s.consciousness in ("pain", "unresponsive")
    if slow and (below_target(s) or deep_down or hypercapnic_acidosis(s)):
        return (f"{s.respiratory_rate:g} breaths/min do not move enough air: the rest of the story "
                "shows it.")
    return "Breathing is shallow in a patient who cannot be roused." if (
        s.effort == "shallow" and deep_down) else ""


def not_looked_again(s: Scene) -> str:
    eased = {"oxygen up", "oxygen titrated", "ventilatory support"} & set(s.tried)
    if not s.tried or s.reassessed or (dangerous(s) and not eased):
        return ""
    done = ", ".join(_DONE.get(kind, "something was done") for kind in s.tried)
    return f"Since these values were taken, {done}."


def critical_illness(s: Scene) -> str:
    if "carbon monoxide" in s.history and s.device not in FULL_OXYGEN:
        return ("After carbon monoxide the probe reads too high: SpO2 does not show the oxygen "
                "carried, and does not steer it.")
    ill = (in_shock(s) or s.consciousness in ("pain", "unresponsive")
           or "critical illness" in s.history)
    if not ill or (s.co2_risk and hypercapnic(s)) or not_enough(s):
        return ""
    if not s.gives("saturation"):
        return "" if s.on_oxygen else "The patient is critically ill and breathes no added oxygen."
    return f"The patient is critically ill. {below_target(s)}" if below_target(s) else ""


def not_enough(s: Scene) -> str:
    much = (s.device in FULL_OXYGEN or (s.fio2 or 0) >= 0.6 or "oxygen up" in s.tried)
    return f"{below_target(s)} That is on much oxygen already." if much and below_target(s) else ""


def low_with_risk(s: Scene) -> str:
    return below_target(s) if s.co2_risk and not dangerous(s) else ""


def dangerous_with_risk(s: Scene) -> str:
    return below_target(s) if s.co2_risk and dangerous(s) else ""


def dangerously_low(s: Scene) -> str:
    return below_target(s) if dangerous(s) else ""


def lying_flat(s: Scene) -> str:
    able = (s.consciousness not in ("pain", "unresponsive") and not in_shock(s)
            and "spine not cleared" not in s.history and not tiring(s))
    short = s.effort == "labored" or below_target(s)
    return "The patient is short of breath and lies flat." if (
        able and short and s.posture == "flat") else ""


def below_target(s: Scene) -> str:
    low, high = s.target
    if s.spo2 is None or not s.spo2_reliable or s.spo2 >= low:
        return ""
    return f"SpO2 {s.spo2:g} % is below the target of {low:g}–{high:g} %."


def too_much_oxygen(s: Scene) -> str:
    low, high = s.target
    over = s.spo2 is not None and s.spo2_reliable and s.spo2 > high
    known = "retains" if RETAINER in s.history else "may retain"
    return (f"SpO2 {s.spo2:g} % on oxygen is above the target of {low:g}–{high:g} %, "
            f"and this patient {known} CO2." if over and s.co2_risk and s.on_oxygen else "")


def tiring(s: Scene) -> str:
    if s.effort == "tiring":
        return "The patient is tiring."
    gas = s.arterial_gas
    working = s.effort in ("labored", "shallow") or (s.respiratory_rate or 0) >= 25
    if gas is not None and "asthma" in s.history and working and gas.paco2 >= 35:
        return (f"In asthma, beside breathing this hard, a PaCO2 of "
                f"{pressure(gas.paco2, as_is=True)} is a warning: it should be low.")
    return ""


def acid_from_co2(s: Scene) -> str:
    gas = s.arterial_gas
    return (f"pH {gas.ph:.2f} with PaCO2 {pressure(gas.paco2, as_is=True)}: CO2 is making the "
            "blood acid."
            if gas is not None and hypercapnic_acidosis(s) else "")


def shock(s: Scene) -> str:
    low = s.systolic is not None and s.systolic <= SHOCK_SYSTOLIC
    return (f"The systolic pressure is {s.systolic:g} mmHg." if low
            else "The patient is in shock." if s.circulation == "shock" else "")


def low_glucose(s: Scene) -> str:
    down = s.consciousness not in (None, "alert")
    return (f"The glucose is {s.glucose:g} mmol/L in a patient who is not fully awake."
            if down and s.glucose is not None and s.glucose < LOW_GLUCOSE else "")


def known_problem(s: Scene) -> str:
    return "The story gives the finding that asks for treatment." if s.problem else ""


def score_of_seven(s: Scene) -> str:
    score, _ = score_so_far(s)
    return f"The values given score at least {score} on NEWS2." if score >= 7 else ""


def something_unknown(s: Scene) -> str:
    return "The story does not give this finding, and nothing in it speaks against a short look."


def score_of_five(s: Scene) -> str:
    score, three = score_so_far(s)
    if score < 5 and not three:
        return ""
    return f"The values given score at least {score} on NEWS2{', one of them 3' if three else ''}."


def all_known(s: Scene) -> str:
    return "Nothing threatens life, and the findings asked about are known."


def score_so_far(s: Scene) -> tuple[int, bool]:
    """NEWS2 of the values given and whether one scores 3; what is missing is taken as normal."""
    confirmed = {"chronic CO2 retainer", "previous ventilatory support"} & set(s.history)
    level = "confusion" if s.consciousness == "new confusion" else s.consciousness
    score = news2(
        respiratory_rate=16 if s.respiratory_rate is None else s.respiratory_rate,
        spo2=(90 if confirmed else 97) if s.spo2 is None or not s.spo2_reliable else s.spo2,
        on_oxygen=s.on_oxygen, consciousness=level or "alert",
        systolic_pressure=120 if s.systolic is None else s.systolic,
        pulse=70 if s.pulse is None else s.pulse,
        temperature=37 if s.temperature is None else s.temperature,
        spo2_scale=2 if confirmed else 1)
    return score.total, bool(score.single_three)


def dangerous(s: Scene) -> bool:
    return bool(below_target(s)) and s.spo2 is not None and s.spo2 < DANGEROUS_SPO2


def in_shock(s: Scene) -> bool:
    return bool(shock(s))


def hypercapnic(s: Scene) -> bool:
    return s.arterial_gas is not None and s.arterial_gas.paco2 > 45


def hypercapnic_acidosis(s: Scene) -> bool:
    return hypercapnic(s) and s.arterial_gas is not None and s.arterial_gas.ph < 7.35


# --- the rules: the first that applies decides ----------------------------------------------------

_TITRATED = ("BTSOxygen2017", "Austin2010", "Aubier1980", "Robinson2000")
_ABCDE = ("Thim2012", "CommonPractice")
_HABIT = ("CommonPractice",)
RULES: Final[tuple[Rule, ...]] = (
    Rule("no pulse", no_pulse,
         ("life support: circulation + call for help", "ventilatory support"),
         "Without a pulse, the call and chest compressions both belong to the first seconds.",
         _ABCDE),
    Rule("found unresponsive", found_unresponsive,
         ("call for help + life support + assess: airway + assess: breathing"
          " + assess: circulation",),
         "A shout for help, an open airway and a look for breathing and pulse belong together.",
         _ABCDE),
    Rule("airway", airway_threat,
         ("life support: airway", "position: airway", "drug: airway", "assess: airway",
          "call for help"),
         "Airway before breathing, breathing before circulation: a threat is met as it is found.",
         _ABCDE),
    Rule("too little breathing", too_little_breathing,
         ("ventilatory support", "life support: airway", "call for help", "drug: breathing",
          "oxygen up"),
         "Supported breaths come first, then what is prescribed against the cause; tests wait.",
         _ABCDE),
    Rule("look again", not_looked_again, ("assess",),
         "After acting, look again before the next step.", _ABCDE, stops=False),
    Rule("oxygen at once", critical_illness, ("oxygen up", "oxygen titrated", "call for help"),
         "In critical illness much oxygen comes at once, even with a CO2 risk. When it is lowered, "
         "a probe that can be trusted tells, or the team.", ("BTSOxygen2017",)),
    Rule("oxygen is not enough", not_enough,
         ("call for help", "ventilatory support", "oxygen titrated"),
         "Low oxygen in spite of much oxygen needs the team that can support the breathing.",
         _HABIT),
    Rule("dangerous, CO2 risk", dangerous_with_risk,
         ("oxygen titrated", "oxygen up", "call for help"),
         "Oxygen is titrated to its target, never withheld: low oxygen harms sooner than CO2. "
         "Help is called meanwhile.", _TITRATED),
    Rule("low, CO2 risk", low_with_risk, ("oxygen titrated", "call for help"),
         "With a CO2 risk oxygen is titrated to its target, neither full nor withheld.", _TITRATED),
    Rule("dangerous", dangerously_low, ("oxygen up", "oxygen titrated", "call for help"),
         "SpO2 below 85 % without a CO2 risk is met with a reservoir mask, then titrated. Help is "
         "called meanwhile.",
         ("BTSOxygen2017",)),
    Rule("sit up", lying_flat, ("position: breathing",),
         "Sitting up takes seconds, needs nothing and helps the chest to open.", _HABIT,
         stops=False),
    Rule("low oxygen", below_target, ("oxygen titrated", "oxygen up", "call for help"),
         "Low oxygen is a finding already: it is brought to its target, then looked into.",
         ("BTSOxygen2017",)),
    Rule("too much oxygen", too_much_oxygen, ("oxygen titrated", "call for help"),
         "Too much oxygen can raise CO2: it comes down to the target in steps, not all at once.",
         _TITRATED),
    Rule("tiring", tiring, ("call for help", "ventilatory support"),
         "Somebody who tires needs the team before the breathing fails; support is made ready.",
         ("AsthmaPathway2024", "BTSICS2016", "CommonPractice")),
    Rule("acid from CO2", acid_from_co2,
         ("call for help", "ventilatory support", "drug: breathing"),
         "With the oxygen in its target this asks for urgent review; support is considered.",
         ("BTSOxygen2017", "BTSICS2016")),
    Rule("circulation", shock, ("life support: circulation", "position: circulation",
                                "drug: circulation", "call for help"),
         "With airway and breathing safe, circulation is next: what is prescribed, and the call.",
         _ABCDE),
    Rule("low glucose", low_glucose, ("drug: consciousness", "call for help"),
         "Disability is next: a brain without glucose is a threat that is met as it is found.",
         _ABCDE),
    Rule("known problem", known_problem, ("drug: problem + position: problem",),
         "What is prescribed against a known finding is not delayed by more looking.",
         _HABIT, stops=False),
    Rule("score of 7", score_of_seven, ("call for help",),
         "A NEWS2 of 7 or more asks for an emergency response.", ("RCP2017",), stops=False),
    Rule("look first", something_unknown, ("assess",),
         "Assess before acting, unless the story gives the finding or delay adds danger.",
         _HABIT, stops=False),
    Rule("score of 5", score_of_five, ("call for help",),
         "A NEWS2 of 5 or 6, or a single 3, asks for an urgent review.", ("RCP2017",), stops=False),
    Rule("the one that acts", all_known, ("position + drug + oxygen titrated",),
         "When all that matters is known, care comes before teaching and paper.", _HABIT),
)
