"""Which numbers of a blood gas report the analyzer measures, and which it works out from others."""
from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType
from typing import Final, Literal

How = Literal["measured", "calculated"]


@dataclass(frozen=True, slots=True)
class Origin:
    """Where a printed number comes from: how, by what or from what, and who says so."""

    how: How
    by: str
    source: str


#: Saturation is left out: some analyzers measure it by light, others work it out from PaO2.
ORIGINS: Final[Mapping[str, Origin]] = MappingProxyType({
    "pH": Origin("measured", "a glass electrode", "AnalyzerElectrodes"),
    "PaCO2": Origin("measured", "an electrode behind a membrane", "AnalyzerElectrodes"),
    "PaO2": Origin("measured", "an electrode that counts a current", "AnalyzerElectrodes"),
    "sodium": Origin("measured", "an electrode for this ion", "CommonPractice"),
    "lactate": Origin("measured", "an electrode with an enzyme", "CommonPractice"),
    "bicarbonate": Origin("calculated", "pH and PaCO2", "AnalyzerEquations"),
    "base excess": Origin("calculated", "pH, bicarbonate and hemoglobin", "AnalyzerEquations"),
})

MEASURED: Final = tuple(name for name, origin in ORIGINS.items() if origin.how == "measured")
CALCULATED: Final = tuple(name for name, origin in ORIGINS.items() if origin.how == "calculated")
