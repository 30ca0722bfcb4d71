"""Where PaCO2 and bicarbonate settle in people who live at altitude."""
from __future__ import annotations

from .quantities import require_all

HIGH = 1000.0  # below it the values of sea level serve [m]


def paco2_at_altitude(altitude: float) -> float:
    r"""PaCO2 at which a healthy adult breathes who lives at an altitude.

    .. math:: P_aCO_2 = 40 - 3\,h / 1000

    Parameters
    ----------
    altitude : float
        Height above sea level. [m]

    Returns
    -------
    float
        PaCO2 set-point; 40 below 1000 m. [mmHg]

    Raises
    ------
    QuantityError
        If ``altitude`` is missing, no number, or outside its credible limits.

    Notes
    -----
    A line through the means of [Altitude2023]_ from 40 at sea level, drawn here: it leaves them
    by at most 3.1 mmHg. Those who arrive need days to weeks to come down to it.

    Examples
    --------
    >>> paco2_at_altitude(altitude=3000)
    31.0
    """
    require_all(altitude=altitude)
    return 40.0 if altitude < HIGH else float(40 - 3 * altitude / 1000)


def hco3_at_altitude(altitude: float) -> float:
    r"""Bicarbonate of a healthy adult who lives at an altitude.

    .. math:: [HCO_3^-] = 24 - 1.5\,h / 1000

    Parameters
    ----------
    altitude : float
        Height above sea level. [m]

    Returns
    -------
    float
        Bicarbonate set-point; 24 below 1000 m. [mmol/L]

    Raises
    ------
    QuantityError
        If ``altitude`` is missing, no number, or outside its credible limits.

    Notes
    -----
    Slope [RamirezSandoval2016]_; in newcomers it falls by about 0.55 only.

    Examples
    --------
    >>> hco3_at_altitude(altitude=3000)
    19.5
    """
    require_all(altitude=altitude)
    return 24.0 if altitude < HIGH else float(24 - 1.5 * altitude / 1000)
