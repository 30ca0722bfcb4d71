"""The response to a simple disorder: our six default rules, one for each disorder.

| disorder | default, in this module | rivals, in module |
|---|---|---|
| metabolic acidosis | `paco2_winters1967` | `compensation_metabolic_acidosis` |
| metabolic alkalosis | `paco2_metabolic_alkalosis` | `compensation_metabolic_alkalosis` |
| acute respiratory acidosis | `hco3_acute_respiratory_acidosis` | `compensation_respiratory_acidosis` |
| chronic respiratory acidosis | `hco3_chronic_respiratory_acidosis` | `compensation_respiratory_acidosis` |
| acute respiratory alkalosis | `hco3_acute_respiratory_alkalosis` | `compensation_respiratory_alkalosis` |
| chronic respiratory alkalosis | `hco3_chronic_respiratory_alkalosis` | `compensation_respiratory_alkalosis` |

Every rule takes set-points, so that pregnancy or altitude is a setting: the line is moved to
start there. A rule with a source in its name is that source's; a rule without one is ours, and
its notes say whose it is. Rules written for base excess are in `compensation_base_excess`; all
rules by name, for a setting to choose, in `compensation_rules`.
"""  # noqa: E501
from __future__ import annotations

from .quantities import Expected, require_all


def paco2_winters1967(
    hco3: float, *, paco2_set: float = 40.0, hco3_set: float = 24.0
) -> Expected:
    r"""Expected PaCO2 in metabolic acidosis (Winters' formula); the default.

    .. math:: P_{CO_2} = 1.5\,[HCO_3^-] + 8 \pm 2

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
    Bedside rounding, after [NarinsEmmett1980]_, of the regression in [Albert1967]_
    (see `compensation_metabolic_acidosis`). Only for a steady metabolic acidosis, HCO3 below 22:
    at 24 it would expect 44. With other set-points the line is moved, not refitted
    ([CommonPractice]_).

    Examples
    --------
    >>> paco2_winters1967(hco3=12).center
    26.0
    >>> paco2_winters1967(hco3=12).contains(31)
    False
    """
    require_all(hco3=hco3, paco2_set=paco2_set, hco3_set=hco3_set)
    moved = 1.5 * (24 - hco3_set) - (40 - paco2_set)
    return Expected(center=1.5 * hco3 + 8 + moved, tolerance=2.0)


def paco2_metabolic_alkalosis(
    hco3: float, *, paco2_set: float = 40.0, hco3_set: float = 24.0
) -> Expected:
    r"""Expected PaCO2 in metabolic alkalosis; the default, without a cap.

    .. math:: P_{CO_2} = 40 + 0.7\,([HCO_3^-] - 24) \pm 5

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
    The line of [Berend2014]_, with the wider band of [Kidney360]_, because published lines lie
    about 3 mmHg apart. No cap: higher values are reported; above 60 is unusual
    ([CommonPractice]_).

    Examples
    --------
    >>> round(paco2_metabolic_alkalosis(hco3=34).center, 1)
    47.0
    """
    require_all(hco3=hco3, paco2_set=paco2_set, hco3_set=hco3_set)
    return Expected(center=paco2_set + 0.7 * (hco3 - hco3_set), tolerance=5.0)


def hco3_acute_respiratory_acidosis(
    paco2: float, *, paco2_set: float = 40.0, hco3_set: float = 24.0
) -> Expected:
    r"""Expected HCO3 in acute respiratory acidosis: +1 for every 10 mmHg; the default.

    .. math:: [HCO_3^-] = 24 + 0.1\,(P_{CO_2} - 40) \pm 2

    Parameters
    ----------
    paco2 : float
        Arterial carbon dioxide tension. [mmHg]
    paco2_set : float
        Carbon dioxide tension this person lives at. [mmHg]
    hco3_set : float
        Bicarbonate this person lives at. [mmol/L]

    Returns
    -------
    Expected
        Plasma bicarbonate. [mmol/L]

    Raises
    ------
    QuantityError
        If a value is missing, no number, or outside its credible limits.

    Notes
    -----
    Rule of [NarinsEmmett1980]_, also in [Kidney360]_; physiology in [Brackett1965]_.

    Examples
    --------
    >>> hco3_acute_respiratory_acidosis(paco2=70).center
    27.0
    """
    require_all(paco2=paco2, paco2_set=paco2_set, hco3_set=hco3_set)
    return for_every_10(paco2 - paco2_set, hco3_set, 1.0)


