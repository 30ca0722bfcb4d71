"""Every quantity the library takes: its label, unit, limits and likely slip, and their check."""
from __future__ import annotations

import math
import reprlib
from collections.abc import Mapping
from dataclasses import dataclass
from numbers import Real
from types import MappingProxyType


@dataclass(frozen=True, slots=True)
class Quantity:
    """One row of the table: what a number is called, and between which limits it is believable."""

    label: str
    unit: str
    low: float
    high: float
    slip: str = ""  # the likely slip when a value lies outside the limits
    slip_above: str = ""  # the likelier one when it lies above them, where that differs

    @property
    def limits(self) -> str:
        """The limits in words, with the unit: ``8-150 mmHg``."""
        between = f"{plain(self.low)}-{plain(self.high)}"
        if self.low < 0:
            between = f"{plain(self.low)} to {plain(self.high)}"
        return f"{between} {self.unit}".strip()


class QuantityError(ValueError):
    """A value the library refuses; `quantity` is its key, `value` what was given."""

    def __init__(self, message: str, *, quantity: str = "", value: object = None) -> None:
        super().__init__(message)
        self.quantity = quantity
        self.value = value

    def __reduce__(self) -> tuple[object, ...]:
        return _rebuild, (str(self), self.quantity, self.value)


def _rebuild(message: str, quantity: str, value: object) -> QuantityError:
    return QuantityError(message, quantity=quantity, value=value)


@dataclass(frozen=True, slots=True)
class Expected:
    """A prediction that carries its tolerance.

    `reach` holds the lowest and the highest published center, where sources differ;
    the tolerance is added outside it.
    """

    center: float
    tolerance: float
    reach: tuple[float, float] | None = None

    @property
    def low(self) -> float:
        """The lowest value that still counts as expected."""
        return (self.reach[0] if self.reach else self.center) - self.tolerance

    @property
    def high(self) -> float:
        """The highest value that still counts as expected."""
        return (self.reach[1] if self.reach else self.center) + self.tolerance

    def contains(self, value: float) -> bool:
        """Whether `value` is as expected, edges included."""
        slack = 1e-9  # so that a binary fraction never decides an edge: 1.5 * 15.4 + 8 + 2
        return self.low - slack <= value <= self.high + slack


_IN_KPA = "a value near 5 is in kPa: 1 kPa is 7.5 mmHg"
_KPA_TWICE = "was a value in mmHg converted again as if it were in kPa?"
_ABOVE_150 = (f"{_KPA_TWICE} If it is real, this kit cannot read it, and the team must know "
              "at once")
_SATURATION = "a saturation is a percent here: write 97, not 0.97"
_OVER_100 = "a saturation cannot be above 100 %: is it an oxygen pressure?"
_SHARE_OVER = "it is a percent of all hemoglobin: was a decimal point lost?"
_SWAPPED = "are sodium, potassium and chloride in the right places?"

