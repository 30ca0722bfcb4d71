"""Hours at the bedside: who lies there, how it begins, and what may be done."""
from __future__ import annotations

from typing import Final

from acidbase_lib.reading.priority.scene import Option

from .body import CALCIUM_LASTS, NALOXONE_LASTS, HourBody, HourState
from .case import LOOK, HourCase, Step, back_on, call, look, paper
from .cases_alarms import ALARMS
from .cases_flow import FLOW

RETAINER: Final = HourCase(
    name="much oxygen",
    age=(60, 80), ward="the emergency department",
    story="{They} has COPD and retains CO2. In the ambulance a reservoir mask at 15 L/min was put "
          "on. The breathing has become slower since, and {they} wakes only to the voice.",
    body=HourBody(("chronic CO2 retainer",), 56, 30, 220, 0.55),
    start=HourState(0, 2.75, 84, 0.8, "reservoir mask"),
    steps={
        "aim": Step(Option("Turn the oxygen down in steps toward "
                           "<<oxygen_target_co2_risk>>, and call out for help",
                           "oxygen titrated", target=(88, 92)), 5,
                    "The oxygen is down to a Venturi mask, set for the target; help is called.",
                    {"fio2": 0.30, "device": "venturi mask"}, team=10,
                    while_true=lambda state: state.device not in ("venturi mask", "air")),
        "on": back_on(),
        "off": Step(Option("Take the oxygen off, because CO2 is high", "oxygen withheld"), 5,
                    "The mask is off.", {"fio2": 0.21, "device": "air"},
                    while_true=lambda state: state.device != "air"),
        "up": Step(Option("Start a reservoir mask at 15 L/min", "oxygen up"), 10,
                   "The reservoir mask is on.", {"fio2": 0.8, "device": "reservoir mask"},
                   while_true=lambda state: state.device != "reservoir mask"),
        LOOK: look(), "call": call(),
        "rest": paper("Chart SpO2 as good, and let {them} sleep", why="This sleep may be CO2: left "
                      "alone, somebody may not wake. A high SpO2 on oxygen hides it."),
    },
    keep=("With a CO2 risk oxygen has a target, <<oxygen_target_co2_risk>>, and too much is turned "
          "down in steps.",
          "Taken off at once, it leaves low oxygen in the place of high CO2.",
          "Sleepiness on oxygen is looked at, not left: CO2 shows in a gas, not on the probe. If "
          "pH stays below 7.35 with a high CO2, the team judges support by mask (BTS/ICS "
          "guideline, Thorax 2016)."),
    shows=("respiratory_rate", "spo2", "pulse", "consciousness", "ph", "paco2", "hco3"),
    vary={"paco2": (81, 87)})

OPIOID: Final = HourCase(
    name="an opioid",
    age=(40, 76), ward="the surgical ward",
    story="{They} has a pump that gives an opioid by vein. {They} does not wake when pinched, but "
          "moans. The airway is open. Naloxone is prescribed and lies in the cupboard.",
    body=HourBody(("opioid given",), lung=0.93),
    start=HourState(0, 4.3, 74, held=0.75),
    steps={
        "breaths": Step(Option("Shout for help and support the breaths with bag and mask",
                               "ventilatory support"), 3,
                        "The chest rises with each breath you give. A colleague stops the pump and "
                        "brings naloxone.",
                        {"support": True, "fio2": 0.6, "device": "mask ventilation"}, team=6,
                        while_true=lambda state: not (state.support or state.antidote)),
        "naloxone": Step(Option("Give the prescribed naloxone", "drug", acts_on="breathing"), 5,
                         "Naloxone is in; you watch whether the breaths hold.",
                         ends={"antidote": NALOXONE_LASTS, "support": False},
                         because="Bag and mask move the air now. What is prescribed against the "
                                 "cause comes next, and somebody watches what it does.",
                         while_true=lambda state: not state.antidote),
        "up": Step(Option("Put on a reservoir mask at 15 L/min and watch", "oxygen up"), 10,
                   "The mask is on; the chest hardly moves.",
                   {"fio2": 0.8, "device": "reservoir mask"},
                   why="A mask does not move air: SpO2 may rise while CO2 climbs and the breathing "
                       "stops.", while_true=lambda state: state.device == "air"),
        LOOK: look(), "call": call(),
        "rest": paper("Note the last dose, and let {them} sleep", why="Left to sleep unseen, "
                      "somebody with an opioid in the blood may stop breathing."),
    },
    keep=("Breaths come before the antidote: air that does not move carries no oxygen.",
          "Oxygen alone hides it: SpO2 can rise while CO2 goes on rising.",
          "Naloxone wears off sooner than most opioids, so somebody stays and looks again. It is "
          "aimed at enough breathing, not at full wakefulness."),
    shows=("respiratory_rate", "spo2", "pulse", "consciousness", "ph", "paco2", "hco3"),
    vary={"paco2": (70, 77)})

