"""The gaps between what is measured and what is counted: anion gap, delta ratio, osmolal gap."""
from __future__ import annotations

from .quantities import QuantityError, plain, require_all

GAP_NORMAL = 12.0  # without potassium [mmol/L]; 12 +/- 4, see REFERENCES["Sadjadi2013"]
HCO3_NORMAL = 24.0  # [mmol/L]
ALBUMIN_NORMAL = 40.0  # [g/L]; 44 in Figge 1998, 40 at most bedsides


def anion_gap(sodium: float, chloride: float, hco3: float) -> float:
    r"""Anion gap without potassium; the default.

    .. math:: AG = [Na^+] - [Cl^-] - [HCO_3^-]

    Parameters
    ----------
    sodium : float
        Plasma sodium. [mmol/L]
    chloride : float
        Plasma chloride. [mmol/L]
    hco3 : float
        Plasma bicarbonate. [mmol/L]

    Returns
    -------
    float
        Anion gap. [mmol/L]

    Raises
    ------
    QuantityError
        If a value is missing, no number, outside its credible limits, or if sodium is not
        above chloride (the two swapped).

    Notes
    -----
    Convention without potassium, 12 +/- 4 in the first method; other methods and laboratories
    give other ranges, [Sadjadi2013]_.

    Examples
    --------
    >>> anion_gap(sodium=140, chloride=106, hco3=14)
    20.0
    """
    require_all(sodium=sodium, chloride=chloride, hco3=hco3)
    _refuse_swapped(sodium, chloride)
    return float(sodium - chloride - hco3)


def anion_gap_with_potassium(
    sodium: float, potassium: float, chloride: float, hco3: float
) -> float:
    r"""Anion gap with potassium, for a laboratory whose range is built on it.

    .. math:: AG_K = [Na^+] + [K^+] - [Cl^-] - [HCO_3^-]

    Parameters
    ----------
    sodium : float
        Plasma sodium. [mmol/L]
    potassium : float
        Plasma potassium. [mmol/L]
    chloride : float
        Plasma chloride. [mmol/L]
    hco3 : float
        Plasma bicarbonate. [mmol/L]

    Returns
    -------
    float
        Anion gap, potassium counted. [mmol/L]

    Raises
    ------
    QuantityError
        If a value is missing, no number, outside its credible limits, or if sodium is not
        above chloride (the two swapped).

    Notes
    -----
    The convention of the laboratory behind [MIMIC2019]_; its range is about 4 higher.

    Examples
    --------
    >>> anion_gap_with_potassium(sodium=140, potassium=4, chloride=106, hco3=14)
    24.0
    """
    require_all(sodium=sodium, potassium=potassium, chloride=chloride, hco3=hco3)
    _refuse_swapped(sodium, chloride)
    return float(sodium + potassium - chloride - hco3)


def anion_gap_corrected_figge1998(
    gap: float, albumin: float, *, albumin_normal: float = ALBUMIN_NORMAL
) -> float:
    r"""Anion gap this person would have with normal albumin; the default.

    .. math:: AG_{corr} = AG + 0.25\,(40 - albumin)

    Parameters
    ----------
    gap : float
        Anion gap, either convention. [mmol/L]
    albumin : float
        Plasma albumin. [g/L]
    albumin_normal : float
        Albumin counted as normal; [Figge1998]_ has 44. [g/L]

    Returns
    -------
    float
        Corrected anion gap. [mmol/L]

    Raises
    ------
    QuantityError
        If a value is missing, no number, or outside its credible limits.

    Notes
    -----
    2.5 mmol/L for every 10 g/L, [Figge1998]_. It also lowers the gap when albumin is high.

    Examples
    --------
    >>> anion_gap_corrected_figge1998(gap=14, albumin=20)
    19.0
    """
    require_all(gap=gap, albumin=albumin, albumin_normal=albumin_normal)
    return gap + 0.25 * (albumin_normal - albumin)


def anion_gap_corrected_feldman2005(
    gap: float, albumin: float, *, albumin_normal: float = ALBUMIN_NORMAL
) -> float:
    r"""Anion gap corrected for albumin by the slope of a large hospital sample.

    .. math:: AG_{corr} = AG + 0.23\,(40 - albumin)

    Parameters
    ----------
    gap : float
        Anion gap, either convention. [mmol/L]
    albumin : float
        Plasma albumin. [g/L]
    albumin_normal : float
        Albumin counted as normal. [g/L]

    Returns
    -------
    float
        Corrected anion gap. [mmol/L]

    Raises
    ------
    QuantityError
        If a value is missing, no number, or outside its credible limits.

    Notes
    -----
    2.3 mmol/L for every g/dL, 5328 patients, [Feldman2005]_.

    Examples
    --------
    >>> round(anion_gap_corrected_feldman2005(gap=14, albumin=20), 1)
    18.6
    """
    require_all(gap=gap, albumin=albumin, albumin_normal=albumin_normal)
    return gap + 0.23 * (albumin_normal - albumin)


def osmolal_gap(
    osmolality: float, sodium: float, glucose: float, urea: float, *, ethanol: float = 0.0
) -> float:
    r"""Osmolal gap: measured osmolality less what sodium, glucose and urea explain.

    .. math:: OG = Osm - (2\,[Na^+] + [glucose] + [urea] + [ethanol])

    Parameters
    ----------
    osmolality : float
        Measured plasma osmolality. [mOsm/kg]
    sodium : float
        Plasma sodium. [mmol/L]
    glucose : float
        Plasma glucose. [mmol/L]
    urea : float
        Plasma urea. [mmol/L]
    ethanol : float
        Plasma ethanol, where it was measured. [mmol/L]

    Returns
    -------
    float
        Osmolal gap. [mOsm/kg]

    Raises
    ------
    QuantityError
        If a value is missing, no number, or outside its credible limits.

    Notes
    -----
    The simple sum of [Smithline1976]_. Usually below 10; a normal gap does not exclude a toxic
    alcohol.

    Examples
    --------
    >>> osmolal_gap(osmolality=320, sodium=140, glucose=5, urea=5)
    30.0
    """
    require_all(osmolality=osmolality, sodium=sodium, glucose=glucose, urea=urea, ethanol=ethanol)
    return float(osmolality - (2 * sodium + glucose + urea + ethanol))


def _refuse_swapped(sodium: float, chloride: float) -> None:
    if chloride >= sodium:
        raise QuantityError(
            f"sodium = {plain(sodium)} mmol/L is not above chloride = {plain(chloride)} mmol/L "
            "(are the two swapped?)", quantity="sodium", value=sodium)
