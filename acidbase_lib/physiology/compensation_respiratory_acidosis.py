"""Rival rules for respiratory acidosis, beside the defaults in compensation."""
from __future__ import annotations

from .compensation_defaults import for_every_10
from .quantities import Expected, require_all


def hco3_acute_respiratory_acidosis_msd2024(
    paco2: float, *, paco2_set: float = 40.0, hco3_set: float = 24.0
) -> Expected:
    r"""Expected HCO3 in acute respiratory acidosis: 1 to 2 up for every 10 mmHg.

    .. math:: [HCO_3^-] = 24 + 0.15\,(P_{CO_2} - 40) \pm 2

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
    >>> round(hco3_acute_respiratory_acidosis_msd2024(paco2=60).center, 2)
    27.0
    """
    require_all(paco2=paco2, paco2_set=paco2_set, hco3_set=hco3_set)
    return for_every_10(paco2 - paco2_set, hco3_set, 1.5, least=1.0, most=2.0)


def hco3_chronic_respiratory_acidosis_narins1980(
    paco2: float, *, paco2_set: float = 40.0, hco3_set: float = 24.0
) -> Expected:
    r"""Expected HCO3 in chronic respiratory acidosis: 3.5 up for every 10 mmHg.

    .. math:: [HCO_3^-] = 24 + 0.35\,(P_{CO_2} - 40) \pm 2

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
    [NarinsEmmett1980]_. The tolerance of 2 is [CommonPractice]_.

    Examples
    --------
    >>> round(hco3_chronic_respiratory_acidosis_narins1980(paco2=60).center, 2)
    31.0
    """
    require_all(paco2=paco2, paco2_set=paco2_set, hco3_set=hco3_set)
    return for_every_10(paco2 - paco2_set, hco3_set, 3.5)


def hco3_chronic_respiratory_acidosis_msd2024(
    paco2: float, *, paco2_set: float = 40.0, hco3_set: float = 24.0
) -> Expected:
    r"""Expected HCO3 in chronic respiratory acidosis: 3 to 4 up for every 10 mmHg.

    .. math:: [HCO_3^-] = 24 + 0.35\,(P_{CO_2} - 40) \pm 2

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
    >>> round(hco3_chronic_respiratory_acidosis_msd2024(paco2=60).center, 2)
    31.0
    """
    require_all(paco2=paco2, paco2_set=paco2_set, hco3_set=hco3_set)
    return for_every_10(paco2 - paco2_set, hco3_set, 3.5, least=3.0, most=4.0)


def hco3_chronic_respiratory_acidosis_common(
    paco2: float, *, paco2_set: float = 40.0, hco3_set: float = 24.0
) -> Expected:
    r"""Expected HCO3 in chronic respiratory acidosis: 4 up for every 10 mmHg.

    .. math:: [HCO_3^-] = 24 + 0.4\,(P_{CO_2} - 40) \pm 2

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
    [CommonPractice]_, and so is the tolerance of 2: the middle of the 3 to 5 that texts print.

    Examples
    --------
    >>> round(hco3_chronic_respiratory_acidosis_common(paco2=60).center, 2)
    32.0
    """
    require_all(paco2=paco2, paco2_set=paco2_set, hco3_set=hco3_set)
    return for_every_10(paco2 - paco2_set, hco3_set, 4.0)


def hco3_chronic_respiratory_acidosis_berend2014(
    paco2: float, *, paco2_set: float = 40.0, hco3_set: float = 24.0
) -> Expected:
    r"""Expected HCO3 in chronic respiratory acidosis: 4 to 5 up for every 10 mmHg.

    .. math:: [HCO_3^-] = 24 + 0.45\,(P_{CO_2} - 40) \pm 2

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
    [Berend2014]_ (this slope from memory, not yet checked against the paper). The tolerance of 2
    outside the range is [CommonPractice]_.

    Examples
    --------
    >>> round(hco3_chronic_respiratory_acidosis_berend2014(paco2=60).center, 2)
    33.0
    """
    require_all(paco2=paco2, paco2_set=paco2_set, hco3_set=hco3_set)
    return for_every_10(paco2 - paco2_set, hco3_set, 4.5, least=4.0, most=5.0)


def hco3_chronic_respiratory_acidosis_martinu2003(
    paco2: float, *, paco2_set: float = 40.0, hco3_set: float = 24.0
) -> Expected:
    r"""Expected HCO3 in chronic respiratory acidosis: 5.1 up for every 10 mmHg.

    .. math:: [HCO_3^-] = 24 + 0.51\,(P_{CO_2} - 40) \pm 2

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
    The steepest slope that [Gonzalez2018]_ found in print; that it is the one of [Martinu2003]_
    is from memory, not yet checked against the paper. The tolerance of 2 is [CommonPractice]_.

    Examples
    --------
    >>> round(hco3_chronic_respiratory_acidosis_martinu2003(paco2=60).center, 2)
    34.2
    """
    require_all(paco2=paco2, paco2_set=paco2_set, hco3_set=hco3_set)
    return for_every_10(paco2 - paco2_set, hco3_set, 5.1)


def hco3_chronic_respiratory_acidosis_gonzalez2018(
    paco2: float, *, paco2_set: float = 40.0, hco3_set: float = 24.0
) -> Expected:
    r"""Expected HCO3 in chronic respiratory acidosis: 4.8 up for every 10 mmHg.

    .. math:: [HCO_3^-] = 24 + 0.476\,(P_{CO_2} - 40) \pm 2

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
    [Gonzalez2018]_: 28 people who lived at 44 to 69 mmHg, measured twice; slope 0.476, 95 %
    confidence 0.414 to 0.538. The tolerance of 2 is [CommonPractice]_; bicarbonate there varied
    with a standard deviation of 3.0 and a correlation of 0.95, which leaves 1.9.

    Examples
    --------
    >>> round(hco3_chronic_respiratory_acidosis_gonzalez2018(paco2=60).center, 2)
    33.52
    """
    require_all(paco2=paco2, paco2_set=paco2_set, hco3_set=hco3_set)
    return for_every_10(paco2 - paco2_set, hco3_set, 4.76)