ASTHMATIC: Final = HourCase(
    name="asthma",
    age=(19, 44), ward="the acute medical ward",
    story="{They} has asthma. After an hour of the prescribed treatment {they} breathes as hard as "
          "before, on oxygen by mask. Half an hour ago PaCO2 was <<31 mmHg>>; now it is in range. "
          "Nothing that calms is prescribed.",
    body=HourBody(("asthma",), co2_output=250, lung=0.31, tires=1.6),
    start=HourState(0, 4.8, 41, 0.45, "simple mask"),
    steps={
        "team": Step(Option("Call the emergency team, and stay", "call for help"), 2,
                     "The team is on its way. The prescribed treatment and the oxygen go on. You "
                     "stay.", team=6,
                     while_true=lambda state: state.team is None),
        "up": Step(Option("Turn the oxygen up to 15 L/min and wait", "oxygen up"), 10,
                   "More oxygen comes in; no more air moves.",
                   {"fio2": 0.8, "device": "reservoir mask"},
                   why="While you wait, the breathing may fail: oxygen does not move air.",
                   while_true=lambda state: state.device == "simple mask"),
        "calm": Step(Option("Give something that calms, to slow the breathing", "drug",
                            acts_on="comfort", prescribed=False), 5,
                     "{They} breathes less deeply.", {"held": 0.3},
                     why="It can stop breathing that is only just enough, prescribed or not. Only "
                         "a team ready to take over the breathing decides on it.",
                     while_true=lambda state: not state.held),
        LOOK: look(),
        "rest": paper("Chart the gas as normal, and let {them} rest", 30, "Left to rest, somebody "
                      "this tired may stop breathing. A PaCO2 in range is no comfort here."),
    },
    keep=("A PaCO2 in range in somebody who works this hard is a warning, not good news.",
          "The call comes before the breathing fails; oxygen does not move air.",
          "Fewer breaths and less wheeze can mean that {they} is tired. In this hour the numbers "
          "settle because the team supports the breathing."),
    shows=("respiratory_rate", "effort", "spo2", "pulse", "consciousness", "ph", "paco2", "hco3"),
    vary={"paco2": (39, 43)})

POTASSIUM: Final = HourCase(
    name="potassium",
    age=(48, 80), ward="the kidney ward",
    story="{They} missed two dialysis sessions and feels weak. The monitor shows broad, slow "
          "beats. Calcium, and insulin with glucose, are prescribed; the line is in.",
    body=HourBody(lung=0.93),
    start=HourState(0, 4.3, 40, potassium=7.0),
    steps={
        "calcium": Step(Option("Give the prescribed calcium, on the monitor, and call out for help",
                               "drug", acts_on="circulation"), 4,
                        "The beats become narrow again; help has been called.",
                        ends={"calcium": CALCIUM_LASTS}, team=10,
                        while_true=lambda state: not state.calcium),
        "insulin": Step(Option("Give the prescribed insulin with glucose", "drug",
                               acts_on="cause"), 5,
                        "Insulin and glucose are in. Glucose may fall for hours: it is checked "
                        "often.",
                        ends={"insulin": 60}, gains=4.0,
                        while_true=lambda state: not state.insulin,
                        why="Until insulin works, the heart may stop. Calcium protects it within "
                            "minutes."),
        "again": Step(Option("Send a second sample and wait for it", "assess",
                             looks_at=("laboratory",)), 20, "The second sample says the same.",
                      why="While you wait, the heart may stop. Broad beats show that it is true."),
        LOOK: look(), "call": call(),
        "rest": paper("Explain the diet, and chart it", 10, "Meanwhile the heart may stop: "
                      "teaching waits."),
    },
    keep=("Broad beats mean that potassium has reached the heart: calcium protects it first.",
          "Calcium does not lower potassium; insulin with glucose moves it into the cells for "
          "hours. Here dialysis takes it out.",
          "What protects wears off: rhythm, potassium and glucose are looked at again."),
    shows=("respiratory_rate", "spo2", "pulse", "consciousness", "potassium", "glucose"),
    vary={"potassium": (6.8, 7.2)},
    problem=lambda state: (None if state.potassium <= 6.0 else "circulation" if not state.calcium
                           else "cause" if not state.insulin else None))

