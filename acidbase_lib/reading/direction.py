"""The direction rule: the disorder from two numbers, and when two numbers say nothing."""
from __future__ import annotations

from dataclasses import dataclass

from acidbase_lib.physiology.quantities import QuantityError, require, require_all

from .disorders import (
    METABOLIC_ACIDOSIS,
    METABOLIC_ALKALOSIS,
    MIXED_ACIDOSIS,
    MIXED_ALKALOSIS,
    RESPIRATORY_ACIDOSIS,
    RESPIRATORY_ALKALOSIS,
    Side,
)
from .lab_settings import LabSettings
from .nursing_label import pushes
from .settings_in_force import in_force
from .wording import label_of, ph_text, with_unit


@dataclass(frozen=True, slots=True)
class DirectionReading:
    """What the rule says: a disorder, or None and why it is silent; `because` in either case."""

    disorder: str | None
    silent_because: str | None
    because: str


def direction_rule(
    ph: float, hco3: float | None = None, paco2: float | None = None,
    settings: LabSettings | None = None,
) -> DirectionReading:
    """Name the disorder by direction: two numbers, or both pairs.

    PaCO2 opposite to pH is respiratory; bicarbonate the same way as pH is metabolic. With pH
    and bicarbonate alone (the two-number form), bicarbonate against the pH is taken for
    respiratory; with pH and PaCO2 alone, PaCO2 the same way is taken for metabolic. The rule
    is silent where the pH or the one other number is in range.

    Parameters
    ----------
    ph : float
        pH. []
    hco3 : float, optional
        Bicarbonate. [mmol/L]
    paco2 : float, optional
        Carbon dioxide tension. [mmHg]
    settings : LabSettings
        The ranges that decide.

    Raises
    ------
    QuantityError
        If a value is no number or outside its limits, or neither hco3 nor paco2 is given.

    Notes
    -----
    A teaching shortcut with known limits ([DirectionRule]_): it cannot see a second disorder
    that moves the number the same way, nor anything behind a normal pH.

    Examples
    --------
    >>> direction_rule(ph=7.28, hco3=30).disorder
    'respiratory acidosis'
    >>> direction_rule(ph=7.37, hco3=30).silent_because
    'pH 7.37 is in range (7.35–7.45), so it points no way'
    """
    settings = settings or in_force()
    require_all(ph=ph)
    require(hco3=hco3, paco2=paco2)
    if hco3 is None and paco2 is None:
        raise QuantityError("the direction rule needs a second number: give hco3 (mmol/L) or "
                            "paco2 (mmHg)", quantity="hco3")
    state = settings.ph.state(ph)
    shown = ph_text(ph, settings.ph.low, settings.ph.high)
    if state == "normal":
        return _silent(f"pH {shown} is in range ({settings.text('ph')}), so it points no way")
    side: Side = "acid" if state == "low" else "alkaline"
    start = f"pH {shown} is {'low, acid' if side == 'acid' else 'high, alkaline'}"
    if hco3 is not None and paco2 is not None:
        return _both_pairs(side, start, hco3, paco2, settings)
    key, value = ("hco3", hco3) if hco3 is not None else ("paco2", paco2)
    assert value is not None
    range_ = getattr(settings, key)
    moved = range_.state(value)
    text = f"{label_of(key)} {with_unit(key, value, range_.low, range_.high)}"
    if moved == "normal":
        return _silent(f"{text} is in range ({settings.text(key)}), so it points no way")
    same_way = moved == state
    metabolic = same_way  # true of both numbers: bicarbonate with the pH, PaCO2 not against it
    because = (f"{start}; {text} is {moved}, {'the same way' if same_way else 'the other way'}: "
               f"{'metabolic' if metabolic else 'respiratory'}")
    return DirectionReading(_named(side, not metabolic, metabolic), None, because)


def _both_pairs(
    side: Side, start: str, hco3: float, paco2: float, settings: LabSettings
) -> DirectionReading:
    paco2_state, hco3_state = settings.paco2.state(paco2), settings.hco3.state(hco3)
    respiratory, metabolic = pushes(side, paco2_state, hco3_state)
    because = (f"{start}; PaCO2 is {paco2_state}, so the lungs "
               f"{'push' if respiratory else 'do not push'} this way; bicarbonate is {hco3_state}, "
               f"so the metabolic side {'pushes' if metabolic else 'does not push'} this way")
    disorder = _named(side, respiratory, metabolic)
    if disorder is None:
        return _silent(f"{start}, but neither PaCO2 nor bicarbonate is out of range on that side")
    return DirectionReading(disorder, None, because)


def _named(side: Side, respiratory: bool, metabolic: bool) -> str | None:
    acid = side == "acid"
    if respiratory and metabolic:
        return MIXED_ACIDOSIS if acid else MIXED_ALKALOSIS
    if respiratory:
        return RESPIRATORY_ACIDOSIS if acid else RESPIRATORY_ALKALOSIS
    if metabolic:
        return METABOLIC_ACIDOSIS if acid else METABOLIC_ALKALOSIS
    return None


def _silent(why: str) -> DirectionReading:
    return DirectionReading(None, why, why)
