"""Is there enough oxygen? Saturation, PaO2, FiO2, the target and the hemoglobin, weighed as one."""
from __future__ import annotations

from dataclasses import asdict, dataclass
from typing import Any, Final, Literal

from acidbase_lib.physiology.acclimatization import HIGH
from acidbase_lib.physiology.oxygen_carriage import (
    oxyhemoglobin_fraction,
    pao2_at_ph_7_40_severinghaus1979,
    sao2_severinghaus1979,
)
from acidbase_lib.physiology.quantities import QUANTITIES
from acidbase_lib.reading.blood_gas import BloodGas
from acidbase_lib.reading.judging.judged_values import ROOM_AIR, JudgedValue, judge, value_of
from acidbase_lib.reading.lab_settings import LabSettings

from .target import OxygenTarget, history_of, oxygen_target

#: What the oxygen comes to, the worst first.
OxygenVerdict = Literal["bound hemoglobin", "does not fit", "low", "little hemoglobin",
                        "above target", "in target", "not known"]
Level = Literal["critical", "a concern", "none"]
Fit = Literal["fits", "below", "above"]
VERDICTS: Final[tuple[OxygenVerdict, ...]] = (
    "bound hemoglobin", "does not fit", "low", "little hemoglobin", "above target", "in target",
    "not known")

#: A measured saturation fits its PaO2 within so many points beyond the curve, after PaO2 itself was
#: moved by so many mmHg: of 224 arterial gases of the MIMIC-III demo 2 lie outside, both at 25
#: points or more ([MIMIC2019]).
POINTS, PRESSURE = 4.0, 4.0


@dataclass(frozen=True, slots=True)
class OxygenJudgment:
    """One answer from all that bears on oxygen. For teaching, not for care.

    `saturation` is the measured one, or the one on the curve where none was given [%]; `carries`
    the share of all hemoglobin that carries oxygen, where bound hemoglobin was measured [%];
    `curve` the lowest and highest saturation that this PaO2 allows [%], with `fits` telling on
    which side the measured one lies. `pao2_under` says that PaO2 is below the range, where that is
    this person's; `too_much` that oxygen lifts someone at risk above the target; `added` whether
    oxygen was given, None where that is not known. `bound` holds carboxy- and methemoglobin beyond
    their limits, `hemoglobin` and `ratio` what was judged of those. `target_applies` is False
    where no saturation can be trusted: then no target is told. `usual_here` says that healthy
    people who live at this altitude have such a low saturation and PaO2 too, on room air.
    """

    verdict: OxygenVerdict
    level: Level
    target: OxygenTarget
    target_applies: bool
    saturation: float | None
    measured: bool
    carries: float | None
    curve: tuple[float, float] | None
    fits: Fit | None
    below_target: bool
    pao2_under: bool
    too_much: bool
    added: bool | None
    bound: tuple[JudgedValue, ...]
    hemoglobin: JudgedValue | None
    ratio: JudgedValue | None
    usual_here: bool = False

    @property
    def enough(self) -> bool:
        """Whether nothing here speaks against enough oxygen."""
        return self.verdict in ("in target", "above target") and self.level == "none"

    def as_dict(self) -> dict[str, Any]:
        """Plain values, ready for JSON."""
        return asdict(self) | {"curve": None if self.curve is None else list(self.curve),
                               "bound": [asdict(row) for row in self.bound]}


