"""Hours that begin with an alarm: a number by phone, a wrong sample, a leak, a blocked tube."""
from __future__ import annotations

from typing import Final

from acidbase_lib.reading.priority.scene import Option

from .body import HourBody, HourState
from .case import LOOK, HourCase, Step, back_on, call, look, paper

#: That a critical value is read back, and acted on by whoever hears it, is common practice.
PHONE: Final = HourCase(
    name="a critical value by phone",
    age=(58, 84), ward="the heart ward",
    story="{They} takes water tablets and has lost fluid for four days. The laboratory phones: "
          "potassium {potassium} mmol/L, a good sample; you have read it back. {They} feels weak, "
          "and the monitor shows extra beats. A potassium drip is prescribed if it is low, and "
          "so is insulin for a glucose of 14 mmol/L; the line is in.",
    body=HourBody(lung=0.93),
    start=HourState(0, 4.3, 40, glucose=14.0, potassium=2.4, measured=True),
    steps={
        "potassium": Step(Option("Start the prescribed potassium drip, on the monitor; call out",
                                 "drug", acts_on="circulation"), 3,
                          "The drip runs as prescribed, on the monitor. Help has been called.",
                          {"insulin": 0}, ends={"potassium_drip": True}, team=8,
                          because="With potassium this low the heart may stop. The drip is "
                                  "prescribed for this finding: more looking only delays it.",
                          while_true=lambda state: not state.potassium_drip),
        "insulin": Step(Option("Give the prescribed insulin first, since it is due", "drug",
                               acts_on="cause"), 5, "The insulin is in.", ends={"insulin": 60},
                        while_true=lambda state: not state.insulin,
                        why="Insulin moves potassium into the cells: from {potassium} it may fall "
                            "until the heart stops."),
        "again": Step(Option("Send a second sample, and wait until the number is confirmed",
                             "assess", looks_at=("laboratory",)), 20,
                      "The second sample says the same.",
                      why="While you wait, the heart may stop. A good sample, weakness and extra "
                          "beats agree."),
        LOOK: look(), "call": call(),
        "rest": paper("Write the number in the chart, ready for the round at noon", why="Until "
                      "noon the heart may stop. Whoever hears a critical value acts on it."),
    },
    keep=("A critical value by phone is read back, and whoever hears it acts on it at once.",
          "A low potassium is brought up as prescribed, by a pump and on the monitor, never pushed "
          "in by hand: fast potassium can stop the heart. Insulin waits.",
          "Weakness and extra beats agree with the number. Magnesium is measured too: while it is "
          "low, potassium stays low (common practice)."),
    shows=("respiratory_rate", "spo2", "pulse", "systolic", "consciousness", "potassium",
           "glucose"),
    vary={"potassium": (2.3, 2.6)},
    problem=lambda state: "circulation" if not state.potassium_drip else None)

