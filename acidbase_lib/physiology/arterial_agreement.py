"""What a venous or a capillary sample leaves open about the artery: limits of agreement."""
from __future__ import annotations

from dataclasses import dataclass

from .quantities import QUANTITIES, require_all

VENOUS_MEAN = 5.7  # how much higher a venous PCO2 is on average [mmHg]
VENOUS_WIDTH = 20.0  # its limits of agreement, either way [mmHg]

@dataclass(frozen=True, slots=True)
class Agreement:
    """Where the arterial value lies: the likeliest value, and the limits of agreement."""

    likely: float
    low: float
    high: float


def arterial_ph_from_venous(ph: float) -> Agreement:
    r"""Arterial pH for a venous one.

    .. math:: pH_a = pH_v + 0.035, \quad pH_v - 0.11 \;\text{to}\; pH_v + 0.15

    Parameters
    ----------
    ph : float
        pH of the venous sample. [no unit]

    Returns
    -------
    Agreement
        Arterial pH: likeliest, lowest and highest. [no unit]

    Raises
    ------
    QuantityError
        If ``ph`` is missing, no number, or outside its credible limits.

    Notes
    -----
    Mean difference [Kelly2010]_, limits [Chung2023]_. Not for a person in shock.

    Examples
    --------
    >>> round(arterial_ph_from_venous(ph=7.31).likely, 3)
    7.345
    """
    require_all(ph=ph)
    return _within("ph", ph + 0.035, ph - 0.11, ph + 0.15)


def arterial_paco2_from_venous(paco2: float) -> Agreement:
    r"""Arterial PaCO2 for a venous PCO2.

    .. math:: P_aCO_2 = P_vCO_2 - 5.7, \quad P_vCO_2 \pm 20

    Parameters
    ----------
    paco2 : float
        Carbon dioxide tension of the venous sample. [mmHg]

    Returns
    -------
    Agreement
        Arterial PaCO2: likeliest, lowest and highest. [mmHg]

    Raises
    ------
    QuantityError
        If ``paco2`` is missing, no number, or outside its credible limits.

    Notes
    -----
    [Kelly2010]_: 760 pairs. Not for a person in shock, where the gap may be wider.

    Examples
    --------
    >>> arterial_paco2_from_venous(paco2=75).low
    55.0
    """
    require_all(paco2=paco2)
    return _within("paco2", paco2 - VENOUS_MEAN, paco2 - VENOUS_WIDTH, paco2 + VENOUS_WIDTH)


def arterial_hco3_from_venous(hco3: float) -> Agreement:
    r"""Arterial bicarbonate for a venous one.

    .. math:: [HCO_3^-]_a = [HCO_3^-]_v - 1.4, \quad [HCO_3^-]_v \pm 5

    Parameters
    ----------
    hco3 : float
        Bicarbonate of the venous sample. [mmol/L]

    Returns
    -------
    Agreement
        Arterial bicarbonate: likeliest, lowest and highest. [mmol/L]

    Raises
    ------
    QuantityError
        If ``hco3`` is missing, no number, or outside its credible limits.

    Notes
    -----
    [Kelly2010]_: 905 pairs. Not for a person in shock.

    Examples
    --------
    >>> arterial_hco3_from_venous(hco3=30).high
    35.0
    """
    require_all(hco3=hco3)
    return _within("hco3", hco3 - 1.4, hco3 - 5, hco3 + 5)


def arterial_ph_from_capillary(ph: float) -> Agreement:
    r"""Arterial pH for a capillary one.

    .. math:: pH_c \pm 0.05

    Parameters
    ----------
    ph : float
        pH of the capillary sample. [no unit]

    Returns
    -------
    Agreement
        Arterial pH: likeliest, lowest and highest. [no unit]

    Raises
    ------
    QuantityError
        If ``ph`` is missing, no number, or outside its credible limits.

    Notes
    -----
    0.02 apart on average, [Zavorsky2007]_; the width is [CommonPractice]_. For a warm,
    well-perfused site.

    Examples
    --------
    >>> round(arterial_ph_from_capillary(ph=7.30).low, 2)
    7.25
    """
    require_all(ph=ph)
    return _within("ph", ph, ph - 0.05, ph + 0.05)


def arterial_paco2_from_capillary(paco2: float) -> Agreement:
    r"""Arterial PaCO2 for a capillary PCO2.

    .. math:: P_cCO_2 \pm 5

    Parameters
    ----------
    paco2 : float
        Carbon dioxide tension of the capillary sample. [mmHg]

    Returns
    -------
    Agreement
        Arterial PaCO2: likeliest, lowest and highest. [mmHg]

    Raises
    ------
    QuantityError
        If ``paco2`` is missing, no number, or outside its credible limits.

    Notes
    -----
    About 2 mmHg apart on average over 880 pairs, [Zavorsky2007]_; the width of 5 is
    [CommonPractice]_. For a warm, well-perfused site.

    Examples
    --------
    >>> arterial_paco2_from_capillary(paco2=64).high
    69.0
    """
    require_all(paco2=paco2)
    return _within("paco2", paco2, paco2 - 5, paco2 + 5)


def arterial_hco3_from_capillary(hco3: float) -> Agreement:
    r"""Arterial bicarbonate for a capillary one.

    .. math:: [HCO_3^-]_c \pm 2

    Parameters
    ----------
    hco3 : float
        Bicarbonate of the capillary sample. [mmol/L]

    Returns
    -------
    Agreement
        Arterial bicarbonate: likeliest, lowest and highest. [mmol/L]

    Raises
    ------
    QuantityError
        If ``hco3`` is missing, no number, or outside its credible limits.

    Notes
    -----
    0.5 mmol/L apart on average, [Murphy2006]_; the width of 2 is [CommonPractice]_.

    Examples
    --------
    >>> arterial_hco3_from_capillary(hco3=24).low
    22.0
    """
    require_all(hco3=hco3)
    return _within("hco3", hco3, hco3 - 2, hco3 + 2)


def _within(key: str, *values: float) -> Agreement:
    """An agreement whose ends are still values that a person can have."""
    row = QUANTITIES[key]
    return Agreement(*(float(min(max(value, row.low), row.high)) for value in values))
