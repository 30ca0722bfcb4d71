"""The rise of the anion gap against the fall of bicarbonate: a second metabolic disorder?"""
from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from math import inf
from types import MappingProxyType

from .gaps import GAP_NORMAL, HCO3_NORMAL
from .quantities import QuantityError, plain, quoted, require_all

NORMAL_GAP_ACIDOSIS = "normal anion gap metabolic acidosis"
ALSO_NORMAL_GAP = "high anion gap metabolic acidosis with a normal anion gap acidosis"
HIGH_GAP_ONLY = "high anion gap metabolic acidosis alone"
ALSO_ALKALOSIS = "high anion gap metabolic acidosis with a metabolic alkalosis"
UNNAMED = "between the bands: this rule gives it no name"


@dataclass(frozen=True, slots=True)
class DeltaBand:
    """A band of the delta ratio, both edges inside."""

    low: float
    high: float
    reading: str


@dataclass(frozen=True, slots=True)
class DeltaReading:
    """What a set of bands says of a ratio, and the reading next door when an edge is near."""

    reading: str
    near_edge: float | None = None
    next_door: str | None = None


# The bands disagree in print, so each set has a name. Where two share an edge, the first counts.
DELTA_BANDS: Mapping[str, tuple[DeltaBand, ...]] = MappingProxyType({
    "house": (
        DeltaBand(0.8, 2.0, HIGH_GAP_ONLY),
        DeltaBand(2.0, inf, ALSO_ALKALOSIS),
        DeltaBand(0.4, 0.8, ALSO_NORMAL_GAP),
        DeltaBand(-inf, 0.4, NORMAL_GAP_ACIDOSIS),
    ),
    "narrow": (
        DeltaBand(1.0, 2.0, HIGH_GAP_ONLY),
        DeltaBand(2.0, inf, ALSO_ALKALOSIS),
        DeltaBand(0.4, 0.8, ALSO_NORMAL_GAP),
        DeltaBand(-inf, 0.4, NORMAL_GAP_ACIDOSIS),
        DeltaBand(0.8, 1.0, UNNAMED),
    ),
    "berend2014": (
        DeltaBand(1.0, 2.0, HIGH_GAP_ONLY),
        DeltaBand(2.0, inf, ALSO_ALKALOSIS),
        DeltaBand(-inf, 1.0, ALSO_NORMAL_GAP),
    ),
})

EDGE = 0.1  # a ratio this near an edge says so: about 1 mmol/L of gap in a fall of 10


def delta_ratio(
    gap: float, hco3: float, *, gap_normal: float = GAP_NORMAL, hco3_normal: float = HCO3_NORMAL
) -> float:
    r"""Rise of the anion gap for each mmol/L that bicarbonate has fallen.

    .. math:: \Delta = \frac{AG - 12}{24 - [HCO_3^-]}

    Parameters
    ----------
    gap : float
        Anion gap, corrected for albumin where it was measured. [mmol/L]
    hco3 : float
        Plasma bicarbonate. [mmol/L]
    gap_normal : float
        Anion gap counted as normal. [mmol/L]
    hco3_normal : float
        Bicarbonate counted as normal. [mmol/L]

    Returns
    -------
    float
        Delta ratio. [no unit]

    Raises
    ------
    QuantityError
        If a value is missing, no number, outside its credible limits, or if bicarbonate has
        not fallen, so that there is nothing to compare with.

    Notes
    -----
    Form of [Berend2014]_. When bicarbonate has not fallen use `delta_gap` or
    `excess_gap_haber1991`.

    Examples
    --------
    >>> delta_ratio(gap=22, hco3=14)
    1.0
    """
    require_all(gap=gap, hco3=hco3, gap_normal=gap_normal, hco3_normal=hco3_normal)
    if hco3 >= hco3_normal:
        raise QuantityError(
            f"HCO3 = {plain(hco3)} mmol/L has not fallen below {plain(hco3_normal)} mmol/L, so "
            "there is no delta ratio (use delta_gap)", quantity="hco3", value=hco3)
    return float((gap - gap_normal) / (hco3_normal - hco3))


