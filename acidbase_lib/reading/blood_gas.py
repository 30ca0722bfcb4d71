"""A blood gas: the numbers of one sample, checked once, in mmHg and mmol/L."""
from __future__ import annotations

from dataclasses import KW_ONLY, dataclass, field, fields
from typing import Any, Final, Literal

from acidbase_lib.physiology.henderson_hasselbalch import hco3_of
from acidbase_lib.physiology.oxygenation import SEA_LEVEL, barometric_pressure_of
from acidbase_lib.physiology.quantities import QUANTITIES, QuantityError, plain, quoted, require
from acidbase_lib.physiology.units import kpa_to_mmhg, mmhg_to_kpa

from .wording import label_of, with_unit

Specimen = Literal["arterial", "venous", "capillary"]
SPECIMENS: Final = ("arterial", "venous", "capillary")
PRESSURE_UNITS: Final = ("mmHg", "kPa")
#: What the history may say, as yes or no.
HISTORY_FLAGS: Final = ("chronic_lung_disease", "asthma", "opioid")
YOUNGEST_PREGNANT: Final = 9  # [years]

_MEASURED: Final = (
    "ph", "paco2", "hco3", "pao2", "fio2", "sao2", "sodium", "potassium", "chloride", "albumin",
    "lactate", "glucose", "hemoglobin", "age", "trimester", "altitude", "barometric_pressure",
    "ionized_calcium", "cohb", "methb",
)