#: PO2 in venous blood is low in anybody (common practice); too much oxygen in a CO2 risk [BTS].
SAMPLE: Final = HourCase(
    name="a sample from a vein",
    age=(60, 82), ward="the emergency department",
    story="{They} has COPD and retains CO2. On oxygen by mask {they} has become sleepy. The blood "
          "for the gas was dark and came slowly; the printout says PO2 34 mmHg, and a red arrow "
          "stands beside it. The probe shows a strong, steady pulse.",
    body=HourBody(("chronic CO2 retainer",), 56, 30, 220, 0.55),
    start=HourState(0, 2.75, 82, 0.55, "simple mask"),
    steps={
        "aim": Step(Option("Turn the oxygen down in steps toward <<oxygen_target_co2_risk>>, and "
                           "call out for help", "oxygen titrated", target=(88, 92)), 5,
                    "The oxygen is down to a Venturi mask, set for the target; help is called. A "
                    "new sample, from an artery, is on its way.",
                    {"fio2": 0.30, "device": "venturi mask"}, team=10,
                    while_true=lambda state: state.device not in ("venturi mask", "air")),
        "on": back_on(),
        "up": Step(Option("Put on a reservoir mask at 15 L/min", "oxygen up"), 10,
                   "The reservoir mask is on.", {"fio2": 0.8, "device": "reservoir mask"},
                   while_true=lambda state: state.device != "reservoir mask",
                   why="CO2 may climb until {they} cannot be woken. Dark blood that comes slowly "
                       "is most likely from a vein: its PO2 is low in anybody. SpO2 and the person "
                       "tell how much oxygen is needed."),
        "off": Step(Option("Take the oxygen off, because {they} is sleepy from CO2",
                           "oxygen withheld"), 5, "The mask is off.",
                    {"fio2": 0.21, "device": "air"},
                    while_true=lambda state: state.device != "air"),
        "again": Step(Option("Send a new sample from an artery, and change nothing until it is "
                             "back", "assess", looks_at=("gas",)), 15,
                      "The new sample shows a high CO2 and an acid pH.",
                      why="While you wait, breathing may fail: SpO2 and how {they} answers tell "
                          "enough to act on. The new sample goes beside the step, not before it."),
        LOOK: look(), "call": call(),
        "rest": paper("Chart the PO2 of 34 mmHg as critical, and let {them} sleep", why="This "
                      "sleep may be CO2: left alone, somebody may not wake. The charted number "
                      "misleads whoever reads it next."),
    },
    keep=("A number that does not fit the person is held against the probe and the sample.",
          "Blood from a vein says little of oxygen: its PO2 is low in anybody.",
          "Above its target, oxygen comes down in steps; a new sample goes beside it."),
    shows=("respiratory_rate", "spo2", "pulse", "consciousness"),
    vary={"paco2": (80, 85)}, given=lambda state: ("laboratory", "gas"))

#: Leak is looked for first when support by mask fails: BTS/ICS 2016, from memory, not yet checked.
MASK: Final = HourCase(
    name="a mask that leaks",
    age=(58, 80), ward="the respiratory ward",
    story="{They} retains CO2 and has support by mask since this morning. {They} has become "
          "sleepy. The machine's alarm for a leak has been silenced twice; air blows past the "
          "mask into the eyes, and the chest hardly moves with it. Nothing that calms is "
          "prescribed.",
    body=HourBody(("chronic CO2 retainer", "previous ventilatory support"), 56, 30, 220, 0.55,
                  tires=0.6),
    start=HourState(0, 2.75, 82, 0.30, "mask ventilation"),
    steps={
        "refit": Step(Option("Call the team, fit the mask until the chest moves with it, and keep "
                             "oxygen in its target", "call for help"), 3,
                      "The mask fits, and the chest moves with each breath of the machine. Oxygen "
                      "is set for the target. The team is on its way.",
                      ends={"support": True, "fio2": 0.30}, team=8,
                      because="While the mask leaks, support does not reach the lungs: CO2 goes on "
                              "making the blood acid, and breathing may fail. The team is called "
                              "beside the first look at the mask.",
                      while_true=lambda state: not state.support),
        "quiet": Step(Option("Silence the alarm for the leak once more, and come back later",
                             "document"), 10, "The alarm is silent. The mask leaks on.",
                      why="The alarm is right: with a leak the machine moves little air, and "
                          "{they} may stop breathing.",
                      while_true=lambda state: not state.support),
        "up": Step(Option("Turn the machine's oxygen up as far as it goes, and watch SpO2 rise",
                          "oxygen up"), 10, "SpO2 rises; the mask leaks on.", {"fio2": 0.8},
                   while_true=lambda state: state.fio2 < 0.5,
                   why="Oxygen does not move air, and with a CO2 risk it may raise CO2 until "
                       "{they} cannot be woken."),
        "calm": Step(Option("Give something that calms, so that {they} bears the mask better",
                            "drug", acts_on="comfort", prescribed=False), 5,
                     "{They} breathes less deeply.", {"held": 0.3},
                     why="It can stop breathing that is only just enough. Only a team ready to "
                         "take over the breathing decides on it.",
                     while_true=lambda state: not state.held),
        LOOK: look(),
        "rest": paper("Write the machine's settings into the chart, and let {them} sleep",
                      why="This sleep may be CO2: left alone, somebody may not wake. Settings do "
                          "not show what reaches the lungs."),
    },
    keep=("An alarm that comes again has a cause: look at the mask, the tubes and the chest.",
          "What the machine is set to give is not what arrives: the chest and the gas tell.",
          "If it does not get better soon, the team decides on the next step: it is called early."),
    shows=("respiratory_rate", "spo2", "pulse", "consciousness", "ph", "paco2", "hco3"),
    vary={"paco2": (80, 85)})

