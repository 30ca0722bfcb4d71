"""The balance of lungs and kidneys: the pH that PaCO2 and bicarbonate make, said in a sentence."""
from __future__ import annotations

from dataclasses import dataclass

from acidbase_lib.physiology.henderson_hasselbalch import ALPHA, ph_of
from acidbase_lib.reading.kilopascal import pressure
from acidbase_lib.reading.lab_settings import LabSettings
from acidbase_lib.reading.settings_in_force import in_force

LIVED_WITH = (6.8, 7.8)  # common practice: nobody lives outside for long
_LEVEL = ph_of(40, 24)  # the middles of both ranges
_AT_MIDLINE = 10 ** (9 - 7.40)  # hydrogen ions at pH 7.40 [nmol/L]


@dataclass(frozen=True, slots=True)
class Balance:
    """Two pulls and what they make: pH, hydrogen ion [nmol/L], and base for each part of acid."""

    paco2: float
    hco3: float
    ph: float
    hydrogen_ion: float
    ratio: float
    paco2_state: str
    hco3_state: str
    ph_state: str

    @property
    def off_level(self) -> float:
        """How far the pH lies from the one that 40 mmHg and 24 mmol/L make."""
        return ph_of(self.paco2, self.hco3) - _LEVEL

    @property
    def lean(self) -> str:
        """The side to which the two lean, where it can be seen: acid, alkaline or none."""
        if abs(self.off_level) < 0.005:
            return ""
        return "acid" if self.off_level < 0 else "alkaline"

    @property
    def lived_with(self) -> bool:
        """Whether a patient could have this pH."""
        return LIVED_WITH[0] <= self.ph <= LIVED_WITH[1]


def balance(paco2: float, hco3: float, settings: LabSettings | None = None) -> Balance:
    """Weigh PaCO2 [mmHg] against bicarbonate [mmol/L].

    Raises
    ------
    QuantityError
        If a value is outside its credible limits.
    """
    settings = settings or in_force()
    ph = round(ph_of(paco2, hco3), 2)
    return Balance(paco2, hco3, ph, 10 ** (9 - ph), hco3 / (ALPHA * paco2),
                   settings.paco2.state(paco2), settings.hco3.state(hco3), settings.ph.state(ph))


def balance_sentence(here: Balance) -> str:
    """Read the balance aloud."""
    paco2 = pressure(here.paco2, as_is=True)
    text = (f"PaCO2 {paco2} is {_word(here.paco2_state)} and bicarbonate "
            f"{here.hco3:g} mmol/L is {_word(here.hco3_state)}. Together they make a pH of "
            f"{here.ph:.2f}")
    if not here.lived_with:
        return f"{text}. Nobody lives with that for long: move one of them back."
    return (f"{text}, {_word(here.ph_state)}: {here.hydrogen_ion:.0f} nmol/L of hydrogen ion"
            f"{_times(here.hydrogen_ion)}. There are {here.ratio:.0f} parts of bicarbonate for "
            f"each part of dissolved carbon dioxide; about 20 make 7.40. {_pulls(here)}")


def _word(state: str) -> str:
    return "in range" if state == "normal" else state


def _times(hydrogen_ion: float) -> str:
    times = hydrogen_ion / _AT_MIDLINE
    if f"{times:.1f}" == "1.0":
        return ", about as many as at pH 7.40"
    return f", {times:.1f} times that at pH 7.40"


def _pulls(here: Balance) -> str:
    acid = (here.paco2_state == "high", here.hco3_state == "low")
    alkaline = (here.paco2_state == "low", here.hco3_state == "high")
    if all(acid) or all(alkaline):
        return f"Both push to the {'acid' if all(acid) else 'alkaline'} side: they add up."
    if any(acid) and any(alkaline):
        held = ("they hold each other in balance" if here.ph_state == "normal"
                else "the stronger one wins")
        return f"One pushes to the acid side, the other to the alkaline side: {held}."
    if any(acid) or any(alkaline):
        side = "acid" if any(acid) else "alkaline"
        return f"One pushes to the {side} side, and nothing pushes back yet."
    if here.ph_state != "normal":
        side = "acid" if here.ph_state == "low" else "alkaline"
        return f"Each is in its range, and yet the two lean to the {side} side: look at both."
    if here.lean:
        return f"Neither pushes; together they lean a little to the {here.lean} side."
    return "Neither pushes: the beam is level."
