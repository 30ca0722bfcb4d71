"""The compensation rules over a whole column at once; tests hold each equal to its scalar."""
from __future__ import annotations

from collections.abc import Callable, Mapping
from types import MappingProxyType
from typing import Any, Final

# A column and the set-points (PaCO2, bicarbonate) in; the low and high end of the band out. The
# arithmetic is that of `physiology.compensation*`, term by term, so that no bit differs.
Band = Callable[[Any, float, float], tuple[Any, Any]]


def _winters(slope: float, constant: float, tolerance: float) -> Band:
    """PaCO2 = slope × HCO3 + constant, moved to the set-points."""
    def band(hco3: Any, paco2_set: float, hco3_set: float) -> tuple[Any, Any]:
        moved = slope * (24 - hco3_set) - (40 - paco2_set)
        center = slope * hco3 + constant + moved
        return center - tolerance, center + tolerance
    return band


def _per_mmol(slope: float, tolerance: float) -> Band:
    """PaCO2 = set-point + slope for each mmol/L of HCO3 away from its set-point."""
    def band(hco3: Any, paco2_set: float, hco3_set: float) -> tuple[Any, Any]:
        center = paco2_set + slope * (hco3 - hco3_set)
        return center - tolerance, center + tolerance
    return band


def _lost(hco3: Any, paco2_set: float, hco3_set: float) -> tuple[Any, Any]:
    center = paco2_set - 1.2 * (hco3_set - hco3)
    return center - 2.0, center + 2.0


def _capped(hco3: Any, paco2_set: float, hco3_set: float) -> tuple[Any, Any]:
    gained, cap = hco3 - hco3_set, paco2_set + 15.0  # gained: the rule serves an alkalosis only
    least, most = paco2_set + 0.6 * gained, paco2_set + 0.75 * gained
    return least.clip(max=cap) - 2.0, most.clip(max=cap) + 2.0


def _every_10(slope: float, least: float | None = None, most: float | None = None) -> Band:
    """HCO3 = set-point + slope for every 10 mmHg; in an alkalosis the change is negative."""
    low_slope, high_slope = (slope, slope) if least is None or most is None else (least, most)

    def band(paco2: Any, paco2_set: float, hco3_set: float) -> tuple[Any, Any]:
        change = paco2 - paco2_set
        return hco3_set + low_slope * change / 10 - 2.0, hco3_set + high_slope * change / 10 + 2.0
    return band


BANDS: Final[Mapping[str, Band]] = MappingProxyType({
    "paco2_winters1967": _winters(1.5, 8, 2.0),
    "paco2_albert1967": _winters(1.54, 8.36, 2.2),
    "paco2_metabolic_acidosis_bushinsky1982": _lost,
    "paco2_plus15_msd2024": _winters(1.0, 15.0, 2.0),
    "paco2_metabolic_alkalosis": _per_mmol(0.7, 5.0),
    "paco2_metabolic_alkalosis_berend2014": _per_mmol(0.7, 2.0),
    "paco2_metabolic_alkalosis_kidney360": _winters(0.7, 20, 5.0),
    "paco2_metabolic_alkalosis_narins1980": _per_mmol(0.6, 2.0),
    "paco2_metabolic_alkalosis_msd2024": _capped,
    "hco3_acute_respiratory_acidosis": _every_10(1.0),
    "hco3_acute_respiratory_acidosis_msd2024": _every_10(1.5, 1.0, 2.0),
    "hco3_chronic_respiratory_acidosis": _every_10(4.0, 3.5, 5.0),
    "hco3_chronic_respiratory_acidosis_narins1980": _every_10(3.5),
    "hco3_chronic_respiratory_acidosis_msd2024": _every_10(3.5, 3.0, 4.0),
    "hco3_chronic_respiratory_acidosis_common": _every_10(4.0),
    "hco3_chronic_respiratory_acidosis_berend2014": _every_10(4.5, 4.0, 5.0),
    "hco3_chronic_respiratory_acidosis_martinu2003": _every_10(5.1),
    "hco3_chronic_respiratory_acidosis_gonzalez2018": _every_10(4.76),
    # a fall: the steeper slope gives the lower end
    "hco3_acute_respiratory_alkalosis": _every_10(2.0),
    "hco3_acute_respiratory_alkalosis_msd2024": _every_10(1.5, 2.0, 1.0),
    "hco3_chronic_respiratory_alkalosis": _every_10(4.5, 5.0, 4.0),
    "hco3_chronic_respiratory_alkalosis_narins1980": _every_10(5.0),
    "hco3_chronic_respiratory_alkalosis_msd2024": _every_10(4.5, 5.0, 4.0),
    "hco3_chronic_respiratory_alkalosis_krapf1991": _every_10(4.1),
})
