"""Can pH, PaCO2 and bicarbonate come from one sample? The equilibrium as a check."""
from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from acidbase_lib.physiology.henderson_hasselbalch import ALPHA, PK

from .blood_gas import BloodGas
from .lab_settings import LabSettings
from .settings_in_force import in_force

Verdict = Literal["consistent", "doubtful", "impossible"]
_SLACK = 1e-9  # a binary fraction never decides an edge


@dataclass(frozen=True, slots=True)
class Consistency:
    """How far the given bicarbonate lies from the one that pH and PaCO2 allow.

    `residual` is given less calculated; beyond `tolerance` the numbers are doubtful, beyond
    twice that they cannot come from one sample. All in mmol/L.
    """

    hco3_expected: float
    residual: float
    tolerance: float
    verdict: Verdict

    @property
    def consistent(self) -> bool:
        """Whether the residual lies within the tolerance."""
        return self.verdict == "consistent"

    @property
    def possible(self) -> bool:
        """Whether the three numbers may come from one sample at all."""
        return self.verdict != "impossible"


def check_consistency(gas: BloodGas, settings: LabSettings | None = None) -> Consistency:
    """Compare the given bicarbonate with the one that pH and PaCO2 allow.

    The tolerance covers what printing rounds away: half a unit of a pH printed to 0.01 is
    1.2 % of the bicarbonate, half a mmol/L of the bicarbonate itself, and laboratories differ
    a few percent in the constants ([HouseTolerance]_).

    Examples
    --------
    >>> check_consistency(BloodGas(7.28, 66, 30)).verdict
    'consistent'
    >>> check_consistency(BloodGas(7.52, 48, 30)).verdict
    'impossible'
    """
    settings = settings or in_force()
    # the equilibrium without its door: the gas was checked when it was built
    expected = gas.hco3 if gas.hco3_derived else ALPHA * gas.paco2 * 10 ** (gas.ph - PK)
    residual = gas.hco3 - expected
    tolerance = max(settings.consistency_absolute, settings.consistency_relative * expected)
    verdict: Verdict = "consistent"
    if abs(residual) > tolerance + _SLACK:
        verdict = "impossible" if abs(residual) > 2 * tolerance + _SLACK else "doubtful"
    return Consistency(expected, residual, tolerance, verdict)
