"""Whom the ranges fit: pregnancy, altitude and the very young get their own, or no judgment."""
from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from functools import lru_cache
from types import MappingProxyType
from typing import Any, Final

from acidbase_lib.physiology.acclimatization import HIGH, hco3_at_altitude, paco2_at_altitude
from acidbase_lib.physiology.oxygen_carriage import sao2_severinghaus1979
from acidbase_lib.physiology.oxygenation import alveolar_po2, barometric_pressure_of
from acidbase_lib.reading.blood_gas import BloodGas
from acidbase_lib.reading.lab_settings import PREGNANCY_SETTINGS, LabSettings
from acidbase_lib.reading.value_range import Range, ends_of

from .history import FOUR_WEEKS, ONE_DAY, TWO_YEARS

#: Above this the published values end; in pregnancy they end sooner. [m]
HIGHEST: Final = 4500.0
HIGHEST_PREGNANT: Final = 2500.0

#: Age bands; adult ranges serve from two years on.
GROWN, INFANT, NEWBORN, FIRST_DAY = range(4)

TRIMESTERS: Final = ("first", "second", "third")

FIRST_DAY_WHY: Final = (
    "in the first day of life the values change by the hour: a quarter of an hour after birth "
    "pH 7.30 and a PCO2 of 53 mmHg are healthy, so ranges of your own unit are needed")
TOO_HIGH_WHY: Final = (
    f"above {HIGHEST:,.0f} m there are too few published values to judge by")
PREGNANT_HIGH_WHY: Final = (
    f"in pregnancy above {HIGHEST_PREGNANT:,.0f} m there are too few published values to judge by")
YOUNG_HIGH_WHY: Final = (
    f"below two years of age and above {HIGH:,.0f} m there are too few published values to judge "
    "by")

_EARLY: Final[Mapping[str, Any]] = MappingProxyType({
    "ph": Range(7.38, 7.46), "midline": 7.42, "paco2": Range(27, 36), "hco3": Range(18, 24),
    "pao2": Range(95, 110), "paco2_set": 32.0, "hco3_set": 21.0, "winters_below": 18.0,
    "venous_ph": Range(7.33, 7.44), "venous_paco2": Range(30, 49), "venous_hco3": Range(18, 27)})
_YOUNG: Final[Mapping[int, Mapping[str, Any]]] = MappingProxyType({
    NEWBORN: MappingProxyType({
        "ph": Range(7.31, 7.47), "midline": 7.39, "paco2": Range(29, 48), "hco3": Range(18, 25),
        "pao2": Range(50, 95), "paco2_set": 38.0, "hco3_set": 22.0, "winters_below": 18.0,
        "venous_ph": Range(7.27, 7.44), "venous_paco2": Range(33, 56),
        "venous_hco3": Range(18, 27), "failure_pao2": 50.0}),
    INFANT: MappingProxyType({
        "ph": Range(7.34, 7.46), "paco2": Range(26, 41), "hco3": Range(19, 24),
        "paco2_set": 34.0, "hco3_set": 21.5, "winters_below": 19.0,
        "venous_ph": Range(7.30, 7.43), "venous_paco2": Range(32, 51),
        "venous_hco3": Range(19, 27)})})
_YOUNG_NAMES: Final = MappingProxyType({
    NEWBORN: ("a term newborn, 1 to 28 days", "Newborn2005"),
    INFANT: ("an infant, 28 days to 2 years", "Infant")})


def age_band(age: float | None) -> int:
    """The band of an age in years; adult ranges where it was not given."""
    if age is None or age >= TWO_YEARS:
        return GROWN
    return INFANT if age >= FOUR_WEEKS else NEWBORN if age >= ONE_DAY else FIRST_DAY


def why_not_judged(gas: BloodGas) -> str | None:
    """Why no range of this kit fits this person; None where one does.

    Examples
    --------
    >>> str(why_not_judged(BloodGas(7.30, 53, age=0)))[:28]
    'in the first day of life the'
    """
    if gas.altitude is None and (gas.age is None or gas.age >= TWO_YEARS):
        return None
    band, altitude = age_band(gas.age), gas.altitude or 0.0
    if band == FIRST_DAY:
        return FIRST_DAY_WHY
    if altitude > HIGHEST:
        return TOO_HIGH_WHY
    if gas.trimester is not None and altitude > HIGHEST_PREGNANT:
        return PREGNANT_HIGH_WHY
    return YOUNG_HIGH_WHY if band != GROWN and altitude >= HIGH else None