def delta_reading(ratio: float, bands: str = "house") -> DeltaReading:
    """The named band a delta ratio falls in, and whether an edge is near.

    Parameters
    ----------
    ratio : float
        Delta ratio. [no unit]
    bands : str
        Which set of `DELTA_BANDS` decides. [name]

    Returns
    -------
    DeltaReading
        The reading, and the one next door within 0.1 of an edge. [words]

    Raises
    ------
    QuantityError
        If ``ratio`` is missing, no number, outside its limits, or ``bands`` has no such name.

    Notes
    -----
    House bands and the narrow ones are [CommonPractice]_; the narrow ones leave 0.8 to 1 without
    a name. Those of [Berend2014]_ are second-hand.

    Examples
    --------
    >>> delta_reading(ratio=2.4).reading
    'high anion gap metabolic acidosis with a metabolic alkalosis'
    >>> delta_reading(ratio=0.76).near_edge
    0.8
    """
    require_all(ratio=ratio)
    if not isinstance(bands, str) or bands not in DELTA_BANDS:
        raise QuantityError(f"delta bands {quoted(bands)} are not known: choose one of "
                            f"{', '.join(DELTA_BANDS)}", quantity="bands", value=bands)
    here = _band(ratio, bands)
    for edge in {here.low, here.high} - {-inf, inf}:
        across = _band(edge - EDGE if edge == here.low else edge + EDGE, bands)
        if abs(ratio - edge) <= EDGE and across != here:
            return DeltaReading(here.reading, near_edge=edge, next_door=across.reading)
    return DeltaReading(here.reading)


def _band(ratio: float, bands: str) -> DeltaBand:
    return next(band for band in DELTA_BANDS[bands] if band.low <= ratio <= band.high)


def delta_gap(
    gap: float, hco3: float, *, gap_normal: float = GAP_NORMAL, hco3_normal: float = HCO3_NORMAL
) -> float:
    r"""Rise of the anion gap less the fall of bicarbonate.

    .. math:: (AG - 12) - (24 - [HCO_3^-])

    Parameters
    ----------
    gap : float
        Anion gap, corrected for albumin where it was measured. [mmol/L]
    hco3 : float
        Plasma bicarbonate. [mmol/L]
    gap_normal : float
        Anion gap counted as normal. [mmol/L]
    hco3_normal : float
        Bicarbonate counted as normal. [mmol/L]

    Returns
    -------
    float
        Delta gap; well above 0 a metabolic alkalosis too, well below 0 a normal gap acidosis
        too. [mmol/L]

    Raises
    ------
    QuantityError
        If a value is missing, no number, or outside its credible limits.

    Notes
    -----
    [Wrenn1990]_ takes 6 either way as meaningful.

    Examples
    --------
    >>> delta_gap(gap=20, hco3=25)
    9.0
    """
    require_all(gap=gap, hco3=hco3, gap_normal=gap_normal, hco3_normal=hco3_normal)
    return float((gap - gap_normal) - (hco3_normal - hco3))


def excess_gap_haber1991(gap: float, hco3: float, *, gap_normal: float = GAP_NORMAL) -> float:
    r"""Bicarbonate there would be if the excess anions were turned back into it.

    .. math:: (AG - 12) + [HCO_3^-]

    Parameters
    ----------
    gap : float
        Anion gap, corrected for albumin where it was measured. [mmol/L]
    hco3 : float
        Plasma bicarbonate. [mmol/L]
    gap_normal : float
        Anion gap counted as normal. [mmol/L]

    Returns
    -------
    float
        Excess gap and bicarbonate; above 30 a metabolic alkalosis too, below 23 a normal gap
        acidosis too. [mmol/L]

    Raises
    ------
    QuantityError
        If a value is missing, no number, or outside its credible limits.

    Notes
    -----
    [Haber1991]_, with the limits 30 and 23 as later texts print them.

    Examples
    --------
    >>> excess_gap_haber1991(gap=21, hco3=24)
    33.0
    """
    require_all(gap=gap, hco3=hco3, gap_normal=gap_normal)
    return float((gap - gap_normal) + hco3)