QUANTITIES: Mapping[str, Quantity] = MappingProxyType({
    # the gas
    "ph": Quantity("pH", "", 6.5, 8.0, "a lost decimal point? A value near 40 is [H+] in nmol/L"),
    "paco2": Quantity("PaCO2", "mmHg", 8, 150, _IN_KPA, _ABOVE_150),
    "hco3": Quantity("HCO3", "mmol/L", 1, 80, "are bicarbonate and PaCO2 in the right places?"),
    "hydrogen_ion": Quantity("[H+]", "nmol/L", 10, 320, "a value near 7 is a pH"),
    "pao2": Quantity("PaO2", "mmHg", 15, 700, _IN_KPA.replace("near 5", "near 10"), _KPA_TWICE),
    "fio2": Quantity("FiO2", "", 0.2, 1.0, "room air is 0.21",
                     "a percent? Write 0.21 for 21 %"),
    "sao2": Quantity("SaO2", "%", 10, 100, _SATURATION, _OVER_100),
    "paco2_set": Quantity("PaCO2 set-point", "mmHg", 15, 60, _IN_KPA),
    "hco3_set": Quantity("HCO3 set-point", "mmol/L", 10, 40),
    "base_excess": Quantity("base excess", "mmol/L", -60, 60),
    "total_co2": Quantity("total CO2", "mmol/L", 1, 85),
    # electrolytes and the rest of the panel
    "sodium": Quantity("sodium", "mmol/L", 90, 200, _SWAPPED),
    "potassium": Quantity("potassium", "mmol/L", 1, 12, _SWAPPED),
    "chloride": Quantity("chloride", "mmol/L", 40, 160, _SWAPPED),
    "albumin": Quantity("albumin", "g/L", 8, 80,
                        "a value near 4 is in g/dL: multiply by 10"),
    "lactate": Quantity("lactate", "mmol/L", 0, 40, "a value in mg/dL? Divide by 9"),
    "glucose": Quantity("glucose", "mmol/L", 0.3, 120,
                        "a value in mg/dL? Divide by 18"),
    "urea": Quantity("urea", "mmol/L", 0.3, 120,
                     "urea nitrogen in mg/dL? Divide by 2.8"),
    "ethanol": Quantity("ethanol", "mmol/L", 0, 200, "a value in mg/dL? Divide by 4.6"),
    "osmolality": Quantity("measured osmolality", "mOsm/kg", 150, 600),
    "hemoglobin": Quantity("hemoglobin", "g/L", 25, 250,
                           "a value near 14 is in g/dL: multiply by 10"),
    "ionized_calcium": Quantity(
        "ionized calcium", "mmol/L", 0.2, 3.5, "a concentration is not below this in life",
        "a value near 4.8 is in mg/dL: divide by 4; is it the total calcium?"),
    "cohb": Quantity("carboxyhemoglobin", "%", 0, 90, "a share of the hemoglobin is not negative",
                     _SHARE_OVER),
    "methb": Quantity("methemoglobin", "%", 0, 90, "a share of the hemoglobin is not negative",
                      _SHARE_OVER),
    "gap": Quantity("anion gap", "mmol/L", -20, 80),
    "gap_normal": Quantity("normal anion gap", "mmol/L", 0, 25),
    "hco3_normal": Quantity("normal HCO3", "mmol/L", 10, 40),
    "albumin_normal": Quantity("normal albumin", "g/L", 35, 50, "a value near 4 is in g/dL"),
    "ratio": Quantity("delta ratio", "", -100, 1000),
    # the person and the place
    "age": Quantity("age", "years", 0, 120, "age is in years", "an age in months? Divide by 12"),
    "trimester": Quantity("trimester", "", 1, 3, "1, 2 or 3",
                          "a week of pregnancy? From week 28 on it is 3, from week 14 on 2"),
    "pregnancy_week": Quantity("week of pregnancy", "weeks", 4, 44,
                               "weeks since the last period", "days? Divide by 7"),
    "temperature": Quantity("temperature", "°C", 15, 45, "is it the right device?",
                            "a value near 98 is in °F: subtract 32, divide by 1.8"),
    "barometric_pressure": Quantity("barometric pressure", "mmHg", 230, 820,
                                    "a value near 101 is in kPa: multiply by 7.5",
                                    "a value near 1013 is in hPa: multiply by 0.75"),
    "altitude": Quantity("altitude", "m", -450, 9000, "meters above sea level",
                         "a value in feet? Divide by 3.28"),
    "respiratory_quotient": Quantity("respiratory quotient", "", 0.6, 1.3, "usually 0.8"),
    "peep": Quantity("PEEP", "cmH2O", 0, 40),
    "gradient": Quantity("A-a gradient", "mmHg", -50, 750),
    "pf_ratio": Quantity("PaO2/FiO2", "mmHg", 15, 3500),
    "pao2_limit": Quantity("PaO2 limit", "mmHg", 40, 80, _IN_KPA),
    "paco2_limit": Quantity("PaCO2 limit", "mmHg", 40, 60, _IN_KPA),
    # vital signs
    "respiratory_rate": Quantity("respiratory rate", "breaths/min", 0, 100),
    "spo2": Quantity("SpO2", "%", 10, 100, _SATURATION, _OVER_100),
    "systolic_pressure": Quantity("systolic blood pressure", "mmHg", 0, 320,
                                  "a value in kPa? 1 kPa is 7.5 mmHg"),
    "pulse": Quantity("pulse", "beats/min", 0, 350),
    "score": Quantity("NEWS2 score", "points", 0, 20),
    # what the unit converters take
    "pressure_kpa": Quantity("pressure", "kPa", 0, 200, "a pressure is not negative",
                             "is it in mmHg already?"),
    "pressure_mmhg": Quantity("pressure", "mmHg", 0, 1500, "a pressure is not negative"),
    "per_dl": Quantity("concentration", "g/dL", 0, 30, "a concentration is not negative",
                       "is it in g/L already?"),
    "per_l": Quantity("concentration", "g/L", 0, 300, "a concentration is not negative"),
    "glucose_mg_dl": Quantity("glucose", "mg/dL", 5, 2200, "is it in mmol/L already?"),
    "bun_mg_dl": Quantity("blood urea nitrogen", "mg/dL", 1, 340, "a value is never 0"),
    "temperature_f": Quantity("temperature", "°F", 59, 113, "is it in °C already?"),
    "percent": Quantity("percent", "%", 0, 100, "a percent lies between 0 and 100"),
    "fraction": Quantity("fraction", "", 0, 1, "a fraction is not negative", "is it a percent?"),
})


