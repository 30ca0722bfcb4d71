"""Sources of the rules for what comes first at the bedside."""
from __future__ import annotations

from collections.abc import Mapping
from types import MappingProxyType
from typing import Final

from acidbase_lib.physiology.references import Reference
from acidbase_lib.reading.sources import SOURCES

#: The sources of the rules, and all others a reading may cite.
PRIORITY_SOURCES: Final[Mapping[str, Reference]] = MappingProxyType({
    "Austin2010": Reference("journal",
        "Austin MA et al. BMJ 2010;341:c5462.", "in print",
        "405 patients randomized by cluster: 9 % died on high-flow, 4 % on titrated oxygen; "
        "confirmed chronic lung disease 9 % and 2 %"),
    "Aubier1980": Reference("journal",
        "Aubier M et al. Am Rev Respir Dis 1980.", "in print",
        "ventilation was back to 93 % after 15 minutes of oxygen, yet PaCO2 rose 23 mmHg"),
    "Robinson2000": Reference("journal",
        "Robinson TD et al. Am J Respir Crit Care Med 2000.", "in print",
        "those who retained CO2 did breathe less: 9.0 to 7.2 L/min"),
    "Thim2012": Reference("journal",
        "Thim T, Krarup NHV, Grove EL, Rohde CV, Lofgren B. Int J Gen Med 2012;5:117-21.",
        "in print", "abstract: look and treat by airway, breathing, circulation, disability and "
        "exposure, the most life-threatening first"),
    **SOURCES,
})
