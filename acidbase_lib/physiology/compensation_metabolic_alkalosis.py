"""Rival rules for metabolic alkalosis, beside the default in compensation."""
from __future__ import annotations

from .quantities import Expected, require_all


def paco2_metabolic_alkalosis_berend2014(
    hco3: float, *, paco2_set: float = 40.0, hco3_set: float = 24.0
) -> Expected:
    r"""Expected PaCO2 in metabolic alkalosis, with the narrow band.

    .. math:: P_{CO_2} = 40 + 0.7\,([HCO_3^-] - 24) \pm 2

    Parameters
    ----------
    hco3 : float
        Plasma bicarbonate. [mmol/L]
    paco2_set : float
        Carbon dioxide tension this person lives at. [mmHg]
    hco3_set : float
        Bicarbonate this person lives at. [mmol/L]

    Returns
    -------
    Expected
        Arterial carbon dioxide tension. [mmHg]

    Raises
    ------
    QuantityError
        If a value is missing, no number, or outside its credible limits.

    Notes
    -----
    [Berend2014]_ as later texts quote it; the default has the same line and a band of 5.

    Examples
    --------
    >>> round(paco2_metabolic_alkalosis_berend2014(hco3=34).high, 1)
    49.0
    """
    require_all(hco3=hco3, paco2_set=paco2_set, hco3_set=hco3_set)
    return Expected(center=paco2_set + 0.7 * (hco3 - hco3_set), tolerance=2.0)


def paco2_metabolic_alkalosis_kidney360(
    hco3: float, *, paco2_set: float = 40.0, hco3_set: float = 24.0
) -> Expected:
    r"""Expected PaCO2 in metabolic alkalosis: 0.7 times bicarbonate plus 20.

    .. math:: P_{CO_2} = 0.7\,[HCO_3^-] + 20 \pm 5

    Parameters
    ----------
    hco3 : float
        Plasma bicarbonate. [mmol/L]
    paco2_set : float
        Carbon dioxide tension this person lives at. [mmHg]
    hco3_set : float
        Bicarbonate this person lives at. [mmol/L]

    Returns
    -------
    Expected
        Arterial carbon dioxide tension. [mmHg]

    Raises
    ------
    QuantityError
        If a value is missing, no number, or outside its credible limits.

    Notes
    -----
    Table 3 of [Kidney360]_. About 3 mmHg below the default everywhere; a
    constant of 21 is printed too. With other set-points the line is moved ([CommonPractice]_).

    Examples
    --------
    >>> round(paco2_metabolic_alkalosis_kidney360(hco3=40).center, 1)
    48.0
    """
    require_all(hco3=hco3, paco2_set=paco2_set, hco3_set=hco3_set)
    moved = 0.7 * (24 - hco3_set) - (40 - paco2_set)
    return Expected(center=0.7 * hco3 + 20 + moved, tolerance=5.0)


def paco2_metabolic_alkalosis_narins1980(
    hco3: float, *, paco2_set: float = 40.0, hco3_set: float = 24.0
) -> Expected:
    r"""Expected PaCO2 in metabolic alkalosis: 6 mmHg up for every 10 mmol/L gained.

    .. math:: P_{CO_2} = 40 + 0.6\,([HCO_3^-] - 24) \pm 2

    Parameters
    ----------
    hco3 : float
        Plasma bicarbonate. [mmol/L]
    paco2_set : float
        Carbon dioxide tension this person lives at. [mmHg]
    hco3_set : float
        Bicarbonate this person lives at. [mmol/L]

    Returns
    -------
    Expected
        Arterial carbon dioxide tension. [mmHg]

    Raises
    ------
    QuantityError
        If a value is missing, no number, or outside its credible limits.

    Notes
    -----
    [NarinsEmmett1980]_ as a textbook table gives it; another table of the same paper calls the
    response too variable for a rule. The tolerance of 2 is [CommonPractice]_.

    Examples
    --------
    >>> round(paco2_metabolic_alkalosis_narins1980(hco3=34).center, 1)
    46.0
    """
    require_all(hco3=hco3, paco2_set=paco2_set, hco3_set=hco3_set)
    return Expected(center=paco2_set + 0.6 * (hco3 - hco3_set), tolerance=2.0)


def paco2_metabolic_alkalosis_msd2024(
    hco3: float, *, paco2_set: float = 40.0, hco3_set: float = 24.0
) -> Expected:
    r"""Expected PaCO2 in metabolic alkalosis: 0.6 to 0.75 for every mmol/L, not above 55.

    .. math:: P_{CO_2} = \min(55,\ 40 + 0.6 \ldots 0.75\,([HCO_3^-] - 24)) \pm 2

    Parameters
    ----------
    hco3 : float
        Plasma bicarbonate. [mmol/L]
    paco2_set : float
        Carbon dioxide tension this person lives at. [mmHg]
    hco3_set : float
        Bicarbonate this person lives at. [mmol/L]

    Returns
    -------
    Expected
        Arterial carbon dioxide tension. [mmHg]

    Raises
    ------
    QuantityError
        If a value is missing, no number, or outside its credible limits.

    Notes
    -----
    [MSD2024]_. Higher values are reported ([CommonPractice]_). The tolerance of 2 is
    [CommonPractice]_.

    Examples
    --------
    >>> paco2_metabolic_alkalosis_msd2024(hco3=60).reach
    (55.0, 55.0)
    """
    require_all(hco3=hco3, paco2_set=paco2_set, hco3_set=hco3_set)
    gained = hco3 - hco3_set
    least, most = sorted((paco2_set + 0.6 * gained, paco2_set + 0.75 * gained))
    cap = paco2_set + 15.0
    reach = (min(cap, least), min(cap, most))
    return Expected(center=sum(reach) / 2, tolerance=2.0, reach=reach)
