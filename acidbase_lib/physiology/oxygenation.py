"""Oxygen from the air to the artery: inspired, alveolar and arterial pressure, and the gradient."""
from __future__ import annotations

from math import exp

from .quantities import QuantityError, plain, require_all
from .units import MMHG_PER_KPA

SEA_LEVEL = 760.0  # standard barometric pressure [mmHg]
WATER_VAPOR = 47.0  # saturated water vapor at 37 °C, rounded as every text has it [mmHg]


def water_vapor_pressure_buck1981(temperature: float = 37.0) -> float:
    r"""Saturated water vapor pressure at body temperature.

    .. math:: P_{H_2O} = 6.1121\,e^{17.502\,T / (240.97 + T)}

    Parameters
    ----------
    temperature : float
        Body temperature; the equation itself gives hPa. [°C]

    Returns
    -------
    float
        Water vapor pressure. [mmHg]

    Raises
    ------
    QuantityError
        If ``temperature`` is missing, no number, or outside its credible limits.

    Notes
    -----
    [Buck1981]_. The rules below use the rounded 47 mmHg, as their sources do.

    Examples
    --------
    >>> round(water_vapor_pressure_buck1981(temperature=37), 1)
    47.1
    """
    require_all(temperature=temperature)
    hectopascal = 6.1121 * exp(17.502 * temperature / (240.97 + temperature))
    return hectopascal / 10 * MMHG_PER_KPA


def barometric_pressure_of(altitude: float) -> float:
    r"""Barometric pressure at an altitude, in the standard atmosphere.

    .. math:: P_B = 760\,(1 - 2.25577 \times 10^{-5}\,h)^{5.2559}

    Parameters
    ----------
    altitude : float
        Height above sea level. [m]

    Returns
    -------
    float
        Barometric pressure. [mmHg]

    Raises
    ------
    QuantityError
        If ``altitude`` is missing, no number, or outside its credible limits.

    Notes
    -----
    [ASHRAE2017]_, chapter 1, equation 3. High mountains near the equator have up to 20 mmHg more.

    Examples
    --------
    >>> round(barometric_pressure_of(altitude=1400))
    642
    """
    require_all(altitude=altitude)
    return SEA_LEVEL * float((1 - 2.25577e-5 * altitude) ** 5.2559)


def inspired_po2(fio2: float, *, barometric_pressure: float = SEA_LEVEL) -> float:
    r"""Oxygen pressure of the inspired gas, warmed and moist.

    .. math:: P_IO_2 = F_IO_2\,(P_B - 47)

    Parameters
    ----------
    fio2 : float
        Inspired fraction of oxygen. [no unit]
    barometric_pressure : float
        Barometric pressure. [mmHg]

    Returns
    -------
    float
        Inspired oxygen pressure. [mmHg]

    Raises
    ------
    QuantityError
        If a value is missing, no number, or outside its credible limits.

    Notes
    -----
    First half of the alveolar gas equation, [FennRahnOtis1946]_.

    Examples
    --------
    >>> round(inspired_po2(fio2=0.21), 1)
    149.7
    """
    require_all(fio2=fio2, barometric_pressure=barometric_pressure)
    return fio2 * (barometric_pressure - WATER_VAPOR)


def alveolar_po2(
    paco2: float, fio2: float, *, barometric_pressure: float = SEA_LEVEL,
    respiratory_quotient: float = 0.8,
) -> float:
    r"""Alveolar oxygen pressure by the bedside form of the alveolar gas equation; the default.

    .. math:: P_AO_2 = F_IO_2\,(P_B - 47) - P_aCO_2 / R

    Parameters
    ----------
    paco2 : float
        Arterial carbon dioxide tension. [mmHg]
    fio2 : float
        Inspired fraction of oxygen. [no unit]
    barometric_pressure : float
        Barometric pressure. [mmHg]
    respiratory_quotient : float
        Carbon dioxide given off for the oxygen taken up. [no unit]

    Returns
    -------
    float
        Alveolar oxygen pressure. [mmHg]

    Raises
    ------
    QuantityError
        If a value is missing, no number, outside its credible limits, or if the values leave
        no oxygen in the alveoli.

    Notes
    -----
    Bedside form in [MSD2024]_ of the equation of [FennRahnOtis1946]_, R 0.8. Some texts
    multiply PaCO2 by 1.2 instead of dividing by 0.8, which gives about 2 mmHg more.

    Examples
    --------
    >>> round(alveolar_po2(paco2=40, fio2=0.21), 1)
    99.7
    """
    require_all(respiratory_quotient=respiratory_quotient, paco2=paco2)
    inspired = inspired_po2(fio2, barometric_pressure=barometric_pressure)
    return _some_oxygen(inspired - paco2 / respiratory_quotient, paco2)


