"""The anion gap and the delta ratio of a gas, read by the settings of the school."""
from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from acidbase_lib.physiology import delta as bands
from acidbase_lib.physiology.gaps import (
    anion_gap,
    anion_gap_corrected_figge1998,
    anion_gap_with_potassium,
)

from .blood_gas import BloodGas
from .disorders import RangeState
from .lab_settings import LabSettings
from .settings_in_force import in_force

_ALKALOSIS_ABOVE = 30.0  # excess gap and bicarbonate, [Haber1991]
EXCESS_EDGE = 1.0  # an excess this near to its limit is on the edge [mmol/L]


@dataclass(frozen=True, slots=True)
class AnionGap:
    """An anion gap [mmol/L]; `corrected` is None where albumin was not given."""

    value: float
    corrected: float | None
    state: RangeState
    with_potassium: bool

    @property
    def used(self) -> float:
        """The gap that is judged: corrected for albumin where it can be."""
        return self.value if self.corrected is None else self.corrected

    def __float__(self) -> float:
        return self.used


@dataclass(frozen=True, slots=True)
class Delta:
    """The rise of a high anion gap against the fall of bicarbonate.

    `ratio` is None where bicarbonate is not below its range: near 24 the ratio divides by
    almost nothing. There `excess`, the bicarbonate there would be without the excess anions
    [mmol/L], decides by itself.
    """

    ratio: float | None
    excess: float
    reading: str
    near_edge: float | None = None
    next_door: str | None = None

    @property
    def alkalosis(self) -> bool:
        """Whether the reading names a metabolic alkalosis behind the high gap."""
        return self.reading == bands.ALSO_ALKALOSIS

    def __float__(self) -> float:
        return float("nan") if self.ratio is None else self.ratio


def read_anion_gap(gas: BloodGas, settings: LabSettings | None = None) -> AnionGap | None:
    """The anion gap, None where sodium or chloride (or a counted potassium) is missing."""
    settings = settings or in_force()
    if gas.sodium is None or gas.chloride is None:
        return None
    if settings.anion_gap_with_potassium:
        if gas.potassium is None:
            return None
        value = anion_gap_with_potassium(gas.sodium, gas.potassium, gas.chloride, gas.hco3)
    else:
        value = anion_gap(gas.sodium, gas.chloride, gas.hco3)
    corrected = None
    if gas.albumin is not None:
        corrected = anion_gap_corrected_figge1998(
            value, gas.albumin, albumin_normal=settings.albumin_normal)
    used = value if corrected is None else corrected
    return AnionGap(value, corrected, settings.anion_gap.state(used),
                    settings.anion_gap_with_potassium)


def read_delta(
    gap: AnionGap | None, hco3: float, settings: LabSettings | None = None
) -> Delta | None:
    """The delta ratio of a high anion gap; None where the gap is missing or not high."""
    settings = settings or in_force()
    if gap is None or gap.state != "high":
        return None
    excess = bands.excess_gap_haber1991(gap.used, hco3, gap_normal=settings.anion_gap_normal)
    if hco3 >= settings.hco3.low:
        if excess > excess_limit(settings):
            return Delta(None, excess, bands.ALSO_ALKALOSIS)
        return Delta(None, excess, bands.HIGH_GAP_ONLY)
    ratio = bands.delta_ratio(gap.used, hco3, gap_normal=settings.anion_gap_normal,
                              hco3_normal=settings.hco3_set)
    read = bands.delta_reading(ratio, settings.delta_bands)
    return Delta(ratio, excess, read.reading, read.near_edge, read.next_door)


def excess_limit(settings: LabSettings) -> float:
    """The excess above which an alkalosis is named, moved with the set-point. [mmol/L]"""
    return _ALKALOSIS_ABOVE + (settings.hco3_set - 24)


def gap_dict(gap: AnionGap | None) -> dict[str, Any] | None:
    """An anion gap as plain values."""
    if gap is None:
        return None
    return {"value": gap.value, "corrected": gap.corrected, "state": gap.state,
            "with_potassium": gap.with_potassium}
