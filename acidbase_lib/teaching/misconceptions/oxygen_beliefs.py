"""What a reader believes of the oxygen in a gas: low, failure, how well the lungs pass it on."""
from __future__ import annotations

from dataclasses import dataclass

from acidbase_lib.reading.disorders import RangeState
from acidbase_lib.reading.oxygenation.read_oxygen import OxygenReading

NO_FAILURE = "none"


@dataclass(frozen=True, slots=True)
class OxygenBeliefs:
    """What a reader would write of the oxygen in an arterial sample, in a learner's words.

    Parameters
    ----------
    state : str
        "low", "normal" or "high".
    failure : str
        "none", "type 1" or "type 2".
    gradient : float or None
        The A-a gradient, on room air only. [mmHg]
    width : str or None
        Is that gradient "normal" for the age, or "wide"?
    ratio : float or None
        PaO2/FiO2. [mmHg]
    """

    state: RangeState
    failure: str
    gradient: float | None
    width: str | None
    ratio: float | None


def oxygen_beliefs(reading: OxygenReading | None) -> OxygenBeliefs | None:
    """The words that the library's own oxygen reading would write."""
    if reading is None:
        return None
    width = reading.gradient_state if reading.gradient_state != "impossible" else None
    return OxygenBeliefs(reading.state, reading.failure or NO_FAILURE, reading.gradient, width,
                         reading.pf_ratio)