#: Help, oxygen to face and neck, then the inner tube: McGrath BA et al. Anaesthesia 2012;67:1025
#: (from memory, not yet checked).
TUBE: Final = HourCase(
    name="a blocked tube in the neck",
    age=(44, 78), ward="the throat ward",
    story="{They} breathes through a tube in the neck (a tracheostomy), with an inner tube and "
          "moist air over it; the throat above it is open. The saturation alarm rings. "
          "{They} is awake and cannot get air: hardly any comes through the tube, and the suction "
          "catheter does not pass.",
    body=HourBody(lung=0.75, blocks=0.6),
    start=HourState(0, 4.3, 41, choked=True),
    steps={
        "clear": Step(Option("Call out for help, give oxygen to face and neck, and take the inner "
                             "tube out", "life support", acts_on="airway"), 2,
                      "A plug comes out with the inner tube, and air moves. Help is on its way.",
                      {"device": "reservoir mask"}, ends={"choked": False, "fio2": 0.6}, team=6,
                      because="Without air breathing stops within minutes. Airway comes first: the "
                              "inner tube is what can be cleared at once, and oxygen goes on at "
                              "face and neck meanwhile.",
                      while_true=lambda state: state.choked),
        "probe": Step(Option("Silence the alarm, and put the probe on another finger to be sure",
                             "assess", looks_at=("saturation", "equipment")), 5,
                      "The new finger shows the same number.",
                      while_true=lambda state: state.choked,
                      why="While you change it, {they} may stop breathing. The alarm agrees with "
                          "what you see: {they} gets no air."),
        "up": Step(Option("Turn the oxygen over the tube up to 15 L/min, and wait for SpO2",
                          "oxygen up"), 8, "More oxygen flows over the tube; little goes in.",
                   {"device": "simple mask"},
                   while_true=lambda state: state.choked and state.device == "air",
                   why="Through a blocked tube no oxygen gets in: while you wait, {they} may stop "
                       "breathing."),
        "flat": Step(Option("Lay {them} flat, so that the neck can be seen better", "position",
                            acts_on="comfort"), 5, "{They} gets even less air, and sits up again.",
                     while_true=lambda state: state.choked,
                     why="Flat, somebody who gets no air breathes worse, and the tube stays "
                         "blocked."),
        LOOK: look(), "call": call(),
        "rest": paper("Chart when the tube was last cleaned, and plan the next time", 10,
                      "While you write, {they} may stop breathing: no air gets through."),
    },
    keep=("Airway first: a tube through which no air comes is blocked until shown otherwise.",
          "The inner tube comes out, oxygen goes to face and neck, and help is called at once.",
          "If that does not open the way, the team lets the air out of the cuff, and may take the "
          "tube out: so it is called first. Once air moves, oxygen comes down to its target."),
    shows=("respiratory_rate", "effort", "spo2", "pulse", "consciousness"),
    vary={"paco2": (39, 42)},
    airway=lambda state: "blocked" if state.choked else "open")

ALARMS: Final = (PHONE, SAMPLE, MASK, TUBE)