GLUCOSE: Final = HourCase(
    name="low glucose",
    age=(62, 84), ward="the general medical ward",
    story="{They} takes tablets that lower glucose for long (a sulfonylurea), and the kidneys have "
          "become worse. {They} wakes only to the voice. Glucose by vein, and a drip of it, are "
          "prescribed; the line is in.",
    body=HourBody(lung=0.93, glucose_falls=0.08),
    start=HourState(0, 4.3, 40, glucose=2.2),
    steps={
        "sugar": Step(Option("Give the prescribed glucose by vein, and call out for help", "drug",
                             acts_on="consciousness"), 3,
                      "The glucose is in; help has been called.", gains=5.0, team=10,
                      while_true=lambda state: state.glucose < 4),
        "juice": Step(Option("Give {them} a glass of juice", "drug", acts_on="cause",
                             needs=("airway",)), 5, "{They} coughs: juice got into the airway.",
                      {"choked": True}, gains=0.6, why="Somebody who is not awake may choke on it.",
                      while_true=lambda state: state.glucose < 3 and not state.choked),
        "air": Step(Option("Start oxygen and aim for <<oxygen_target>>", "oxygen titrated",
                           target=(94, 98)), 3, "Oxygen is on.",
                    {"fio2": 0.5, "device": "simple mask"},
                    while_true=lambda state: state.choked and state.device == "air"),
        "drip": Step(Option("Start the prescribed glucose drip, and check each quarter hour",
                            "drug", acts_on="cause"), 3, "The drip runs.", ends={"drip": True},
                     while_true=lambda state: not state.drip),
        LOOK: look(), "call": call(),
        "rest": paper("Chart it, and let {them} sleep", why="Left to sleep unseen, somebody "
                      "whose glucose falls may have a seizure or not wake."),
    },
    keep=("A low glucose in somebody who is not awake is met as it is found.",
          "Nothing by mouth for somebody who may choke.",
          "These tablets act for long: glucose falls again, so a drip runs and somebody checks, "
          "for a day or more."),
    shows=("respiratory_rate", "spo2", "pulse", "consciousness", "glucose"),
    vary={"glucose": (1.9, 2.5)},
    problem=lambda state: "cause" if state.glucose >= 4 and not state.drip else None)

_CANNOT_TELL: Final = (
    "Without much oxygen carbon monoxide stays in the blood far longer, and heart and brain may "
    "come to harm. SpO2 cannot tell: the probe takes carbon monoxide for oxygen.")
MONOXIDE: Final = HourCase(
    name="carbon monoxide",
    age=(24, 70), ward="the emergency department",
    story="{They} worked on a running engine in a closed garage. {They} has a headache and feels "
          "sick; {their} blood shows {cohb} % carbon monoxide. {They} breathes room air.",
    body=HourBody(("carbon monoxide",), lung=0.93),
    start=HourState(0, 4.3, 40, cohb=30),
    steps={
        "full": Step(Option("Start a reservoir mask at 15 L/min, and call out for help",
                            "oxygen up"), 3, "The reservoir mask fits; help has been called.",
                     {"fio2": 0.8, "device": "reservoir mask"}, team=10,
                     while_true=lambda state: state.device != "reservoir mask"),
        "little": Step(Option("Start a cannula at 2 L/min and aim for <<oxygen_target>>",
                              "oxygen titrated", target=(94, 98)), 10, "The cannula is on.",
                       {"fio2": 0.28, "device": "nasal cannula"},
                       why="Too little: SpO2 is no aim here, and a low flow washes carbon "
                           "monoxide out far more slowly.",
                       while_true=lambda state: state.device != "nasal cannula"),
        "none": Step(Option("Go on without oxygen, because SpO2 is in range", "oxygen withheld"),
                     10, "{They} breathes room air.",
                     why=_CANNOT_TELL, while_true=lambda state: state.device == "air"),
        "off": Step(Option("Take the oxygen off, because SpO2 is in range", "oxygen withheld"),
                    10, "{They} breathes room air again.", {"fio2": 0.21, "device": "air"},
                    why=_CANNOT_TELL, while_true=lambda state: state.device != "air"),
        LOOK: look(), "call": call(),
        "rest": paper("Chart SpO2 as good, and let {them} rest", why=_CANNOT_TELL),
    },
    keep=("After carbon monoxide the probe reads too high: it takes it for oxygen.",
          "Oxygen washes it out: half is gone in about 74 minutes, on air in hours.",
          "The mask stays on until the team decides, whatever the probe says. A falling level "
          "does not show that heart and brain are unharmed."),
    shows=("respiratory_rate", "spo2", "pulse", "consciousness"),
    vary={"cohb": (27, 33)})

HOURS: Final = (RETAINER, OPIOID, ASTHMATIC, POTASSIUM, GLUCOSE, MONOXIDE, *FLOW, *ALARMS)
