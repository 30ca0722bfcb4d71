"""Oxygen in the blood: saturation from pressure and pH, the way back, oxygen content."""
from __future__ import annotations

from math import exp, sqrt

from .quantities import QuantityError, require_all


def sao2_severinghaus1979(pao2: float) -> float:
    r"""Oxygen saturation from oxygen pressure, standard adult blood.

    .. math:: S = \frac{1}{23400 / (P^3 + 150\,P) + 1}

    Parameters
    ----------
    pao2 : float
        Arterial oxygen tension. [mmHg]

    Returns
    -------
    float
        Arterial oxygen saturation. [%]

    Raises
    ------
    QuantityError
        If ``pao2`` is missing, no number, or outside its credible limits.

    Notes
    -----
    [Severinghaus1979]_, within 0.55 of a percent of the standard curve at pH 7.40 and 37 °C.

    Examples
    --------
    >>> round(sao2_severinghaus1979(pao2=60), 1)
    90.6
    """
    require_all(pao2=pao2)
    return 100.0 / (23400 / (pao2**3 + 150 * pao2) + 1)


def pao2_at_ph_7_40_severinghaus1979(pao2: float, ph: float) -> float:
    r"""Oxygen pressure that gives the same saturation at pH 7.40: the Bohr effect.

    .. math:: \frac{d \ln P}{d\,pH} = \left(\frac{P}{26.6}\right)^{0.184} - 2.2

    Parameters
    ----------
    pao2 : float
        Arterial oxygen tension. [mmHg]
    ph : float
        pH of the sample. [no unit]

    Returns
    -------
    float
        Oxygen tension to look up on the standard curve. [mmHg]

    Raises
    ------
    QuantityError
        If a value is missing, no number, or outside its credible limits.

    Notes
    -----
    [Severinghaus1979]_, with the slope taken at the given pressure. Acid blood lets oxygen go: the
    same pressure then holds less.

    Examples
    --------
    >>> round(pao2_at_ph_7_40_severinghaus1979(pao2=60, ph=7.20))
    49
    """
    require_all(pao2=pao2, ph=ph)
    return float(pao2 * exp((7.40 - ph) * ((pao2 / 26.6) ** 0.184 - 2.2)))


def pao2_ellis1989(sao2: float) -> float:
    r"""Oxygen pressure from saturation: the exact inverse of `sao2_severinghaus1979`.

    .. math:: P = \sqrt[3]{a + \sqrt{50^3 + a^2}} + \sqrt[3]{a - \sqrt{50^3 + a^2}},
              \quad a = \frac{11700\,S}{1 - S}

    Parameters
    ----------
    sao2 : float
        Arterial oxygen saturation, below 100. [%]

    Returns
    -------
    float
        Arterial oxygen tension. [mmHg]

    Raises
    ------
    QuantityError
        If ``sao2`` is missing, no number, outside its credible limits, or 100, where the curve
        has no end.

    Notes
    -----
    [Ellis1989]_. Above 97 % a small step in saturation is a large one in pressure.

    Examples
    --------
    >>> round(pao2_ellis1989(sao2=90))
    59
    """
    require_all(sao2=sao2)
    if sao2 == 100:
        raise QuantityError("SaO2 = 100 % fits every high PaO2 (give a saturation below 100)",
                            quantity="sao2", value=sao2)
    a = 11700 * sao2 / (100 - sao2)
    root = sqrt(50**3 + a * a)
    larger: float = (root + a) ** (1 / 3)
    return larger - 50 / larger  # the two cube roots multiply to -50


def oxyhemoglobin_fraction(sao2: float, cohb: float, methb: float) -> float:
    r"""Share of all hemoglobin that carries oxygen, from a saturation of the hemoglobin that can.

    .. math:: FO_2Hb = S_{O_2}\,\frac{100 - COHb - MetHb}{100}

    Parameters
    ----------
    sao2 : float
        Functional saturation: of the hemoglobin that can carry oxygen. [%]
    cohb : float
        Carboxyhemoglobin. [%]
    methb : float
        Methemoglobin. [%]

    Returns
    -------
    float
        Oxyhemoglobin, of all hemoglobin. [%]

    Raises
    ------
    QuantityError
        If a value is missing, no number, outside its credible limits, or the two bound parts
        together are more than all hemoglobin.

    Notes
    -----
    The two definitions of saturation in [Haymond2005]_, from memory, not yet checked against the
    paper.

    Examples
    --------
    >>> round(oxyhemoglobin_fraction(sao2=97, cohb=30, methb=0.6), 1)
    67.3
    """
    require_all(sao2=sao2, cohb=cohb, methb=methb)
    if cohb + methb > 100:
        raise QuantityError(f"carboxyhemoglobin {cohb:g} % and methemoglobin {methb:g} % are "
                            "together more than 100 % (is one of them another number?)",
                            quantity="cohb", value=cohb)
    return sao2 * (100 - cohb - methb) / 100


def oxygen_content(hemoglobin: float, sao2: float, pao2: float) -> float:
    r"""Oxygen content of blood: bound and dissolved.

    .. math:: C_{O_2} = 1.34\,Hb\,S_{O_2} + 0.03\,P_{O_2}

    Parameters
    ----------
    hemoglobin : float
        Hemoglobin. [g/L]
    sao2 : float
        Arterial oxygen saturation. [%]
    pao2 : float
        Arterial oxygen tension. [mmHg]

    Returns
    -------
    float
        Oxygen content. [mL/L]

    Raises
    ------
    QuantityError
        If a value is missing, no number, or outside its credible limits.

    Notes
    -----
    1.34 mL of oxygen for each gram and 0.03 mL/L/mmHg dissolved: [CommonPractice]_; 1.36 and
    1.39 are in print too.

    Examples
    --------
    >>> round(oxygen_content(hemoglobin=150, sao2=97, pao2=75))
    197
    """
    require_all(hemoglobin=hemoglobin, sao2=sao2, pao2=pao2)
    return 1.34 * hemoglobin * sao2 / 100 + 0.03 * pao2
