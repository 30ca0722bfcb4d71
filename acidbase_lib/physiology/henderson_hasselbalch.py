"""The equilibrium between pH, carbon dioxide and bicarbonate, and the hydrogen ion."""
from __future__ import annotations

from math import log10

from .quantities import require_all

PK = 6.1  # apparent pK' of carbonic acid in plasma at 37 °C; fits the real gases in tests/published
ALPHA = 0.0307  # solubility of carbon dioxide in plasma at 37 °C [mmol/L/mmHg]


def ph_of(paco2: float, hco3: float) -> float:
    r"""The pH of plasma from its carbon dioxide tension and bicarbonate.

    .. math:: pH = pK' + \log_{10}\frac{[HCO_3^-]}{\alpha\,P_{CO_2}}

    Parameters
    ----------
    paco2 : float
        Arterial carbon dioxide tension. [mmHg]
    hco3 : float
        Plasma bicarbonate. [mmol/L]

    Returns
    -------
    float
        pH. [no unit]

    Raises
    ------
    QuantityError
        If a value is missing, no number, or outside its credible limits.

    Notes
    -----
    Equation of [Hasselbalch1917]_ with pK' 6.1 and 0.0307 mmol/L/mmHg, the pair that the
    real gases of [MIMIC2019]_ fit best. Plasma at 37 °C.

    Examples
    --------
    >>> round(ph_of(paco2=40, hco3=24), 2)
    7.39
    """
    require_all(paco2=paco2, hco3=hco3)
    return PK + log10(hco3 / (ALPHA * paco2))


def hco3_of(ph: float, paco2: float) -> float:
    r"""Bicarbonate from pH and carbon dioxide tension.

    .. math:: [HCO_3^-] = \alpha\,P_{CO_2}\,10^{pH - pK'}

    Parameters
    ----------
    ph : float
        pH. [no unit]
    paco2 : float
        Arterial carbon dioxide tension. [mmHg]

    Returns
    -------
    float
        Plasma bicarbonate. [mmol/L]

    Raises
    ------
    QuantityError
        If a value is missing, no number, or outside its credible limits.

    Notes
    -----
    The inverse of `ph_of`; [Hasselbalch1917]_.

    Examples
    --------
    >>> round(hco3_of(ph=7.40, paco2=40), 1)
    24.5
    """
    require_all(ph=ph, paco2=paco2)
    return ALPHA * paco2 * 10 ** (ph - PK)


def paco2_of(ph: float, hco3: float) -> float:
    r"""Carbon dioxide tension from pH and bicarbonate.

    .. math:: P_{CO_2} = \frac{[HCO_3^-]}{\alpha\,10^{pH - pK'}}

    Parameters
    ----------
    ph : float
        pH. [no unit]
    hco3 : float
        Plasma bicarbonate. [mmol/L]

    Returns
    -------
    float
        Arterial carbon dioxide tension. [mmHg]

    Raises
    ------
    QuantityError
        If a value is missing, no number, or outside its credible limits.

    Notes
    -----
    The inverse of `ph_of`; [Hasselbalch1917]_.

    Examples
    --------
    >>> round(paco2_of(ph=7.28, hco3=30))
    65
    """
    require_all(ph=ph, hco3=hco3)
    return hco3 / (ALPHA * 10 ** (ph - PK))


def hydrogen_ion(ph: float) -> float:
    r"""Hydrogen ion concentration from pH.

    .. math:: [H^+] = 10^{9 - pH}

    Parameters
    ----------
    ph : float
        pH. [no unit]

    Returns
    -------
    float
        Hydrogen ion concentration. [nmol/L]

    Raises
    ------
    QuantityError
        If ``ph`` is missing, no number, or outside its credible limits.

    Notes
    -----
    The definition of pH, [Sorensen1909]_.

    Examples
    --------
    >>> round(hydrogen_ion(ph=7.40))
    40
    """
    require_all(ph=ph)
    return 10 ** (9 - ph)


def ph_of_hydrogen_ion(hydrogen_ion: float) -> float:
    r"""The pH from the hydrogen ion concentration.

    .. math:: pH = 9 - \log_{10}[H^+]

    Parameters
    ----------
    hydrogen_ion : float
        Hydrogen ion concentration. [nmol/L]

    Returns
    -------
    float
        pH. [no unit]

    Raises
    ------
    QuantityError
        If ``hydrogen_ion`` is missing, no number, or outside its credible limits.

    Notes
    -----
    The inverse of `hydrogen_ion`; [Sorensen1909]_.

    Examples
    --------
    >>> round(ph_of_hydrogen_ion(hydrogen_ion=40), 2)
    7.4
    """
    require_all(hydrogen_ion=hydrogen_ion)
    return 9 - log10(hydrogen_ion)


def hydrogen_ion_kassirer1965(paco2: float, hco3: float) -> float:
    r"""Hydrogen ion concentration by the bedside form of the equilibrium.

    .. math:: [H^+] = 24\,\frac{P_{CO_2}}{[HCO_3^-]}

    Parameters
    ----------
    paco2 : float
        Arterial carbon dioxide tension. [mmHg]
    hco3 : float
        Plasma bicarbonate. [mmol/L]

    Returns
    -------
    float
        Hydrogen ion concentration. [nmol/L]

    Raises
    ------
    QuantityError
        If a value is missing, no number, or outside its credible limits.

    Notes
    -----
    [Kassirer1965]_. The 24 is a rounding: with pK' 6.1 and 0.0307 it would be 24.4.

    Examples
    --------
    >>> hydrogen_ion_kassirer1965(paco2=40, hco3=24)
    40.0
    """
    require_all(paco2=paco2, hco3=hco3)
    return 24.0 * paco2 / hco3


def total_co2(paco2: float, hco3: float) -> float:
    r"""Total carbon dioxide of plasma: bicarbonate and the dissolved gas.

    .. math:: tCO_2 = [HCO_3^-] + \alpha\,P_{CO_2}

    Parameters
    ----------
    paco2 : float
        Arterial carbon dioxide tension. [mmHg]
    hco3 : float
        Plasma bicarbonate. [mmol/L]

    Returns
    -------
    float
        Total carbon dioxide. [mmol/L]

    Raises
    ------
    QuantityError
        If a value is missing, no number, or outside its credible limits.

    Notes
    -----
    The sum by definition, checked against the analyzers of [MIMIC2019]_.

    Examples
    --------
    >>> round(total_co2(paco2=40, hco3=24), 1)
    25.2
    """
    require_all(paco2=paco2, hco3=hco3)
    return hco3 + ALPHA * paco2
