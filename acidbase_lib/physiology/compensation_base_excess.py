"""Compensation rules written for standard base excess instead of bicarbonate."""
from __future__ import annotations

from .quantities import Expected, require_all


def paco2_metabolic_acidosis_schlichtig1998(base_excess: float) -> Expected:
    r"""Expected PaCO2 in metabolic acidosis: it falls by the base deficit.

    .. math:: P_{CO_2} = 40 + 1.0\,SBE \pm 2

    Parameters
    ----------
    base_excess : float
        Standard base excess. [mmol/L]

    Returns
    -------
    Expected
        Arterial carbon dioxide tension. [mmHg]

    Raises
    ------
    QuantityError
        If ``base_excess`` is missing, no number, or outside its credible limits.

    Notes
    -----
    [Schlichtig1998]_. The tolerance of 2 is [CommonPractice]_.

    Examples
    --------
    >>> paco2_metabolic_acidosis_schlichtig1998(base_excess=-15).center
    25.0
    """
    require_all(base_excess=base_excess)
    return Expected(center=40 + 1.0 * base_excess, tolerance=2.0)


def paco2_metabolic_alkalosis_schlichtig1998(base_excess: float) -> Expected:
    r"""Expected PaCO2 in metabolic alkalosis: it rises by six tenths of the base excess.

    .. math:: P_{CO_2} = 40 + 0.6\,SBE \pm 2

    Parameters
    ----------
    base_excess : float
        Standard base excess. [mmol/L]

    Returns
    -------
    Expected
        Arterial carbon dioxide tension. [mmHg]

    Raises
    ------
    QuantityError
        If ``base_excess`` is missing, no number, or outside its credible limits.

    Notes
    -----
    [Schlichtig1998]_. The tolerance of 2 is [CommonPractice]_.

    Examples
    --------
    >>> paco2_metabolic_alkalosis_schlichtig1998(base_excess=20).center
    52.0
    """
    require_all(base_excess=base_excess)
    return Expected(center=40 + 0.6 * base_excess, tolerance=2.0)


def base_excess_acute_respiratory_schlichtig1998(paco2: float) -> Expected:
    r"""Expected base excess in an acute respiratory disorder: it stays at 0.

    .. math:: SBE = 0 \pm 2

    Parameters
    ----------
    paco2 : float
        Arterial carbon dioxide tension. [mmHg]

    Returns
    -------
    Expected
        Standard base excess. [mmol/L]

    Raises
    ------
    QuantityError
        If ``paco2`` is missing, no number, or outside its credible limits.

    Notes
    -----
    [Schlichtig1998]_. The tolerance of 2 is [CommonPractice]_.

    Examples
    --------
    >>> base_excess_acute_respiratory_schlichtig1998(paco2=70).center
    0.0
    """
    require_all(paco2=paco2)
    return Expected(center=0.0, tolerance=2.0)


def base_excess_chronic_respiratory_schlichtig1998(paco2: float) -> Expected:
    r"""Expected base excess in a chronic respiratory disorder: 4 for every 10 mmHg.

    .. math:: SBE = 0.4\,(P_{CO_2} - 40) \pm 2

    Parameters
    ----------
    paco2 : float
        Arterial carbon dioxide tension. [mmHg]

    Returns
    -------
    Expected
        Standard base excess. [mmol/L]

    Raises
    ------
    QuantityError
        If ``paco2`` is missing, no number, or outside its credible limits.

    Notes
    -----
    [Schlichtig1998]_; one open text prints it with the sign reversed. The tolerance of 2 is
    [CommonPractice]_.

    Examples
    --------
    >>> base_excess_chronic_respiratory_schlichtig1998(paco2=60).center
    8.0
    """
    require_all(paco2=paco2)
    return Expected(center=0.4 * (paco2 - 40), tolerance=2.0)
