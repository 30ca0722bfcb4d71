"""Hours at the bedside about the circulation and about ketoacidosis."""
from __future__ import annotations

from typing import Final

from acidbase_lib.reading.priority.scene import Option

from .body import HourBody, HourState
from .case import LOOK, HourCase, Step, call, look, paper

_UP: Final = Step(Option("Turn the oxygen up to 15 L/min", "oxygen up"), 5,
                  "More oxygen comes in.", {"fio2": 0.8, "device": "reservoir mask"},
                  while_true=lambda state: state.device != "reservoir mask")

BLEEDING: Final = HourCase(
    name="bleeding",
    age=(50, 82), ward="the acute medical ward",
    story="{They} takes pain tablets every day and has passed black, sticky stools three times "
          "today. {They} is awake, pale and cold. A line is in; blood and fluid are prescribed.",
    body=HourBody(lung=0.93, bleeds=0.015),
    start=HourState(0, 4.3, 40, deficit=1.2),
    steps={
        "blood": Step(Option("Call out for help, and start the prescribed blood and fluid", "drug",
                             acts_on="circulation"), 3, "Fluid runs; blood is on its way.",
                      {"fluid": True}, team=10, while_true=lambda state: not state.fluid),
        "sit": Step(Option("Sit {them} upright, so that breathing is easier", "position",
                           acts_on="breathing"), 5, "{They} turns paler.", {"upright": True},
                    while_true=lambda state: not state.upright,
                    why="Upright, even less blood may reach the brain."),
        "wait": Step(Option("Wait for the hemoglobin first", "assess", looks_at=("laboratory",)),
                     15, "The hemoglobin is hardly low; the bleeding goes on.",
                     why="Early on hemoglobin can stay in range while much blood is lost."),
        "up": _UP, LOOK: look(), "call": call(),
        "rest": paper("Chart how much has been lost", why="While you write, the bleeding goes on."),
    },
    keep=("Pulse and pressure tell of lost blood before the hemoglobin does.",
          "What is prescribed runs at once; the call goes out beside it.",
          "Each minute of a low pressure counts, also where it ends well."),
    shows=("respiratory_rate", "spo2", "pulse", "systolic", "consciousness", "lactate"),
    vary={"deficit": (1.15, 1.3)})

INFECTION: Final = HourCase(
    name="an infection that has reached the circulation",
    age=(48, 84), ward="the acute medical ward",
    story="{They} has had an infection of the urine for three days, shivers and is mottled, and "
          "is on oxygen by mask. Fluid and an antibiotic are prescribed, and the line is in.",
    body=HourBody(lung=0.5, bleeds=0.01),
    start=HourState(0, 4.5, 38, 0.35, "simple mask", deficit=1.2),
    steps={
        "fluid": Step(Option("Start the prescribed fluid and antibiotic, and call out for help",
                             "drug", acts_on="circulation"), 3,
                      "Blood cultures are taken without delay; fluid and antibiotic run; help has "
                      "been called.", {"fluid": True}, team=10,
                      while_true=lambda state: not state.fluid),
        "fever": Step(Option("Give the prescribed tablet for the fever, and let it work", "drug",
                             acts_on="comfort"), 15, "{They} sweats.",
                      why="The fever is not what threatens now: the pressure is."),
        "again": Step(Option("Have lactate measured once more first", "assess",
                             looks_at=("laboratory",)), 10, "Lactate is as high as before."),
        "up": _UP, LOOK: look(), "call": call(),
        "rest": paper("Complete the form, since SpO2 is in the target", why="An SpO2 in its target "
                      "says nothing of the pressure, and while you write it may fall further."),
    },
    keep=("A low pressure with a high lactate is finding enough.",
          "Fluid and antibiotic run as prescribed, then somebody looks at what they did. If the "
          "pressure stays low, the team decides on a vasopressor.",
          "Oxygen in its target does not mend a circulation."),
    shows=("respiratory_rate", "spo2", "pulse", "systolic", "consciousness", "lactate"),
    vary={"deficit": (1.15, 1.3)})

KETONES: Final = HourCase(
    name="ketoacidosis",
    age=(19, 58), ward="the emergency department",
    story="{They} has diabetes and ran out of insulin two days ago. {They} is awake and breathes "
          "deep; the prescribed fluid runs. Insulin is prescribed, and so is a potassium drip "
          "if potassium is low. Nobody has seen a potassium yet.",
    body=HourBody(lung=0.93, usual_paco2=26, usual_hco3=12, co2_output=220, deep=True),
    start=HourState(0, 7.3, 26, glucose=26, potassium=3.0, drip=True, deficit=0.4),
    steps={
        "measure": Step(Option("Have potassium measured on a blood gas before the insulin",
                               "assess", looks_at=("laboratory",)), 3,
                        "Potassium is {potassium} mmol/L: low.", ends={"measured": True},
                        while_true=lambda state: not state.measured),
        "insulin": Step(Option("Start the prescribed insulin", "drug", acts_on="cause",
                               needs=("laboratory",)), 3, "Insulin runs.", ends={"insulin": 60},
                        while_true=lambda state: not state.insulin,
                        why="Insulin moves potassium into the cells: while it is low or not "
                            "known, insulin waits (consensus report, 2024)."),
        "potassium": Step(Option("Start the prescribed potassium drip, insulin held; call out",
                                 "drug", acts_on="circulation"), 3,
                          "The drip runs, on the monitor. Help has been called.",
                          {"insulin": 0}, ends={"potassium_drip": True}, team=8,
                          while_true=lambda state: state.measured and not state.potassium_drip),
        "mask": Step(Option("Put on a reservoir mask for the deep breathing", "oxygen up"), 10,
                     "The breathing stays deep.", {"fio2": 0.8, "device": "reservoir mask"},
                     while_true=lambda state: state.device == "air"),
        LOOK: look(), "call": call(),
        "rest": paper("Ask {them} to breathe slowly, and chart it", why="Slowed down, the "
                      "blood may become more acid and the heart may fail: the deep breaths help."),
    },
    keep=("Potassium is known before insulin begins: insulin lowers it further.",
          "Deep breaths are the answer to the acid; SpO2 says that oxygen is not short.",
          "A low potassium is brought up first, on the monitor, as prescribed."),
    shows=("respiratory_rate", "spo2", "pulse", "systolic", "consciousness", "glucose", "ph",
           "paco2", "hco3"),
    vary={"potassium": (2.8, 3.1)},
    problem=lambda state: ("circulation" if state.measured and not state.potassium_drip else None),
    given=lambda state: ("laboratory",) if state.measured else ())

FLOW: Final = (BLEEDING, INFECTION, KETONES)
