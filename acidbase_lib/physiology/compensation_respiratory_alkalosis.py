"""Rival rules for respiratory alkalosis, beside the defaults in compensation."""
from __future__ import annotations

from .compensation_defaults import for_every_10
from .quantities import Expected, require_all


def hco3_acute_respiratory_alkalosis_msd2024(
    paco2: float, *, paco2_set: float = 40.0, hco3_set: float = 24.0
) -> Expected:
    r"""Expected HCO3 in acute respiratory alkalosis: 1 to 2 down for every 10 mmHg.

    .. math:: [HCO_3^-] = 24 - 0.15\,(40 - P_{CO_2}) \pm 2

    Parameters
    ----------
    paco2 : float
        Arterial carbon dioxide tension. [mmHg]
    paco2_set : float
        Carbon dioxide tension this person lives at. [mmHg]
    hco3_set : float
        Bicarbonate this person lives at. [mmol/L]

    Returns
    -------
    Expected
        Plasma bicarbonate. [mmol/L]

    Raises
    ------
    QuantityError
        If a value is missing, no number, or outside its credible limits.

    Notes
    -----
    [MSD2024]_. The tolerance of 2 outside the range is [CommonPractice]_.

    Examples
    --------
    >>> round(hco3_acute_respiratory_alkalosis_msd2024(paco2=20).center, 2)
    21.0
    """
    require_all(paco2=paco2, paco2_set=paco2_set, hco3_set=hco3_set)
    return for_every_10(paco2 - paco2_set, hco3_set, 1.5, least=1.0, most=2.0)


def hco3_chronic_respiratory_alkalosis_narins1980(
    paco2: float, *, paco2_set: float = 40.0, hco3_set: float = 24.0
) -> Expected:
    r"""Expected HCO3 in chronic respiratory alkalosis: 5 down for every 10 mmHg.

    .. math:: [HCO_3^-] = 24 - 0.5\,(40 - P_{CO_2}) \pm 2

    Parameters
    ----------
    paco2 : float
        Arterial carbon dioxide tension. [mmHg]
    paco2_set : float
        Carbon dioxide tension this person lives at. [mmHg]
    hco3_set : float
        Bicarbonate this person lives at. [mmol/L]

    Returns
    -------
    Expected
        Plasma bicarbonate. [mmol/L]

    Raises
    ------
    QuantityError
        If a value is missing, no number, or outside its credible limits.

    Notes
    -----
    [NarinsEmmett1980]_ and [Kidney360]_. The tolerance of 2 is [CommonPractice]_.

    Examples
    --------
    >>> round(hco3_chronic_respiratory_alkalosis_narins1980(paco2=20).center, 2)
    14.0
    """
    require_all(paco2=paco2, paco2_set=paco2_set, hco3_set=hco3_set)
    return for_every_10(paco2 - paco2_set, hco3_set, 5.0)


def hco3_chronic_respiratory_alkalosis_msd2024(
    paco2: float, *, paco2_set: float = 40.0, hco3_set: float = 24.0
) -> Expected:
    r"""Expected HCO3 in chronic respiratory alkalosis: 4 to 5 down for every 10 mmHg.

    .. math:: [HCO_3^-] = 24 - 0.45\,(40 - P_{CO_2}) \pm 2

    Parameters
    ----------
    paco2 : float
        Arterial carbon dioxide tension. [mmHg]
    paco2_set : float
        Carbon dioxide tension this person lives at. [mmHg]
    hco3_set : float
        Bicarbonate this person lives at. [mmol/L]

    Returns
    -------
    Expected
        Plasma bicarbonate. [mmol/L]

    Raises
    ------
    QuantityError
        If a value is missing, no number, or outside its credible limits.

    Notes
    -----
    [MSD2024]_. The tolerance of 2 outside the range is [CommonPractice]_.

    Examples
    --------
    >>> round(hco3_chronic_respiratory_alkalosis_msd2024(paco2=20).center, 2)
    15.0
    """
    require_all(paco2=paco2, paco2_set=paco2_set, hco3_set=hco3_set)
    return for_every_10(paco2 - paco2_set, hco3_set, 4.5, least=4.0, most=5.0)


def hco3_chronic_respiratory_alkalosis_krapf1991(
    paco2: float, *, paco2_set: float = 40.0, hco3_set: float = 24.0
) -> Expected:
    r"""Expected HCO3 in chronic respiratory alkalosis: 4.1 down for every 10 mmHg.

    .. math:: [HCO_3^-] = 24 - 0.41\,(40 - P_{CO_2}) \pm 2

    Parameters
    ----------
    paco2 : float
        Arterial carbon dioxide tension. [mmHg]
    paco2_set : float
        Carbon dioxide tension this person lives at. [mmHg]
    hco3_set : float
        Bicarbonate this person lives at. [mmol/L]

    Returns
    -------
    Expected
        Plasma bicarbonate. [mmol/L]

    Raises
    ------
    QuantityError
        If a value is missing, no number, or outside its credible limits.

    Notes
    -----
    [Krapf1991]_: nine healthy men at altitude. The tolerance of 2 is [CommonPractice]_.

    Examples
    --------
    >>> round(hco3_chronic_respiratory_alkalosis_krapf1991(paco2=20).center, 2)
    15.8
    """
    require_all(paco2=paco2, paco2_set=paco2_set, hco3_set=hco3_set)
    return for_every_10(paco2 - paco2_set, hco3_set, 4.1)