def alveolar_po2_full(
    paco2: float, fio2: float, *, barometric_pressure: float = SEA_LEVEL,
    respiratory_quotient: float = 0.8,
) -> float:
    r"""Alveolar oxygen pressure with the correction for gas volumes.

    .. math:: P_AO_2 = P_IO_2 - P_aCO_2\,\left(F_IO_2 + \frac{1 - F_IO_2}{R}\right)

    Parameters
    ----------
    paco2 : float
        Arterial carbon dioxide tension. [mmHg]
    fio2 : float
        Inspired fraction of oxygen. [no unit]
    barometric_pressure : float
        Barometric pressure. [mmHg]
    respiratory_quotient : float
        Carbon dioxide given off for the oxygen taken up. [no unit]

    Returns
    -------
    float
        Alveolar oxygen pressure. [mmHg]

    Raises
    ------
    QuantityError
        If a value is missing, no number, outside its credible limits, or if the values leave
        no oxygen in the alveoli.

    Notes
    -----
    The form of [FennRahnOtis1946]_; it matters on high inspired oxygen.

    Examples
    --------
    >>> round(alveolar_po2_full(paco2=40, fio2=0.21), 1)
    101.8
    """
    require_all(respiratory_quotient=respiratory_quotient, paco2=paco2)
    inspired = inspired_po2(fio2, barometric_pressure=barometric_pressure)
    return _some_oxygen(inspired - paco2 * (fio2 + (1 - fio2) / respiratory_quotient), paco2)


def alveolar_arterial_gradient(
    pao2: float, paco2: float, fio2: float, *, barometric_pressure: float = SEA_LEVEL,
    respiratory_quotient: float = 0.8,
) -> float:
    r"""Difference of oxygen pressure between alveoli and artery.

    .. math:: P(A - a)O_2 = P_AO_2 - P_aO_2

    Parameters
    ----------
    pao2 : float
        Arterial oxygen tension. [mmHg]
    paco2 : float
        Arterial carbon dioxide tension. [mmHg]
    fio2 : float
        Inspired fraction of oxygen. [no unit]
    barometric_pressure : float
        Barometric pressure. [mmHg]
    respiratory_quotient : float
        Carbon dioxide given off for the oxygen taken up. [no unit]

    Returns
    -------
    float
        Gradient; a small negative one comes from rounding. [mmHg]

    Raises
    ------
    QuantityError
        If a value is missing, no number, outside its credible limits, or if the arterial
        pressure lies more than 20 above the alveolar one (a wrong FiO2).

    Notes
    -----
    Bedside form as in [MSD2024]_.

    Examples
    --------
    >>> round(alveolar_arterial_gradient(pao2=65, paco2=60, fio2=0.21))
    10
    """
    require_all(pao2=pao2)
    alveolar = alveolar_po2(paco2, fio2, barometric_pressure=barometric_pressure,
                            respiratory_quotient=respiratory_quotient)
    if pao2 > alveolar + 20:
        raise QuantityError(
            f"PaO2 = {plain(pao2)} mmHg cannot be reached from an alveolar {alveolar:.0f} mmHg "
            f"(was FiO2 really {plain(fio2)}?)", quantity="pao2", value=pao2)
    return alveolar - pao2


def _some_oxygen(alveolar: float, paco2: float) -> float:
    if alveolar <= 0:
        raise QuantityError(
            f"PaCO2 = {plain(paco2)} mmHg leaves no oxygen in the alveoli at this FiO2 and "
            "barometric pressure (are all three in the right units?)",
            quantity="paco2", value=paco2)
    return alveolar
