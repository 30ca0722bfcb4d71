"""The nursing label: primary disorder and compensation from the ranges alone."""
from __future__ import annotations

from dataclasses import dataclass

from .disorders import (
    FULL,
    METABOLIC_ACIDOSIS,
    METABOLIC_ALKALOSIS,
    MIXED_ACIDOSIS,
    MIXED_ALKALOSIS,
    NORMAL,
    PARTIAL,
    RESPIRATORY_ACIDOSIS,
    RESPIRATORY_ALKALOSIS,
    UNCOMPENSATED,
    PhState,
    RangeState,
    Side,
)


@dataclass(frozen=True, slots=True)
class NursingLabel:
    """The range-based answer; `text` is None exactly where `why_not` says why."""

    text: str | None
    primary: str | None
    compensation: str | None
    why_not: str | None


def side_of_ph(ph: float, state: PhState, midline: float) -> Side | None:
    """The side of the midline a pH lies on; None for a normal pH exactly on it."""
    if state == "normal" and ph == midline:
        return None
    return "acid" if ph < midline else "alkaline"


def pushes(side: Side, paco2: RangeState, hco3: RangeState) -> tuple[bool, bool]:
    """Whether PaCO2 pushes to this side, and whether bicarbonate does."""
    if side == "acid":
        return paco2 == "high", hco3 == "low"
    return paco2 == "low", hco3 == "high"


def nursing_label(
    ph: PhState, side: Side | None, paco2: RangeState, hco3: RangeState
) -> NursingLabel:
    """The label of the nursing texts, from the three states and the side of a normal pH.

    Abnormal pH: the value that pushes the same way is the cause; the other one in range is
    uncompensated, out of range partially compensated; both causes are mixed. Normal pH: both
    values out of range is fully compensated, the side of 7.40 decides ([NursingLabel]_).

    Examples
    --------
    >>> nursing_label("acidemia", "acid", "high", "high").text
    'partially compensated respiratory acidosis'
    >>> nursing_label("normal", "acid", "high", "normal").text is None
    True
    """
    if ph == "normal" and paco2 == hco3 == "normal":
        return NursingLabel(NORMAL, None, None, None)
    if ph == "normal":
        return _within_normal_ph(side, paco2, hco3)
    respiratory, metabolic = pushes("acid" if ph == "acidemia" else "alkaline", paco2, hco3)
    if respiratory and metabolic:
        mixed = MIXED_ACIDOSIS if ph == "acidemia" else MIXED_ALKALOSIS
        return NursingLabel(mixed, mixed, None, None)
    if not respiratory and not metabolic:
        return _none(f"the pH is {_WORD[ph]}, but neither PaCO2 nor bicarbonate is out of range "
                     "on that side")
    if respiratory:
        primary = RESPIRATORY_ACIDOSIS if ph == "acidemia" else RESPIRATORY_ALKALOSIS
        other = hco3
    else:
        primary = METABOLIC_ACIDOSIS if ph == "acidemia" else METABOLIC_ALKALOSIS
        other = paco2
    return _labeled(primary, UNCOMPENSATED if other == "normal" else PARTIAL)


def _within_normal_ph(side: Side | None, paco2: RangeState, hco3: RangeState) -> NursingLabel:
    if "normal" in (paco2, hco3):
        off, other = ("PaCO2", "bicarbonate") if hco3 == "normal" else ("bicarbonate", "PaCO2")
        return _none(f"only {off} is out of range: pH and {other} are normal, so the label has "
                     "nothing to rest on")
    if paco2 != hco3:
        pushed = "acid" if paco2 == "high" else "alkaline"
        return _none(f"PaCO2 and bicarbonate both push to the {pushed} side, yet the pH is normal: "
                     "check the three numbers")
    if side is None:
        return _none("the pH lies exactly on the midline, so neither side is named")
    if side == "acid":
        return _labeled(RESPIRATORY_ACIDOSIS if paco2 == "high" else METABOLIC_ACIDOSIS, FULL)
    return _labeled(METABOLIC_ALKALOSIS if paco2 == "high" else RESPIRATORY_ALKALOSIS, FULL)


def _labeled(primary: str, compensation: str) -> NursingLabel:
    return NursingLabel(f"{compensation} {primary}", primary, compensation, None)


def _none(why: str) -> NursingLabel:
    return NursingLabel(None, None, None, why)


_WORD = {"acidemia": "low", "alkalemia": "high"}
