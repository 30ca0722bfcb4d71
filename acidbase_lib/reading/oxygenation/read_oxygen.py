"""The oxygen reading: grade, respiratory failure, A–a gradient, PaO2/FiO2, and the judgment."""
from __future__ import annotations

from dataclasses import asdict, dataclass
from typing import Any, Final, Literal

from acidbase_lib.physiology.oxygen_carriage import oxygen_content, sao2_severinghaus1979
from acidbase_lib.physiology.oxygen_grades import gradient_limit, pf_ratio, respiratory_failure_type
from acidbase_lib.physiology.oxygenation import alveolar_arterial_gradient, inspired_po2
from acidbase_lib.physiology.quantities import QUANTITIES, QuantityError
from acidbase_lib.reading.blood_gas import BloodGas
from acidbase_lib.reading.disorders import RangeState
from acidbase_lib.reading.judging.judged_values import ROOM_AIR
from acidbase_lib.reading.lab_settings import LabSettings
from acidbase_lib.reading.settings_in_force import in_force
from acidbase_lib.reading.whom.history import ADULT

from .judgment import OxygenJudgment, judge_oxygen

Grade = Literal["mild", "moderate", "severe"]
GRADES: Final = ((40.0, "severe"), (60.0, "moderate"))  # PaO2 below [mmHg]; common practice


@dataclass(frozen=True, slots=True)
class OxygenReading:
    """What the oxygen values show. Pressures in mmHg, saturation in %.

    `state` and `hypoxemia`, the grade or None, are PaO2 against its range alone; `failure` is
    "type 1", "type 2" or None; `gradient` and its limit stand for room air only. `target` is the
    range that guidelines teach for a person like this, never an order. `judgment` weighs all of
    them: whether there is enough oxygen is said there, and nowhere else.
    """

    pao2: float | None
    sao2: float | None
    fio2: float | None
    state: RangeState
    hypoxemia: Grade | None
    failure: Literal["type 1", "type 2"] | None
    gradient: float | None
    gradient_limit: float | None
    gradient_state: Literal["normal", "wide", "impossible"] | None
    pf_ratio: float | None
    sao2_on_curve: float | None
    saturation_fits: bool | None
    content: float | None  # [mL/L]
    target: tuple[float, float]
    hypercapnic_risk: bool
    judgment: OxygenJudgment

    @property
    def room_air(self) -> bool | None:
        """Whether the sample was taken on room air; None where FiO2 was not given."""
        return None if self.fio2 is None else self.fio2 <= ROOM_AIR

    def as_dict(self) -> dict[str, Any]:
        """Plain values, ready for JSON."""
        return {**asdict(self), "target": list(self.target), "judgment": self.judgment.as_dict()}


def read_oxygen(
    gas: BloodGas, settings: LabSettings | None = None
) -> OxygenReading | None:
    """The oxygen reading of an arterial sample; None without one, or without PaO2 and SaO2.

    Grades of hypoxemia are common practice in nursing texts; failure limits [BTS2017]_, target
    [BTSOxygen2017]_ by the rule of `oxygen_target`. The A–a gradient is compared
    with its limit for age only on room air ([CommonPractice]_).

    Examples
    --------
    >>> reading = read_oxygen(BloodGas(7.28, 66, 30, pao2=58, fio2=0.21, age=67))
    >>> reading.hypoxemia, reading.failure, reading.gradient_state
    ('moderate', 'type 2', 'normal')
    """
    settings = settings or in_force()
    if gas.specimen != "arterial" or (gas.pao2 is None and gas.sao2 is None):
        return None
    judgment = judge_oxygen(gas, settings)
    assert judgment is not None
    hypoxemia = failure = ratio = curve = content = None
    if gas.pao2 is not None:
        state = settings.pao2.state(gas.pao2)
        hypoxemia = _grade(gas.pao2, state)
        failure = respiratory_failure_type(
            gas.pao2, gas.paco2, pao2_limit=settings.failure_pao2,
            paco2_limit=settings.failure_paco2)
        curve = sao2_severinghaus1979(gas.pao2)
        if gas.fio2 is not None:
            ratio = pf_ratio(gas.pao2, gas.fio2)
        if gas.hemoglobin is not None:
            saturation = curve if gas.sao2 is None else gas.sao2
            if judgment.carries is not None:
                saturation = max(judgment.carries, QUANTITIES["sao2"].low)
            content = oxygen_content(gas.hemoglobin, saturation, gas.pao2)
    else:
        assert gas.sao2 is not None
        state = settings.sao2.state(gas.sao2)
    target, fits = judgment.target, judgment.fits
    gradient, limit, gradient_state = _gradient(gas)
    return OxygenReading(
        gas.pao2, gas.sao2, gas.fio2, state, hypoxemia, failure, gradient, limit, gradient_state,
        ratio, curve, None if fits is None else fits == "fits", content, target.pair,
        target.co2_risk, judgment)


def _grade(pao2: float, state: RangeState) -> Grade | None:
    if state != "low":
        return None
    for below, grade in GRADES:
        if pao2 < below:
            return grade  # type: ignore[return-value]
    return "mild"


def _gradient(
    gas: BloodGas,
) -> tuple[float | None, float | None, Literal["normal", "wide", "impossible"] | None]:
    if gas.pao2 is None or gas.fio2 is None:
        return None, None, None
    if gas.fio2 > ROOM_AIR:  # no gradient is read, but more than was breathed in cannot arrive
        inspired = inspired_po2(gas.fio2, barometric_pressure=gas.barometric_pressure)
        return None, None, "impossible" if gas.pao2 > inspired else None
    limit = None if gas.age is None or gas.age < ADULT else gradient_limit(gas.age)
    try:
        gradient = alveolar_arterial_gradient(
            gas.pao2, gas.paco2, gas.fio2, barometric_pressure=gas.barometric_pressure)
    except QuantityError:  # no oxygen would be left in the lung: not a sample on this air
        return None, limit, "impossible"
    if gradient < -10:  # beyond what rounding and the quotient of 0.8 can do
        return gradient, limit, "impossible"
    if limit is None:
        return gradient, None, None
    return gradient, limit, "wide" if gradient > limit else "normal"
