"""What a reader believes of a gas: the words a learner would write, field by field."""
from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Final

from acidbase_lib.physiology.henderson_hasselbalch import hydrogen_ion
from acidbase_lib.reading.blood_gas import BloodGas
from acidbase_lib.reading.disorders import NORMAL, RangeState
from acidbase_lib.reading.interpretation import Interpretation, interpret
from acidbase_lib.reading.lab_settings import LabSettings
from acidbase_lib.reading.measured import CALCULATED
from acidbase_lib.reading.settings_in_force import in_force

from .oxygen_beliefs import OxygenBeliefs, oxygen_beliefs

NONE: Final = "none"
_PH_WORD: Final[Mapping[str, RangeState]] = {
    "acidemia": "low",
    "normal": "normal",
    "alkalemia": "high",
}


@dataclass(frozen=True, slots=True)
class Beliefs:
    """What a reader would write of a gas, in a learner's words.

    Parameters
    ----------
    ph, paco2, hco3 : str
        "low", "normal" or "high".
    disorder : str or None
        A disorder, a mixed disorder or "normal"; None where no single label can be given.
    compensation : str
        "uncompensated", "partially compensated", "fully compensated" or "none".
    side : str
        The side on which the pH is thought to lie: "acid", "alkaline" or "none".
    processes : tuple of str
        Every process that is believed in.
    response : str
        "as expected", "less than expected", "more than expected",
        "cannot tell acute from chronic" or "none".
    gap : str
        The anion gap: "low", "normal", "high" or "none" where there are no electrolytes.
    gap_value : float or None
        The gap as it would be worked out, before any correction for albumin. [mmol/L]
    hydrogen_ion : int
        How many hydrogen ions this pH is thought to stand for. [nmol/L]
    calculated : tuple of str
        The numbers of the report that are thought to be worked out from others.
    oxygen : OxygenBeliefs or None
        What is thought of the oxygen; None where none is printed.
    """

    ph: RangeState
    paco2: RangeState
    hco3: RangeState
    disorder: str | None
    compensation: str
    side: str
    processes: tuple[str, ...]
    response: str
    gap: str
    gap_value: float | None = None
    oxygen: OxygenBeliefs | None = None
    hydrogen_ion: int = 40
    calculated: tuple[str, ...] = CALCULATED

    @property
    def second(self) -> str:
        """Is there more than one process? "yes" or "no"."""
        return "yes" if len(self.processes) > 1 else "no"

    @property
    def label(self) -> str | None:
        """The nursing label in one line."""
        if self.disorder is None or self.compensation == NONE:
            return self.disorder
        return f"{self.compensation} {self.disorder}"


@dataclass(frozen=True, slots=True)
class SeenGas:
    """What a reader has in front of the eyes: the gas as printed, and the sound reading of it."""

    gas: BloodGas
    reading: Interpretation
    shown: str

    @property
    def sound(self) -> Beliefs:
        """The library's own reading, as beliefs."""
        return beliefs_of(self.reading)


def beliefs_of(reading: Interpretation) -> Beliefs:
    """The words that the library's own reading would write."""
    disorder = reading.primary or (NORMAL if reading.label == NORMAL else None)
    return Beliefs(
        _PH_WORD[reading.ph_state], reading.paco2_state, reading.hco3_state, disorder,
        reading.compensation or NONE, reading.side or NONE, reading.processes,
        reading.response or NONE, reading.anion_gap.state if reading.anion_gap else NONE,
        reading.anion_gap.value if reading.anion_gap else None,
        oxygen_beliefs(reading.oxygenation), hydrogen_ion=round(hydrogen_ion(reading.gas.ph)))


def see(gas: BloodGas, shown: str = "mmHg", settings: LabSettings | None = None) -> SeenGas:
    """A gas as a reader meets it; `shown` is the unit that its pressures are printed in."""
    settings = settings or in_force()
    return SeenGas(gas, interpret(gas, settings), shown)