def settings_for(gas: BloodGas, settings: LabSettings) -> LabSettings:
    """The settings by which this person is read.

    Pregnancy, altitude and an age below two years move the ranges and set-points (`MOVED`);
    everything else stays the school's. Settings that say `for_whom` themselves are left as
    they are, and so is a person whom no range fits.

    Examples
    --------
    >>> from acidbase_lib.reading.lab_settings import DEFAULT_SETTINGS
    >>> str(settings_for(BloodGas(7.36, 40, trimester=3), DEFAULT_SETTINGS).paco2)
    '27–33'
    """
    if gas.trimester is None and gas.altitude is None and (gas.age is None
                                                           or gas.age >= TWO_YEARS):
        return settings
    if settings.for_whom != "adults" or why_not_judged(gas):
        return settings
    altitude = gas.altitude or 0.0
    return moved(settings, age_band(gas.age), int(gas.trimester or 0),
                 round(altitude / 100) * 100 if altitude >= HIGH else 0)


@lru_cache(maxsize=512)
def moved(settings: LabSettings, band: int, trimester: int, altitude: int) -> LabSettings:
    """A school's settings with the ranges of an age band, a trimester and an altitude [m].

    Altitudes come rounded to 100 m, 0 where the values of sea level serve.
    """
    whom: list[str] = []
    sources: list[str] = []
    values: dict[str, Any] = {}
    if band in _YOUNG:
        values |= _YOUNG[band]
        whom, sources = [_YOUNG_NAMES[band][0]], [_YOUNG_NAMES[band][1]]
    if trimester:
        values |= (_EARLY if trimester == 1 else
                   {key: getattr(PREGNANCY_SETTINGS, key) for key in _EARLY})
        whom.append(f"the {TRIMESTERS[trimester - 1]} trimester of pregnancy")
        sources.append("PregnancyEarly" if trimester == 1 else "Pregnancy2021")
    if altitude:
        values = _raised(values, altitude)
        whom.append(f"people who live at about {altitude:,} m")
        sources.append("Altitude2023")
    if not whom:
        return settings
    return replace(settings, for_whom=" and ".join(whom), for_whom_source=sources[-1],
                   **_inside_the_alarms(values, settings))


def _inside_the_alarms(values: Mapping[str, Any], settings: LabSettings) -> dict[str, Any]:
    """The moved ranges, cut where a critical limit of the school lies inside one: alarms win."""
    new = dict(values)
    for key in ("ph", "paco2", "sao2"):
        if key not in new:
            continue
        limits, range_ = getattr(settings, f"critical_{key}"), new[key]
        low, high = ends_of(f"critical_{key}", limits)
        low, high = max(low, range_.low), min(high, range_.high)
        if low < high:
            new[key] = Range(low, high)
        else:  # the limit lies beyond the whole range: everybody healthy would be an alarm
            new[f"critical_{key}"] = Range(min(limits.low, range_.low),
                                           max(limits.high, range_.high))
    for key, outer in (("midline", "ph"), ("paco2_set", "paco2")):
        if key in new:
            new[key] = min(max(new[key], new[outer].low), new[outer].high)
    return new


def _raised(values: Mapping[str, Any], altitude: int) -> dict[str, Any]:
    """The ranges of sea level, moved to an altitude: PaCO2 and bicarbonate lower, oxygen too."""
    sea = LabSettings()
    old = {key: values.get(key, getattr(sea, key)) for key in (
        "ph", "midline", "paco2", "hco3", "paco2_set", "hco3_set", "winters_below", "venous_ph",
        "venous_paco2", "venous_hco3")}
    paco2, hco3 = paco2_at_altitude(altitude) - 40, hco3_at_altitude(altitude) - 24
    new = {key: _shifted(old[key], paco2 if "paco2" in key else hco3)
           for key in old if "ph" not in key and key != "midline"}
    if "ph" not in values:  # a little more alkaline; in pregnancy the range already is
        new |= {"ph": Range(7.38, 7.46), "midline": 7.42, "venous_ph": Range(7.33, 7.44)}
    else:
        new |= {key: old[key] for key in ("ph", "midline", "venous_ph")}
    alveolar = alveolar_po2(new["paco2_set"], 0.21,
                            barometric_pressure=barometric_pressure_of(altitude))
    # around the published means: PaO2 71, 69.6 and 61, SaO2 94 and 91 % at 2240, 2800 and 3350 m
    low, high = round(alveolar - 10), round(alveolar + 15)
    new["pao2"] = Range(low, high)
    new["sao2"] = Range(int(sao2_severinghaus1979(alveolar - 6)), 100)
    new["failure_pao2"] = float(min(60, max(40, low)))
    return new


def _shifted(value: Any, by: float) -> Any:
    if isinstance(value, Range):
        return Range(round(value.low + by, 2), round(value.high + by, 2))
    return round(value + by, 2)