def judge_oxygen(gas: BloodGas, settings: LabSettings) -> OxygenJudgment | None:
    """Weigh everything that bears on oxygen; None where nothing was given.

    Of a venous or capillary sample only the hemoglobin is judged: what binds it is the same there
    ([Touger1995]_). A low measured saturation wins over any PaO2; one far from what PaO2 gives is
    an alarm of its own ([BTSOxygen2017]_, [Severinghaus1979]_).
    """
    arterial = gas.specimen == "arterial"
    pao2, sao2 = (gas.pao2, gas.sao2) if arterial else (None, None)
    bound = tuple(found for key in ("cohb", "methb") if (found := _judged(key, gas, settings))
                  is not None and found.verdict in ("critical", "a concern"))
    hemoglobin = _judged("hemoglobin", gas, settings)
    if pao2 is None and sao2 is None and not bound and hemoglobin is None:
        return None
    target = oxygen_target(history_of(gas), gas, settings=settings)
    curve = None if pao2 is None else saturation_band(pao2, gas.ph)
    fits = fit_of(sao2, curve, (gas.cohb or 0) + (gas.methb or 0))
    saturation = sao2 if sao2 is not None or pao2 is None else sao2_severinghaus1979(pao2)
    low = saturation is not None and saturation < target.low
    under = pao2 is not None and not target.co2_risk and settings.pao2.state(pao2) == "low"
    ratio = _judged("pf_ratio", gas, settings) if arterial else None
    grave = any(row.verdict == "critical" for row in bound)
    little = hemoglobin is not None and hemoglobin.side == "below" and (
        hemoglobin.verdict in ("critical", "a concern"))
    verdict: OxygenVerdict = (
        "bound hemoglobin" if grave else "does not fit" if fits in ("below", "above")
        else "low" if low else
        "little hemoglobin" if little else "bound hemoglobin" if bound else
        "not known" if saturation is None else
        "above target" if saturation > target.high else "in target")
    added = None if gas.fio2 is None else gas.fio2 > ROOM_AIR
    too_much = verdict == "above target" and target.co2_risk and added is not False
    level = _level(gas, settings, verdict, too_much, fits == "below" and low,
                   (ratio, hemoglobin, *bound))
    return OxygenJudgment(
        verdict, "a concern" if level == "none" and under else level,
        target, not grave and fits not in ("below", "above"), saturation,
        sao2 is not None, _carried(gas, sao2, curve), curve, fits, low, under,
        too_much, added, bound, hemoglobin, ratio,
        verdict == "low" and added is False and _as_in_the_healthy(gas, settings, saturation))


def saturation_band(pao2: float, ph: float) -> tuple[float, float]:
    """The saturations that this PaO2 allows: the curve, its Bohr shift, the tolerance. [%]

    Examples
    --------
    >>> [round(end) for end in saturation_band(92, 7.42)]
    [93, 100]
    """
    row = QUANTITIES["pao2"]

    def curve(pressure: float) -> tuple[float, float]:
        here = min(max(pressure, row.low), row.high)
        moved = min(max(pao2_at_ph_7_40_severinghaus1979(here, ph), row.low), row.high)
        return sao2_severinghaus1979(here), sao2_severinghaus1979(moved)

    return min(curve(pao2 - PRESSURE)) - POINTS, min(max(curve(pao2 + PRESSURE)) + POINTS, 100.0)


def fit_of(sao2: float | None, curve: tuple[float, float] | None, bound: float
           ) -> Fit | None:
    """Whether a measured saturation fits; what is bound may have been left out of it or not."""
    if sao2 is None or curve is None:
        return None
    if sao2 > curve[1]:
        return "above"
    of_all = curve[0] * (100 - bound) / 100  # the lowest share of all hemoglobin
    return "below" if sao2 < min(curve[0], of_all) else "fits"


def _as_in_the_healthy(gas: BloodGas, settings: LabSettings, saturation: float | None) -> bool:
    """Whether healthy people at this altitude have such oxygen, and nothing else speaks."""
    return (saturation is not None and gas.altitude is not None and gas.altitude >= HIGH
            and gas.trimester is None and not history_of(gas)
            and saturation >= settings.sao2.low and settings.paco2.state(gas.paco2) != "high"
            and (gas.pao2 is None or settings.pao2.state(gas.pao2) != "low"))


def _judged(key: str, gas: BloodGas, settings: LabSettings) -> JudgedValue | None:
    value = value_of(gas, key)
    return None if value is None else judge(key, value, gas, settings)


def _level(gas: BloodGas, settings: LabSettings, verdict: OxygenVerdict, too_much: bool,
           alarm: bool, others: tuple[JudgedValue | None, ...]) -> Level:
    values = [row for row in others if row is not None]
    if gas.specimen == "arterial":
        values += [row for key in ("pao2", "sao2") if (row := _judged(key, gas, settings))]
    if any(row.verdict == "critical" for row in values) or alarm:
        return "critical"
    failing = gas.specimen == "arterial" and gas.pao2 is not None and (
        gas.pao2 < settings.failure_pao2)
    if (any(row.verdict == "a concern" for row in values) or failing or too_much
            or verdict in ("bound hemoglobin", "does not fit", "low", "little hemoglobin")):
        return "a concern"
    return "none"


def _carried(gas: BloodGas, sao2: float | None, curve: tuple[float, float] | None
             ) -> float | None:
    """The share of all hemoglobin that carries oxygen, where what binds it was measured."""
    if gas.cohb is None and gas.methb is None:
        return None
    cohb, methb = gas.cohb or 0.0, gas.methb or 0.0
    if sao2 is None:
        return None
    of_all = sao2 + cohb + methb <= 100 and (curve is None or sao2 < curve[0])
    return sao2 if of_all else oxyhemoglobin_fraction(sao2, cohb, methb)