def require(**values: object) -> None:
    """Refuse any value that is no number or lies outside its limits; None is skipped.

    Parameters
    ----------
    **values : float or None
        Values by the key of their quantity. [unit of the row]

    Raises
    ------
    QuantityError
        If a value is text, a bool, not finite, or outside its limits.

    Examples
    --------
    >>> require(ph=7.4, paco2=40, pao2=None)
    >>> require(paco2=5.3)
    Traceback (most recent call last):
    ...
    acidbase_lib.physiology.quantities.QuantityError: PaCO2 = 5.3 mmHg is outside 8-150 mmHg \
(a value near 5 is in kPa: 1 kPa is 7.5 mmHg)
    """
    for name, value in values.items():
        if value is not None:
            _check(name, value)


def require_all(**values: object) -> None:
    """As `require`, and refuse a missing value (None) as well.

    Parameters
    ----------
    **values : float
        Values by the key of their quantity. [unit of the row]

    Raises
    ------
    QuantityError
        If a value is missing, text, a bool, not finite, or outside its limits.

    Examples
    --------
    >>> require_all(ph=7.4, paco2=40)
    """
    for name, value in values.items():
        if value is None:
            row = QUANTITIES[name]
            raise QuantityError(f"{row.label} is missing: give a number within {row.limits}",
                                quantity=name, value=None)
        _check(name, value)


def _check(name: str, value: object) -> None:
    row = QUANTITIES[name]
    if type(value) in (float, int) and row.low <= value <= row.high:  # type: ignore[operator]
        return
    if isinstance(value, bool) or not isinstance(value, Real):
        raise QuantityError(f"{row.label} must be a number within {row.limits}, "
                            f"not {quoted(value)}", quantity=name, value=value)
    if not -math.inf < value < math.inf:  # type: ignore[operator]  # NaN fails both
        raise QuantityError(f"{row.label} must be a finite number within {row.limits}, "
                            f"not {plain(value)}", quantity=name, value=value)
    if not row.low <= value <= row.high:  # type: ignore[operator]
        slip = row.slip_above if value > row.high and row.slip_above else row.slip  # type: ignore[operator]
        given = f"{row.label} = {plain(value)} {row.unit}".rstrip()
        hint = f" ({slip})" if slip else ""
        raise QuantityError(f"{given} is outside {row.limits}{hint}", quantity=name, value=value)


def quoted(value: object) -> str:
    """A refused value as it may stand in a message: short, whatever it is."""
    try:
        return reprlib.repr(value)
    except ValueError:  # Python will not write out an integer of more than 4300 digits
        return f"a {type(value).__name__} too long to show"


def plain(value: Real | float) -> str:
    """A number as a person would write it, whatever its size or type."""
    try:
        return repr(float(value)).removesuffix(".0")
    except OverflowError:
        return "a number of more than 300 digits"