@dataclass(frozen=True, slots=True)
class BloodGas:
    """The numbers of one blood sample, validated once.

    Parameters
    ----------
    ph : float
        pH. []
    paco2 : float
        Carbon dioxide tension. [mmHg]
    hco3 : float, optional
        Bicarbonate; derived from pH and PaCO2 when left out. [mmol/L]
    pao2 : float, optional
        Oxygen tension. [mmHg]
    fio2 : float, optional
        Inspired oxygen fraction, 0.21 for room air. []
    sao2 : float, optional
        Oxygen saturation. [%]
    sodium, potassium, chloride : float, optional
        Plasma electrolytes. [mmol/L]
    albumin, hemoglobin : float, optional
        Plasma albumin and blood hemoglobin. [g/L]
    lactate, glucose, ionized_calcium : float, optional
        Blood lactate, glucose and ionized calcium. [mmol/L]
    cohb, methb : float, optional
        Carboxyhemoglobin and methemoglobin by co-oximetry, of all hemoglobin. [%]
    age : float, optional
        Age of the patient, `history.years_of("3d")` for three days. [years]
    trimester : float, optional
        Trimester of pregnancy, 1, 2 or 3; `history.trimester_of(34)` for a week. []
    altitude : float, optional
        Height above sea level at which the patient lives. [m]
    chronic_lung_disease : bool
        True when the history says the PaCO2 may be high for weeks; False says nothing.
    asthma, opioid : bool
        True when the history says so: neither makes PaCO2 high for weeks. False says nothing.
    barometric_pressure : float
        Pressure where the patient breathes; left at 760 with an altitude given, it is the
        standard pressure of that altitude. [mmHg]
    specimen : str
        "arterial", "venous" or "capillary".
    pressure_unit : str
        "mmHg" or "kPa": the unit that came in, which a reading echoes. The numbers stay in mmHg.

    Raises
    ------
    QuantityError
        If a value is no number or outside its credible limits, sodium is not above chloride,
        or the numbers cannot be in one sample. Three numbers that do not fit each other are
        not refused: `interpret` flags them.

    Examples
    --------
    >>> BloodGas(7.28, 66, 30).sentence()
    'pH 7.28, PaCO2 66 mmHg, bicarbonate 30 mmol/L'
    >>> BloodGas(7.28, 66).hco3_derived
    True
    """

    ph: float
    paco2: float
    hco3: float = None  # type: ignore[assignment]  # never None once built
    _: KW_ONLY
    pao2: float | None = None
    fio2: float | None = None
    sao2: float | None = None
    sodium: float | None = None
    potassium: float | None = None
    chloride: float | None = None
    albumin: float | None = None
    lactate: float | None = None
    glucose: float | None = None
    hemoglobin: float | None = None
    ionized_calcium: float | None = None
    cohb: float | None = None
    methb: float | None = None
    age: float | None = None
    trimester: float | None = None
    altitude: float | None = None
    chronic_lung_disease: bool = False
    asthma: bool = False
    opioid: bool = False
    barometric_pressure: float = 760.0
    specimen: Specimen = "arterial"
    pressure_unit: str = field(default="mmHg", compare=False)
    hco3_derived: bool = field(init=False, default=False)

    def __post_init__(self) -> None:
        put = object.__setattr__
        given = {key: value for key in _MEASURED if (value := getattr(self, key)) is not None}
        _check(self, given)
        for key, value in given.items():
            if type(value) is not float:
                put(self, key, float(value))
        if self.hco3 is None:
            put(self, "hco3", _derived_hco3(self.ph, self.paco2))
            put(self, "hco3_derived", True)
        for name in HISTORY_FLAGS:
            if (said := getattr(self, name)) is not False:
                put(self, name, _truth(name, said))
        if self.specimen != "arterial":
            put(self, "specimen", _specimen(self.specimen))
        if self.trimester is not None:
            _check_pregnancy(self.trimester, self.age)
        if self.altitude is not None and self.barometric_pressure == SEA_LEVEL:
            put(self, "barometric_pressure", barometric_pressure_of(self.altitude))
        if self.pressure_unit not in PRESSURE_UNITS:
            raise QuantityError(f"pressure_unit is mmHg or kPa, not {quoted(self.pressure_unit)}",
                                quantity="pressure_unit", value=self.pressure_unit)
        if self.sodium is not None and self.chloride is not None:
            _check_electrolytes(self.sodium, self.chloride, self.hco3)
        if self.cohb is not None and self.methb is not None and self.cohb + self.methb > 100:
            _refuse_bound(self.cohb, self.methb)

    @classmethod
    def from_kpa(
        cls, ph: float, paco2: float, hco3: float | None = None, *, pao2: float | None = None,
        barometric_pressure: float | None = None, **others: Any,
    ) -> BloodGas:
        """A gas whose pressures are in kPa; everything else as in `BloodGas`.

        Parameters
        ----------
        ph : float
            pH. []
        paco2, pao2 : float
            Carbon dioxide and oxygen tension. [kPa]
        hco3 : float, optional
            Bicarbonate. [mmol/L]
        barometric_pressure : float, optional
            Pressure where the patient breathes, 101.3 at sea level. [kPa]
        **others : float
            As in `BloodGas`.

        Raises
        ------
        QuantityError
            As `BloodGas`, with the limits in kPa.

        Examples
        --------
        >>> round(BloodGas.from_kpa(7.28, 8.8, 30).paco2)
        66
        """
        pressures = {"paco2": paco2, "pao2": pao2, "barometric_pressure": barometric_pressure}
        mmhg = {key: _from_kpa(key, value) for key, value in pressures.items()
                if value is not None or key == "paco2"}
        others.setdefault("pressure_unit", "kPa")
        return cls(ph=ph, hco3=hco3, **mmhg, **others)  # type: ignore[arg-type]

    def sentence(self) -> str:
        """The three numbers in one line, as a person would read them out."""
        return ", ".join(f"{label_of(key)} {with_unit(key, getattr(self, key))}"
                         for key in ("ph", "paco2", "hco3"))

    def as_dict(self) -> dict[str, Any]:
        """What was given, as plain values ready for JSON; what is missing is None."""
        return {row.name: getattr(self, row.name) for row in fields(self)}


def _check(gas: BloodGas, given: dict[str, Any]) -> None:
    """Limits first; the hint for two swapped values is worked out only when one is refused."""
    for key in ("ph", "paco2"):
        if key not in given:
            raise QuantityError(f"{QUANTITIES[key].label} is missing: a blood gas needs pH and "
                                f"PaCO2, within {QUANTITIES[key].limits}", quantity=key)
    try:
        require(**given)
    except QuantityError as error:
        if hint := _swapped(given):
            raise QuantityError(f"{error}; {hint}", quantity=error.quantity,
                                value=error.value) from None
        raise