def hco3_chronic_respiratory_acidosis(
    paco2: float, *, paco2_set: float = 40.0, hco3_set: float = 24.0
) -> Expected:
    r"""Expected HCO3 in chronic respiratory acidosis: +4 (3.5 to 5) for every 10; the default.

    .. math:: [HCO_3^-] = 24 + 0.4\,(P_{CO_2} - 40) \pm 2

    Parameters
    ----------
    paco2 : float
        Arterial carbon dioxide tension. [mmHg]
    paco2_set : float
        Carbon dioxide tension this person lives at. [mmHg]
    hco3_set : float
        Bicarbonate this person lives at. [mmol/L]

    Returns
    -------
    Expected
        Plasma bicarbonate. [mmol/L]

    Raises
    ------
    QuantityError
        If a value is missing, no number, or outside its credible limits.

    Notes
    -----
    Center of [CommonPractice]_; the reach runs from the 3.5 of [NarinsEmmett1980]_ to the 5 of
    [Berend2014]_ (from memory, not yet checked against the paper), where the slope that
    [Gonzalez2018]_ measured lies within; patients in [Brackett1969]_.

    Examples
    --------
    >>> hco3_chronic_respiratory_acidosis(paco2=60)
    Expected(center=32.0, tolerance=2.0, reach=(31.0, 34.0))
    """
    require_all(paco2=paco2, paco2_set=paco2_set, hco3_set=hco3_set)
    return for_every_10(paco2 - paco2_set, hco3_set, 4.0, least=3.5, most=5.0)


def hco3_acute_respiratory_alkalosis(
    paco2: float, *, paco2_set: float = 40.0, hco3_set: float = 24.0
) -> Expected:
    r"""Expected HCO3 in acute respiratory alkalosis: -2 for every 10 mmHg; the default.

    .. math:: [HCO_3^-] = 24 - 0.2\,(40 - P_{CO_2}) \pm 2

    Parameters
    ----------
    paco2 : float
        Arterial carbon dioxide tension. [mmHg]
    paco2_set : float
        Carbon dioxide tension this person lives at. [mmHg]
    hco3_set : float
        Bicarbonate this person lives at. [mmol/L]

    Returns
    -------
    Expected
        Plasma bicarbonate. [mmol/L]

    Raises
    ------
    QuantityError
        If a value is missing, no number, or outside its credible limits.

    Notes
    -----
    Rule of [NarinsEmmett1980]_, also in [Kidney360]_; physiology in [Arbus1969]_.

    Examples
    --------
    >>> hco3_acute_respiratory_alkalosis(paco2=25).center
    21.0
    """
    require_all(paco2=paco2, paco2_set=paco2_set, hco3_set=hco3_set)
    return for_every_10(paco2 - paco2_set, hco3_set, 2.0)


def hco3_chronic_respiratory_alkalosis(
    paco2: float, *, paco2_set: float = 40.0, hco3_set: float = 24.0
) -> Expected:
    r"""Expected HCO3 in chronic respiratory alkalosis: -4 to -5 for every 10; the default.

    .. math:: [HCO_3^-] = 24 - 0.45\,(40 - P_{CO_2}) \pm 2

    Parameters
    ----------
    paco2 : float
        Arterial carbon dioxide tension. [mmHg]
    paco2_set : float
        Carbon dioxide tension this person lives at. [mmHg]
    hco3_set : float
        Bicarbonate this person lives at. [mmol/L]

    Returns
    -------
    Expected
        Plasma bicarbonate. [mmol/L]

    Raises
    ------
    QuantityError
        If a value is missing, no number, or outside its credible limits.

    Notes
    -----
    [MSD2024]_ gives the reach; [Krapf1991]_ measured 4.1 in healthy men at altitude,
    [NarinsEmmett1980]_ has 5. The center is the middle of the reach ([Arithmetic]_).

    Examples
    --------
    >>> hco3_chronic_respiratory_alkalosis(paco2=30)
    Expected(center=19.5, tolerance=2.0, reach=(19.0, 20.0))
    """
    require_all(paco2=paco2, paco2_set=paco2_set, hco3_set=hco3_set)
    return for_every_10(paco2 - paco2_set, hco3_set, 4.5, least=4.0, most=5.0)


def for_every_10(
    change: float, hco3_set: float, slope: float, *, least: float | None = None,
    most: float | None = None,
) -> Expected:
    """HCO3 moved from its set-point by `slope` for every 10 mmHg of `change`, tolerance 2."""
    reach = None
    if least is not None and most is not None:
        low, high = sorted((hco3_set + least * change / 10, hco3_set + most * change / 10))
        reach = (low, high)
    return Expected(center=hco3_set + slope * change / 10, tolerance=2.0, reach=reach)
