"""Signs, oxygen and electrolytes that fit a patient's history and gas."""
from __future__ import annotations

from dataclasses import dataclass
from typing import Final, NamedTuple

from acidbase_lib.physiology.oxygen_carriage import sao2_severinghaus1979
from acidbase_lib.physiology.oxygenation import alveolar_po2
from acidbase_lib.reading.lab_settings import LabSettings
from acidbase_lib.reading.value_range import Range
from acidbase_lib.teaching.seeded_random import SeededRandom

from .case_types import CaseSeverity, CaseType
from .draw_numbers import PrintedNumbers
from .vignettes import Vignette

#: How far along from the mild end to the severe end a sign stands.
_ALONG: Final = {"mild": 0.15, "moderate": 0.5, "severe": 0.85}
_MIND_AT: Final = {"mild": 0, "moderate": 1, "severe": 2}
MIND: Final = {"A": "alert", "C": "new confusion", "V": "voice", "P": "pain", "U": "unresponsive"}

#: Inspired oxygen as fractions that masks and machines are set to.
FIO2: Final = (0.21, 0.24, 0.28, 0.35, 0.40, 0.50, 0.60, 0.80)
#: A case that can be met on a ward: a lower PaO2 would be a case about oxygen alone. [mmHg]
LEAST_PAO2: Final = 46.0
#: The delta ratio of a high-gap acidosis alone stays clear of the band's edge at 2.
_ALONE: Final = 1.75
#: ... and with a metabolic alkalosis that only the gap shows.
_WITH_ALKALOSIS: Final = (2.3, 2.8)
#: How far a high gap lies above its range, and the fall of bicarbonate that tells. [mmol/L]
_CLEARLY_HIGH: Final = 1.5
_FELL_ENOUGH: Final = 4.0
_USUAL_LACTATE: Final = 1.0
#: Sodium 120 to 158 and potassium 2.8 to 6.2 are phoned through (Kost, JAMA 1990;263:704-7); a
#: case stays inside for sodium, and at most 0.4 beyond for potassium.
SURVIVABLE_SALTS: Final = {"sodium": Range(120, 158), "potassium": Range(2.4, 6.6),
                           "chloride": Range(70, 128)}


@dataclass(frozen=True, slots=True)
class Vitals:
    """Signs as a nurse charts them; `consciousness` in the words alert to unresponsive."""

    respiratory_rate: int
    pulse: int
    systolic: int
    temperature: float
    spo2: int
    device: str
    fio2: float
    consciousness: str

    def sentence(self) -> str:
        """The signs in one line."""
        on = "on air" if self.device == "air" else f"with oxygen by {self.device}"
        if self.device == "ventilator":
            on = "on a ventilator"
        return (f"Breaths {self.respiratory_rate} a minute, SpO2 {self.spo2} % {on}, pulse "
                f"{self.pulse}, systolic pressure {self.systolic} mmHg, temperature "
                f"{self.temperature:.1f} °C, consciousness: {self.consciousness}.")


@dataclass(frozen=True, slots=True)
class Oxygen:
    """Oxygen of an arterial sample: pressures in mmHg, saturation in percent."""

    pao2: float
    sao2: float
    fio2: float
    device: str


class Salts(NamedTuple):
    """Electrolytes and their companions. [mmol/L, albumin g/L]"""

    sodium: float
    potassium: float
    chloride: float
    albumin: float
    lactate: float


def draw_oxygen(
    vignette: Vignette, severity: CaseSeverity, paco2: float, draw: SeededRandom
) -> Oxygen:
    """Oxygen by the alveolar gas equation, less the lungs' gradient; inspired oxygen as needed."""
    gradient = _sign(vignette.gradient, severity, draw)
    steps = [f for f in FIO2 if f >= vignette.fio2] or [vignette.fio2]
    for fio2 in steps:
        # the gradient widens with inspired oxygen: about 6 mmHg for each tenth (common practice)
        pao2 = alveolar_po2(paco2, fio2) - gradient - 60 * (fio2 - 0.21)
        if pao2 >= vignette.least_pao2:
            break
    pao2 = float(int(pao2 + 0.5))
    device = vignette.device
    if device == "air" and fio2 > 0.21:
        device = "nasal cannula" if fio2 < 0.35 else "simple mask"
    return Oxygen(pao2, float(int(sao2_severinghaus1979(pao2) + 0.5)), fio2, device)


def draw_vitals(
    vignette: Vignette, severity: CaseSeverity, oxygen: Oxygen, draw: SeededRandom
) -> Vitals:
    """Signs between the mild and the severe end of the history."""
    return Vitals(
        respiratory_rate=int(_sign(vignette.rr, severity, draw) + 0.5),
        pulse=int(_sign(vignette.pulse, severity, draw) + 0.5),
        systolic=int(_sign(vignette.systolic, severity, draw) + 0.5),
        temperature=round(_sign(vignette.temperature, severity, draw), 1),
        spo2=min(100, int(oxygen.sao2 + draw.between(-1, 1) + 0.5)),
        device=oxygen.device, fio2=oxygen.fio2,
        consciousness=MIND[vignette.mind[_MIND_AT[severity]]])


def draw_salts(plan: CaseType, vignette: Vignette, severity: CaseSeverity, printed: PrintedNumbers,
               draw: SeededRandom, settings: LabSettings) -> Salts:
    """Electrolytes whose anion gap tells the story of the history.

    A high gap rises with the fall of bicarbonate by the story's delta ratio, and chloride is what
    is left over; a normal gap lets chloride take the place of bicarbonate. Where lactate is the
    story it is a share of that rise.
    """
    sodium, albumin = float(draw.whole(*vignette.sodium)), float(draw.whole(*vignette.albumin))
    potassium = round(_sign(vignette.potassium, severity, draw), 1)
    lactate = _sign(vignette.lactate, severity, draw)
    usual, limits = settings.anion_gap_normal, settings.anion_gap
    if plan.hidden or vignette.gap == "high":
        rise = _rise(plan, vignette, printed, draw, settings)
        gap = usual + rise
        if vignette.lactate_share:
            lactate = _USUAL_LACTATE + rise * draw.between(*vignette.lactate_share[:2])
    else:
        inside = 0.2 * (limits.high - limits.low)
        gap = draw.between(limits.low + inside, limits.high - inside)
    gap -= 0.25 * (settings.albumin_normal - albumin)  # the corrected gap tells the story
    counted = potassium if settings.anion_gap_with_potassium else 0.0
    chloride = float(int(sodium + counted - printed.hco3 - gap + 0.5))
    return Salts(sodium, potassium, chloride, albumin, round(lactate, 1))


def _rise(plan: CaseType, vignette: Vignette, printed: PrintedNumbers, draw: SeededRandom,
          settings: LabSettings) -> float:
    """How far the added acid lifts the gap: enough to leave the range, as the story has it."""
    fall = max(settings.hco3_set - printed.hco3, 0.0)
    least = settings.anion_gap.high - settings.anion_gap_normal + _CLEARLY_HIGH
    if plan.hidden:
        return draw.between(max(least, fall * _WITH_ALKALOSIS[0]), fall * _WITH_ALKALOSIS[1])
    low, high = vignette.delta
    if fall < _FELL_ENOUGH:  # bicarbonate is still near its range: the gap alone tells
        return draw.between(least, least + 2)
    return draw.between(min(max(least, fall * low), fall * _ALONE), max(least, fall * high))


def _sign(ends: tuple[float, float], severity: CaseSeverity, draw: SeededRandom) -> float:
    return ends[0] + (ends[1] - ends[0]) * (_ALONG[severity] + draw.between(-0.15, 0.15))
