"""The two patients over time: a woman who retains CO2 and a man whom asthma tires."""
from __future__ import annotations

from typing import Final

from acidbase_lib.reading.oxygenation.target import ASTHMA
from acidbase_lib.reading.oxygenation.target import RETAINER as RETAINER_WORD

from .patient_course import Body, Course, CourseChoice, CourseState

_VENTURI = "24 % Venturi mask"
_RESERVOIR = "reservoir mask, 15 L/min"
_AIR = "room air"
_GO_ON = CourseChoice(
    "Go on with the treatment, with the team watching, and look again in an hour",
    "The treatment goes on opening the airways.", 60, eases=0.3)

RETAINER: Final = Course(
    name="Mrs. Quill, who retains CO2",
    story="Mrs. Quill, 68, has lung disease. A letter gives her target: SpO2 "
    "<<oxygen_target_co2_risk>>.",
    clock=6 * 60 + 10,
    # her gas at ten past six, as in unit 02: pH 7.29, PaCO2 62, bicarbonate 29
    body=Body(
        usual_paco2=50,
        usual_hco3=28,
        co2_output=200,
        lung=0.60,
        tires=0.12,
        rate=24,
        worn_below=2.6,
        history=(RETAINER_WORD,),
    ),
    start=CourseState(0, breathing=2.79, fio2=0.21, device=_AIR),
    points=(
        (
            CourseChoice(
                "Start a 24 % Venturi mask, aim for <<oxygen_target_co2_risk>>",
                "Oxygen goes up in a small step.",
                20,
                fio2=0.24,
                device=_VENTURI,
            ),
            CourseChoice(
                "Start a reservoir mask at 15 L/min and leave it",
                "Oxygen goes up all at once.",
                20,
                fio2=0.80,
                device=_RESERVOIR,
            ),
            CourseChoice("Give no oxygen, because it raises CO2", "Oxygen stays as it is.", 20),
        ),
        (
            CourseChoice(
                "Look again, bring oxygen to its target, give the prescribed treatment, call",
                "The oxygen is set by the target. Treatment opens the airways; the team knows.",
                40,
                fio2=0.24,
                device=_VENTURI,
                eases=0.45,
            ),
            CourseChoice(
                "Change nothing and look again in an hour", "Nobody has looked for an hour.", 60
            ),
            CourseChoice(
                "Take the oxygen off, because it raises CO2",
                "The oxygen is gone at once.",
                20,
                fio2=0.21,
                device=_AIR,
                instead=((_AIR, "Go on without oxygen, because it raises CO2",
                          "Oxygen stays as it is."),),
            ),
        ),
        (
            CourseChoice(
                "Oxygen in its target, and the team starts mask ventilation",
                "The machine takes over a part of each breath.",
                60,
                fio2=0.22,
                device="mask ventilation with a little oxygen",
                eases=0.15,
                support=0.5,
            ),
            CourseChoice(
                "Go on as it is, and look again in an hour", "Nothing new has been done.", 60,
                treated=_GO_ON,
            ),
            CourseChoice(
                "Turn the oxygen up to 15 L/min",
                "Oxygen goes up all at once.",
                40,
                fio2=0.80,
                device=_RESERVOIR,
                instead=(
                    (_AIR, "Start oxygen at 15 L/min", "Oxygen goes up all at once."),
                    (_RESERVOIR, "Leave the oxygen at 15 L/min", "Oxygen stays as it is."),
                ),
            ),
        ),
    ),
)

ASTHMATIC: Final = Course(
    name="Mr. Ashgrove, whom asthma tires",
    story="Mr. Ashgrove, 27, has had an asthma attack since midnight. His target is "
    "<<oxygen_target>>.",
    clock=6 * 60,
    body=Body(
        usual_paco2=40,
        usual_hco3=24,
        co2_output=250,
        lung=0.66,
        tires=0.28,
        rate=34,
        worn_below=6.0,
        history=(ASTHMA,),
    ),
    start=CourseState(0, breathing=7.3, fio2=0.24, device="oxygen, 1 L/min"),
    points=(
        (
            CourseChoice(
                "Give the prescribed treatment, stay, and look again in half an hour",
                "The treatment has begun to open the airways.",
                30,
                eases=0.3,
            ),
            CourseChoice(
                "Wait an hour: PaCO2 is low, so there is room",
                "He has worked for an hour more.",
                60,
            ),
            CourseChoice(
                "Give the prescribed sedative, to slow the breathing",
                "He breathes less deeply, and works no less.",
                60,
                gains=-2.0,
            ),
        ),
        (
            CourseChoice(
                "Call the emergency team and stay with him",
                "The team brings more treatment and the means to help the breathing.",
                30,
                eases=0.4,
            ),
            CourseChoice(
                "Read the gas alone, and look again in an hour", "Nothing new has been done.", 60
            ),
            CourseChoice(
                "Turn the oxygen up to 15 L/min and wait",
                "More oxygen comes in; no more CO2 goes out.",
                60,
                fio2=0.80,
                device=_RESERVOIR,
                treated=CourseChoice(
                    "Go on with the prescribed treatment, stay, and look again in half an hour",
                    "The treatment goes on opening the airways.", 30, eases=0.3),
            ),
        ),
        (
            CourseChoice(
                "Critical care comes, with ventilatory support ready if he tires further",
                "More treatment opens the airways; the team decides whether support is needed now.",
                60,
                fio2=0.30,
                device="oxygen as the team sets it",
                eases=0.6,
            ),
            CourseChoice(
                "Go on as it is, and look again in an hour", "Nothing new has been done.", 60,
                treated=CourseChoice(
                    "Go on with the treatment, stay with him, and look again in half an hour",
                    "The treatment goes on opening the airways; the team is still there.", 30,
                    eases=0.3),
            ),
            CourseChoice(
                "Give the prescribed sedative, so that he can rest",
                "He breathes less deeply, and works no less.",
                40,
                gains=-1.2,
            ),
        ),
    ),
)

COURSES: Final = (RETAINER, ASTHMATIC)
