"""The early warning score NEWS2 (Royal College of Physicians 2017), parameter by parameter."""
from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from math import floor
from types import MappingProxyType

from .quantities import QuantityError, quoted, require_all

# Each row: (highest value of the band, points), the last band open above.
_Band = tuple[tuple[float, int], ...]
RESPIRATORY_RATE: _Band = ((8, 3), (11, 1), (20, 0), (24, 2), (float("inf"), 3))
SPO2_SCALE_1: _Band = ((91, 3), (93, 2), (95, 1), (float("inf"), 0))
SPO2_SCALE_2_AIR: _Band = ((83, 3), (85, 2), (87, 1), (float("inf"), 0))
SPO2_SCALE_2_OXYGEN: _Band = (
    (83, 3), (85, 2), (87, 1), (92, 0), (94, 1), (96, 2), (float("inf"), 3))
SYSTOLIC_PRESSURE: _Band = ((90, 3), (100, 2), (110, 1), (219, 0), (float("inf"), 3))
PULSE: _Band = ((40, 3), (50, 1), (90, 0), (110, 1), (130, 2), (float("inf"), 3))
TEMPERATURE: _Band = ((35.0, 3), (36.0, 1), (38.0, 0), (39.0, 1), (float("inf"), 2))
OXYGEN = 2  # points for extra oxygen, whatever the device
CONSCIOUSNESS: Mapping[str, int] = MappingProxyType(
    {"alert": 0, "confusion": 3, "voice": 3, "pain": 3, "unresponsive": 3})


@dataclass(frozen=True, slots=True)
class News2Response:
    """What the score asks of a ward: how often to observe, and who comes."""

    risk: str
    monitoring: str
    review: str


_EMERGENCY = News2Response(
    "high", "continuous", "emergency review by a team with critical care skills within 30 minutes")
_URGENT = News2Response("medium", "at least every hour", "urgent review within 1 hour")
_URGENT_WARD = News2Response("low-medium", "at least every hour", "urgent ward-based review")
_WARD = News2Response("low", "every 4 to 6 hours", "a registered nurse assesses the patient")
_ROUTINE = News2Response("low", "every 12 hours", "routine monitoring")


@dataclass(frozen=True, slots=True)
class News2Score:
    """The points of each parameter; the total and the response follow from them."""

    respiratory_rate: int
    spo2: int
    oxygen: int
    systolic_pressure: int
    pulse: int
    consciousness: int
    temperature: int

    @property
    def total(self) -> int:
        """The sum of the points, 0 to 20."""
        return (self.respiratory_rate + self.spo2 + self.oxygen + self.systolic_pressure
                + self.pulse + self.consciousness + self.temperature)

    @property
    def single_three(self) -> tuple[str, ...]:
        """The parameters that score 3 on their own."""
        return tuple(name for name in self.__slots__ if getattr(self, name) == 3)

    @property
    def response(self) -> News2Response:
        """The response band: by the total, or by one parameter that scores 3."""
        if self.total >= 7:
            return _EMERGENCY
        if self.total >= 5:
            return _URGENT
        if self.single_three:
            return _URGENT_WARD
        return _WARD if self.total else _ROUTINE


def news2(
    respiratory_rate: float, spo2: float, on_oxygen: bool, systolic_pressure: float, pulse: float,
    consciousness: str, temperature: float, *, spo2_scale: int = 1,
) -> News2Score:
    """National Early Warning Score 2 of an adult.

    Parameters
    ----------
    respiratory_rate : float
        Respiratory rate. [breaths/min]
    spo2 : float
        Oxygen saturation by pulse oximeter. [%]
    on_oxygen : bool
        Whether extra oxygen is given. [yes or no]
    systolic_pressure : float
        Systolic blood pressure. [mmHg]
    pulse : float
        Pulse rate. [beats/min]
    consciousness : str
        "alert", "confusion" (new), "voice", "pain" or "unresponsive"; one letter will do. [words]
    temperature : float
        Body temperature. [°C]
    spo2_scale : int
        1, or 2 where a clinician has confirmed hypercapnic respiratory failure. [name]

    Returns
    -------
    News2Score
        The points of each parameter. [points]

    Raises
    ------
    QuantityError
        If a value is missing, no number, outside its limits, or not one of the words.

    Notes
    -----
    [RCP2017]_, not for children or pregnancy. A value between two printed bands, as a
    temperature of 38.05, is rounded first to the step the chart is printed in. For teaching.

    Examples
    --------
    >>> score = news2(respiratory_rate=26, spo2=90, on_oxygen=True, systolic_pressure=105,
    ...               pulse=112, consciousness="alert", temperature=37.2)
    >>> score.total, score.response.risk
    (11, 'high')
    """
    require_all(respiratory_rate=respiratory_rate, spo2=spo2,
                systolic_pressure=systolic_pressure, pulse=pulse, temperature=temperature)
    if not isinstance(on_oxygen, bool):
        raise QuantityError(f"on oxygen must be True or False, not {quoted(on_oxygen)}",
                            quantity="on_oxygen", value=on_oxygen)
    return News2Score(
        respiratory_rate=_points(_half_up(respiratory_rate), RESPIRATORY_RATE),
        spo2=_points(_half_up(spo2), _saturation_band(spo2_scale, on_oxygen)),
        oxygen=OXYGEN if on_oxygen else 0,
        systolic_pressure=_points(_half_up(systolic_pressure), SYSTOLIC_PRESSURE),
        pulse=_points(_half_up(pulse), PULSE),
        consciousness=CONSCIOUSNESS[_word(consciousness)],
        temperature=_points(_half_up(temperature * 10) / 10, TEMPERATURE),
    )


def _half_up(value: float) -> int:
    return floor(value + 0.5)  # the built-in round takes 94.5 down to 94


def _points(value: float, bands: _Band) -> int:
    return next(points for highest, points in bands if value <= highest)


def _saturation_band(scale: object, on_oxygen: bool) -> _Band:
    if isinstance(scale, bool) or not isinstance(scale, int) or scale not in (1, 2):
        raise QuantityError(f"SpO2 scale must be 1 or 2, not {quoted(scale)}",
                            quantity="spo2_scale", value=scale)
    if scale == 1:
        return SPO2_SCALE_1
    return SPO2_SCALE_2_OXYGEN if on_oxygen else SPO2_SCALE_2_AIR


def _word(given: object) -> str:
    said = given.strip().lower() if isinstance(given, str) else ""
    for word in CONSCIOUSNESS:
        if said in (word, word[0]):
            return word
    raise QuantityError(
        f"consciousness must be one of {', '.join(CONSCIOUSNESS)}, not {quoted(given)}",
        quantity="consciousness", value=given)
