"""Sources of what a story's numbers may be, and of how far a cause goes by itself."""
from __future__ import annotations

from collections.abc import Mapping
from types import MappingProxyType
from typing import Final

from acidbase_lib.physiology.references import FROM_MEMORY, Reference

from .cause_sources import CAUSE_SOURCES

PATIENT_SOURCES: Final[Mapping[str, Reference]] = MappingProxyType({
    **CAUSE_SOURCES,
    "Scheingraber1999": Reference("journal",
        "Scheingraber S, Rehm M, Sehmisch C, Finsterer U. Anesthesiology 1999;90:1265-70.",
        "in print", "bicarbonate from 23.5 +/- 2.2 to 18.4 +/- 2.0 after two hours and 70 mL/kg of "
        "saline, as the editorial on page 1247 of that issue gives it"),
    "BTSICS2016": Reference("guideline",
        "Davidson AC, Banham S, Elliott M, et al. BTS/ICS guideline for the ventilatory management "
        "of acute hypercapnic respiratory failure in adults. Thorax 2016;71 Suppl 2:ii1-35.",
        FROM_MEMORY, "a pH below 7.35 with a PaCO2 above 49 mmHg is an acute respiratory acidosis"),
    "HarrisonAlkalosis": Reference("textbook",
        "DuBose TD. Acidosis and alkalosis. In: Harrison's Principles of Internal Medicine.",
        "second-hand", "PaCO2 held at 20-30 mmHg in disease of the brain, 15-30 in attacks of "
        "hyperventilation; falls with the failing liver"),
    "CMDTAlkalosis": Reference("textbook",
        "Current Medical Diagnosis and Treatment, respiratory alkalosis.", "in print",
        "bicarbonate below 15 is unusual in respiratory alkalosis: think of a metabolic acidosis "
        "as well"),
    "LactateAndGap": Reference("journal",
        "J Intensive Care Med, doi 10.1177/08850666251411921: 503 episodes of lactate above 5 "
        "mmol/L.", "in print", "abstract: the gap less lactate is 6.9 mmol/L, so lactate explains "
        "the rise; where more than 8 is left, another acid was found"),
    "HyperglycemicCrises2024": Reference("journal",
        "Umpierrez GE, Davis GM, ElSayed NA, et al. Diabetes Care 2024;47:1257-75.", FROM_MEMORY,
        "ketoacidosis: bicarbonate below 18 mmol/L or a pH below 7.3"),
    "ChildPugh1973": Reference("journal",
        "Pugh RNH, Murray-Lyon IM, Dawson JL, Pietroni MC, Williams R. Br J Surg 1973;60:646-9.",
        FROM_MEMORY, "albumin 35 and 28 g/L part mild, moderate and severe liver disease"),
    "Orringer1977": Reference("journal",
        "Orringer CE, Eustace JC, Wunsch CD, Gardner LB. N Engl J Med 1977;297:796-9.", FROM_MEMORY,
        "after a single grand mal seizure pH 7.14, lactate 12.7 mmol/L, gone within the hour"),
})
