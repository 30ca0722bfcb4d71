"""Conversion at the door: one unit a quantity inside, these functions for what comes in another."""
from __future__ import annotations

from .quantities import require_all

MMHG_PER_KPA = 7.50062  # 101.325 kPa is 760 mmHg
GLUCOSE_MG_DL_PER_MMOL_L = 18.016  # molar mass of glucose, 180.16 g/mol
UREA_NITROGEN_MG_DL_PER_MMOL_L = 2.8014  # two nitrogens, 28.014 g/mol


def kpa_to_mmhg(pressure_kpa: float) -> float:
    """Pressure in millimeters of mercury.

    Parameters
    ----------
    pressure_kpa : float
        Pressure. [kPa]

    Returns
    -------
    float
        Pressure. [mmHg]

    Raises
    ------
    QuantityError
        If ``pressure_kpa`` is missing, no number, or outside its limits.

    Notes
    -----
    7.50062 mmHg per kPa, [SI2019]_.

    Examples
    --------
    >>> round(kpa_to_mmhg(pressure_kpa=5.3), 1)
    39.8
    """
    require_all(pressure_kpa=pressure_kpa)
    return pressure_kpa * MMHG_PER_KPA


def mmhg_to_kpa(pressure_mmhg: float) -> float:
    """Pressure in kilopascals.

    Parameters
    ----------
    pressure_mmhg : float
        Pressure. [mmHg]

    Returns
    -------
    float
        Pressure. [kPa]

    Raises
    ------
    QuantityError
        If ``pressure_mmhg`` is missing, no number, or outside its limits.

    Notes
    -----
    7.50062 mmHg per kPa, [SI2019]_.

    Examples
    --------
    >>> round(mmhg_to_kpa(pressure_mmhg=40), 2)
    5.33
    """
    require_all(pressure_mmhg=pressure_mmhg)
    return pressure_mmhg / MMHG_PER_KPA


def per_dl_to_per_l(per_dl: float) -> float:
    """Concentration per liter, for albumin and hemoglobin.

    Parameters
    ----------
    per_dl : float
        Concentration. [g/dL]

    Returns
    -------
    float
        Concentration. [g/L]

    Raises
    ------
    QuantityError
        If ``per_dl`` is missing, no number, or outside its limits.

    Notes
    -----
    Ten deciliters to the liter, [SI2019]_.

    Examples
    --------
    >>> per_dl_to_per_l(per_dl=4)
    40.0
    """
    require_all(per_dl=per_dl)
    return per_dl * 10.0


def per_l_to_per_dl(per_l: float) -> float:
    """Concentration per deciliter, for albumin and hemoglobin.

    Parameters
    ----------
    per_l : float
        Concentration. [g/L]

    Returns
    -------
    float
        Concentration. [g/dL]

    Raises
    ------
    QuantityError
        If ``per_l`` is missing, no number, or outside its limits.

    Notes
    -----
    Ten deciliters to the liter, [SI2019]_.

    Examples
    --------
    >>> per_l_to_per_dl(per_l=40)
    4.0
    """
    require_all(per_l=per_l)
    return per_l / 10.0


def glucose_mg_dl_to_mmol_l(glucose_mg_dl: float) -> float:
    """Glucose in millimoles per liter.

    Parameters
    ----------
    glucose_mg_dl : float
        Plasma glucose. [mg/dL]

    Returns
    -------
    float
        Plasma glucose. [mmol/L]

    Raises
    ------
    QuantityError
        If ``glucose_mg_dl`` is missing, no number, or outside its limits.

    Notes
    -----
    Molar mass 180.16 g/mol, [AtomicWeights2021]_ (from memory, not yet checked against the
    paper).

    Examples
    --------
    >>> round(glucose_mg_dl_to_mmol_l(glucose_mg_dl=90), 1)
    5.0
    """
    require_all(glucose_mg_dl=glucose_mg_dl)
    return glucose_mg_dl / GLUCOSE_MG_DL_PER_MMOL_L


def bun_mg_dl_to_mmol_l(bun_mg_dl: float) -> float:
    """Urea in millimoles per liter, from blood urea nitrogen.

    Parameters
    ----------
    bun_mg_dl : float
        Blood urea nitrogen. [mg/dL]

    Returns
    -------
    float
        Plasma urea. [mmol/L]

    Raises
    ------
    QuantityError
        If ``bun_mg_dl`` is missing, no number, or outside its limits.

    Notes
    -----
    Two nitrogen atoms to a urea, 28.014 g/mol, [AtomicWeights2021]_ (from memory, not yet
    checked against the paper).

    Examples
    --------
    >>> round(bun_mg_dl_to_mmol_l(bun_mg_dl=14), 1)
    5.0
    """
    require_all(bun_mg_dl=bun_mg_dl)
    return bun_mg_dl / UREA_NITROGEN_MG_DL_PER_MMOL_L


def fahrenheit_to_celsius(temperature_f: float) -> float:
    """Temperature in degrees Celsius.

    Parameters
    ----------
    temperature_f : float
        Body temperature. [°F]

    Returns
    -------
    float
        Body temperature. [°C]

    Raises
    ------
    QuantityError
        If ``temperature_f`` is missing, no number, or outside its limits.

    Notes
    -----
    By definition of the scales, [SI2019]_.

    Examples
    --------
    >>> round(fahrenheit_to_celsius(temperature_f=98.6), 1)
    37.0
    """
    require_all(temperature_f=temperature_f)
    return (temperature_f - 32) * 5.0 / 9


def percent_to_fraction(percent: float) -> float:
    """A percent as a fraction, for an inspired oxygen given as 21 or 40 %.

    Parameters
    ----------
    percent : float
        Percent. [%]

    Returns
    -------
    float
        Fraction. [no unit]

    Raises
    ------
    QuantityError
        If ``percent`` is missing, no number, or outside its limits.

    Notes
    -----
    One hundredth, [SI2019]_.

    Examples
    --------
    >>> percent_to_fraction(percent=40)
    0.4
    """
    require_all(percent=percent)
    return percent / 100.0
