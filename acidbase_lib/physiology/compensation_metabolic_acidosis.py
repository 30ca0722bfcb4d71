"""Rival rules for metabolic acidosis, beside the default in compensation."""
from __future__ import annotations

from .quantities import Expected, QuantityError, plain, require_all


def paco2_albert1967(
    hco3: float, *, paco2_set: float = 40.0, hco3_set: float = 24.0
) -> Expected:
    r"""Expected PaCO2 in metabolic acidosis, the regression behind the bedside rule.

    .. math:: P_{CO_2} = 1.54\,[HCO_3^-] + 8.36 \pm 2.2

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
    [Albert1967]_: 60 patients with untreated metabolic acidosis. The 2.2 is twice the standard
    error of 1.1. With other set-points the line is moved, not refitted ([CommonPractice]_).

    Examples
    --------
    >>> round(paco2_albert1967(hco3=12).center, 2)
    26.84
    """
    require_all(hco3=hco3, paco2_set=paco2_set, hco3_set=hco3_set)
    moved = 1.54 * (24 - hco3_set) - (40 - paco2_set)
    return Expected(center=1.54 * hco3 + 8.36 + moved, tolerance=2.2)


def paco2_metabolic_acidosis_bushinsky1982(
    hco3: float, *, paco2_set: float = 40.0, hco3_set: float = 24.0
) -> Expected:
    r"""Expected PaCO2 in metabolic acidosis: 1.2 mmHg down for every mmol/L lost.

    .. math:: P_{CO_2} = 40 - 1.2\,(24 - [HCO_3^-]) \pm 2

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
    [Bushinsky1982]_. The tolerance of 2 is borrowed from the bedside rule ([CommonPractice]_).

    Examples
    --------
    >>> round(paco2_metabolic_acidosis_bushinsky1982(hco3=10).center, 1)
    23.2
    """
    require_all(hco3=hco3, paco2_set=paco2_set, hco3_set=hco3_set)
    return Expected(center=paco2_set - 1.2 * (hco3_set - hco3), tolerance=2.0)


def paco2_plus15_msd2024(
    hco3: float, *, paco2_set: float = 40.0, hco3_set: float = 24.0
) -> Expected:
    r"""Expected PaCO2 in metabolic acidosis: bicarbonate plus 15, which its source calls imprecise.

    .. math:: P_{CO_2} = [HCO_3^-] + 15 \pm 2

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
    [MSD2024]_ lists it and calls it imprecise. The tolerance of 2 is borrowed from the bedside
    rule, and with other set-points the line is moved ([CommonPractice]_).

    Examples
    --------
    >>> paco2_plus15_msd2024(hco3=10).center
    25.0
    """
    require_all(hco3=hco3, paco2_set=paco2_set, hco3_set=hco3_set)
    moved = (24 - hco3_set) - (40 - paco2_set)
    return Expected(center=hco3 + 15.0 + moved, tolerance=2.0)


def paco2_ph_digits_msd2024(ph: float) -> Expected:
    r"""Expected PaCO2 in metabolic acidosis: the two digits after the point of the pH.

    .. math:: P_{CO_2} = 100\,(pH - 7) \pm 2

    Parameters
    ----------
    ph : float
        pH, from 7.10 to 7.40: below that the rule has no digits to give. [no unit]

    Returns
    -------
    Expected
        Arterial carbon dioxide tension. [mmHg]

    Raises
    ------
    QuantityError
        If ``ph`` is missing, no number, outside its credible limits or outside 7.10 to 7.40.

    Notes
    -----
    [MSD2024]_. The tolerance of 2 is borrowed from the bedside rule ([CommonPractice]_).

    Examples
    --------
    >>> round(paco2_ph_digits_msd2024(ph=7.26).center, 1)
    26.0
    """
    require_all(ph=ph)
    if not 7.10 <= ph <= 7.40:
        raise QuantityError(f"pH = {plain(ph)} is outside 7.1-7.4, where this rule holds "
                            "(use paco2_winters1967)", quantity="ph", value=ph)
    return Expected(center=100 * (ph - 7), tolerance=2.0)