def _swapped(given: dict[str, Any]) -> str:
    def fits(value: object, key: str) -> bool:
        try:
            require(**{key: value})
        except QuantityError:
            return False
        return value is not None

    for one, other in (("ph", "paco2"), ("ph", "hco3"), ("pao2", "sao2"),
                       ("sodium", "potassium"), ("potassium", "chloride"), ("sao2", "cohb")):
        values = given.get(one), given.get(other)
        if fits(values[0], other) and fits(values[1], one) and not (
                fits(values[0], one) and fits(values[1], other)):
            return f"are {QUANTITIES[one].label} and {QUANTITIES[other].label} swapped?"
    return ""


def _derived_hco3(ph: float, paco2: float) -> float:
    hco3, row = hco3_of(ph, paco2), QUANTITIES["hco3"]
    if not row.low <= hco3 <= row.high:
        raise QuantityError(
            f"pH = {plain(ph)} with PaCO2 = {plain(paco2)} mmHg would need a bicarbonate of "
            f"{hco3:.3g} mmol/L, outside {row.limits} (is one of the two misread?)",
            quantity="hco3", value=hco3)
    return hco3


def _check_electrolytes(sodium: float, chloride: float, hco3: float) -> None:
    if sodium <= chloride:
        raise QuantityError(
            f"sodium = {plain(sodium)} mmol/L is not above chloride = {plain(chloride)} mmol/L "
            "(are the two swapped?)", quantity="sodium", value=sodium)
    gap, row = sodium - chloride - hco3, QUANTITIES["gap"]
    low, high = row.low + 10, row.high - 23  # potassium and a low albumin must still fit inside
    if not low <= gap <= high:
        raise QuantityError(
            f"sodium {plain(sodium)}, chloride {plain(chloride)} and bicarbonate {hco3:.3g} mmol/L "
            f"leave an anion gap of {gap:.3g} mmol/L, outside {plain(low)} to {plain(high)} "
            "(are the values in the right places, of one sample?)",
            quantity="sodium", value=sodium)


def _check_pregnancy(trimester: float, age: float | None) -> None:
    if trimester not in (1.0, 2.0, 3.0):
        raise QuantityError(f"trimester = {plain(trimester)} is not one of 1, 2, 3 (a week of "
                            "pregnancy? Use history.trimester_of)", quantity="trimester",
                            value=trimester)
    if age is not None and age < YOUNGEST_PREGNANT:
        raise QuantityError(f"age = {age:.3g} years does not go with a pregnancy: below "
                            f"{YOUNGEST_PREGNANT} years (is it the age of the newborn?)",
                            quantity="age", value=age)


def _refuse_bound(cohb: float, methb: float) -> None:
    raise QuantityError(
        f"carboxyhemoglobin {plain(cohb)} % and methemoglobin {plain(methb)} % are together more "
        "than 100 % of the hemoglobin (is one of the two misread?)", quantity="cohb", value=cohb)


def _truth(name: str, value: object) -> bool:
    if isinstance(value, bool) or type(value).__name__ in {"bool_", "bool"}:
        return bool(value)
    raise QuantityError(f"{name} is True or False, not {quoted(value)}", quantity=name,
                        value=value)


def _specimen(value: object) -> Specimen:
    word = value.strip().casefold() if isinstance(value, str) else value
    for specimen in SPECIMENS:
        if word == specimen:
            return specimen
    raise QuantityError(f"specimen is one of {', '.join(SPECIMENS)}, not {quoted(value)}",
                        quantity="specimen", value=value)


def _from_kpa(key: str, value: Any) -> float:
    """A pressure in kPa becomes mmHg; a value that is none is refused with its limits in kPa."""
    row = QUANTITIES[key]
    try:
        mmhg = kpa_to_mmhg(value)
        require(**{key: mmhg})
    except QuantityError:
        low, high = mmhg_to_kpa(row.low), mmhg_to_kpa(row.high)
        in_mmhg = isinstance(value, int | float) and high < value <= row.high
        slip = "a value this large is in mmHg" if in_mmhg else "is it in kPa?"
        raise QuantityError(f"{row.label} = {quoted(value)} kPa is outside "
                            f"{low:.1f}-{high:.1f} kPa ({slip})", quantity=key,
                            value=value) from None
    return mmhg
