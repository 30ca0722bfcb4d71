"""Standard base excess, in the two forms in use, and the base excess of whole blood."""
from __future__ import annotations

from .quantities import require_all


def standard_base_excess(ph: float, hco3: float) -> float:
    r"""Standard base excess by the Van Slyke equation; the default.

    .. math:: SBE = 0.9287\,([HCO_3^-] - 24.4 + 14.83\,(pH - 7.4))

    Parameters
    ----------
    ph : float
        pH. [no unit]
    hco3 : float
        Plasma bicarbonate. [mmol/L]

    Returns
    -------
    float
        Standard base excess. [mmol/L]

    Raises
    ------
    QuantityError
        If a value is missing, no number, or outside its credible limits.

    Notes
    -----
    [SiggaardAndersen1977]_, with the hemoglobin of the extracellular fluid; the constants are
    from memory, not yet checked against the paper. Nearer than the laboratory form to the base
    excess printed with published cases.

    Examples
    --------
    >>> round(standard_base_excess(ph=7.20, hco3=15.5), 1)
    -11.0
    """
    require_all(ph=ph, hco3=hco3)
    return 0.9287 * (hco3 - 24.4 + 14.83 * (ph - 7.4))


def standard_base_excess_nccls1994(ph: float, hco3: float) -> float:
    r"""Standard base excess by the laboratory form that many analyzers print.

    .. math:: SBE = [HCO_3^-] - 24.8 + 16.2\,(pH - 7.4)

    Parameters
    ----------
    ph : float
        pH. [no unit]
    hco3 : float
        Plasma bicarbonate. [mmol/L]

    Returns
    -------
    float
        Standard base excess. [mmol/L]

    Raises
    ------
    QuantityError
        If a value is missing, no number, or outside its credible limits.

    Notes
    -----
    [NCCLS1994]_. Its 24.8 belongs to a pK' of 6.095; with ours, 6.1, it reads -0.3 in a
    perfectly normal gas. One analyzer manual rounds it to 25.

    Examples
    --------
    >>> round(standard_base_excess_nccls1994(ph=7.20, hco3=15.5), 1)
    -12.5
    """
    require_all(ph=ph, hco3=hco3)
    return hco3 - 24.8 + 16.2 * (ph - 7.4)


def base_excess_zander2002(ph: float, paco2: float, hemoglobin: float, sao2: float) -> float:
    r"""Base excess of whole blood, corrected for oxygen saturation.

    .. math:: BE = (1 - 0.0143 Hb)\,[(0.0304\,P_{CO_2}\,10^{pH - 6.1} - 24.26)
              + (9.5 + 1.63 Hb)(pH - 7.4)] - 0.2\,Hb\,(1 - s_{O_2})

    Parameters
    ----------
    ph : float
        pH. [no unit]
    paco2 : float
        Arterial carbon dioxide tension. [mmHg]
    hemoglobin : float
        Hemoglobin; the equation itself counts in g/dL. [g/L]
    sao2 : float
        Arterial oxygen saturation. [%]

    Returns
    -------
    float
        Base excess of whole blood. [mmol/L]

    Raises
    ------
    QuantityError
        If a value is missing, no number, or outside its credible limits.

    Notes
    -----
    [LangZander2002]_, who found it the most accurate of seven such forms.

    Examples
    --------
    >>> round(base_excess_zander2002(ph=7.4, paco2=40, hemoglobin=150, sao2=100), 1)
    0.0
    """
    require_all(ph=ph, paco2=paco2, hemoglobin=hemoglobin, sao2=sao2)
    hb = hemoglobin / 10
    bicarbonate = 0.0304 * paco2 * 10 ** (ph - 6.1) - 24.26
    buffers = (9.5 + 1.63 * hb) * (ph - 7.4)
    return (1 - 0.0143 * hb) * (bicarbonate + buffers) - 0.2 * hb * (1 - sao2 / 100)
