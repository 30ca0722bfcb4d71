"""Grades of oxygenation: the gradient for age, PaO2/FiO2, respiratory failure, ARDS severity."""
from __future__ import annotations

from typing import Literal

from .oxygenation import SEA_LEVEL, barometric_pressure_of
from .quantities import require_all

FailureType = Literal["type 1", "type 2"]
Severity = Literal["mild", "moderate", "severe"]

CORRECT_ABOVE = 1000.0  # altitude from which the Berlin ratio is corrected [m]


def gradient_limit(age: float) -> float:
    r"""Upper limit of the A-a gradient for age, breathing room air; the default.

    .. math:: age / 4 + 4

    Parameters
    ----------
    age : float
        Age. [years]

    Returns
    -------
    float
        A-a gradient. [mmHg]

    Raises
    ------
    QuantityError
        If ``age`` is missing, no number, or outside its credible limits.

    Notes
    -----
    [CommonPractice]_. Not valid on supplemental oxygen.

    Examples
    --------
    >>> gradient_limit(age=60)
    19.0
    """
    require_all(age=age)
    return age / 4.0 + 4


def gradient_limit_mellemgaard1966(age: float) -> float:
    r"""A-a gradient for age from measured healthy adults, breathing room air.

    .. math:: 2.5 + 0.21\,age

    Parameters
    ----------
    age : float
        Age. [years]

    Returns
    -------
    float
        A-a gradient. [mmHg]

    Raises
    ------
    QuantityError
        If ``age`` is missing, no number, or outside its credible limits.

    Notes
    -----
    [Mellemgaard1966]_. Not valid on supplemental oxygen.

    Examples
    --------
    >>> round(gradient_limit_mellemgaard1966(age=60), 1)
    15.1
    """
    require_all(age=age)
    return 2.5 + 0.21 * age


def pf_ratio(pao2: float, fio2: float) -> float:
    r"""Arterial oxygen tension for the oxygen breathed in.

    .. math:: P_aO_2 / F_IO_2

    Parameters
    ----------
    pao2 : float
        Arterial oxygen tension. [mmHg]
    fio2 : float
        Inspired fraction of oxygen. [no unit]

    Returns
    -------
    float
        PaO2/FiO2. [mmHg]

    Raises
    ------
    QuantityError
        If a value is missing, no number, or outside its credible limits.

    Notes
    -----
    As used in [Berlin2012]_.

    Examples
    --------
    >>> round(pf_ratio(pao2=80, fio2=0.4))
    200
    """
    require_all(pao2=pao2, fio2=fio2)
    return float(pao2 / fio2)


def respiratory_failure_type(
    pao2: float, paco2: float, *, pao2_limit: float = 60.0, paco2_limit: float = 45.0
) -> FailureType | None:
    """Type 1 (low PaO2), type 2 (low PaO2 with high PaCO2), or neither.

    Parameters
    ----------
    pao2 : float
        Arterial oxygen tension. [mmHg]
    paco2 : float
        Arterial carbon dioxide tension. [mmHg]
    pao2_limit : float
        PaO2 below this is failure. [mmHg]
    paco2_limit : float
        PaCO2 above this is hypercapnia; some texts take 50. [mmHg]

    Returns
    -------
    str or None
        "type 1", "type 2" or None. [words]

    Raises
    ------
    QuantityError
        If a value is missing, no number, or outside its credible limits.

    Notes
    -----
    Limits 8 kPa (60 mmHg) and 6 kPa (45 mmHg), [BTS2017]_. Meant for a gas on room air; on
    oxygen a PaO2 above 60 does not rule failure out.

    Examples
    --------
    >>> respiratory_failure_type(pao2=55, paco2=60)
    'type 2'
    """
    require_all(pao2=pao2, paco2=paco2, pao2_limit=pao2_limit, paco2_limit=paco2_limit)
    if pao2 >= pao2_limit:
        return None
    return "type 2" if paco2 > paco2_limit else "type 1"


def berlin_severity(
    pao2: float, fio2: float, peep: float, *, barometric_pressure: float = SEA_LEVEL
) -> Severity | None:
    r"""Oxygenation grade of the Berlin definition of ARDS, corrected for altitude.

    .. math:: \frac{P_aO_2}{F_IO_2} \times \frac{P_B}{760} \text{ above 1000 m}

    Parameters
    ----------
    pao2 : float
        Arterial oxygen tension. [mmHg]
    fio2 : float
        Inspired fraction of oxygen. [no unit]
    peep : float
        Positive end-expiratory pressure. [cmH2O]
    barometric_pressure : float
        Barometric pressure. [mmHg]

    Returns
    -------
    str or None
        "mild", "moderate", "severe", or None (ratio above 300, or PEEP below 5). [words]

    Raises
    ------
    QuantityError
        If a value is missing, no number, or outside its credible limits.

    Notes
    -----
    [Berlin2012]_: mild above 200 to 300, moderate above 100 to 200, severe to 100. It is one of
    four criteria (time, both lungs on the picture, not the heart): alone it is no diagnosis.

    Examples
    --------
    >>> berlin_severity(pao2=70, fio2=0.5, peep=8)
    'moderate'
    """
    require_all(pao2=pao2, fio2=fio2, peep=peep, barometric_pressure=barometric_pressure)
    ratio = pf_ratio(pao2, fio2)
    if barometric_pressure < barometric_pressure_of(CORRECT_ABOVE):
        ratio *= barometric_pressure / SEA_LEVEL
    if peep < 5 or ratio > 300:
        return None
    if ratio > 200:
        return "mild"
    return "moderate" if ratio > 100 else "severe"
