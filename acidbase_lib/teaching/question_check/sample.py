"""From the numbers of a stem to a blood gas, in the ranges that the stem states."""
from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from typing import Final

from acidbase_lib.physiology.quantities import QUANTITIES, QuantityError
from acidbase_lib.physiology.units import kpa_to_mmhg
from acidbase_lib.reading.blood_gas import BloodGas, Specimen
from acidbase_lib.reading.consistency import check_consistency
from acidbase_lib.reading.lab_settings import LabSettings
from acidbase_lib.reading.settings_in_force import in_force
from acidbase_lib.reading.value_range import Range

from .numbers import Found, find_numbers, tidy

THREE: Final = ("ph", "paco2", "hco3")
_OF_A_GAS: Final = (*THREE, "pao2", "fio2", "sao2", "sodium", "potassium", "chloride", "albumin",
                    "lactate", "glucose", "hemoglobin", "age")
_LIMITS: Final = {"sao2": "sao2", "spo2": "spo2", "systolic": "systolic_pressure"}


@dataclass(frozen=True, slots=True)
class Sample:
    """The numbers of one sample: as found, as a gas, or the reason why they are none.

    `kpa_guessed` is True where PaCO2 stands without a unit and fits only as kPa.
    """

    found: Mapping[str, Found]
    gas: BloodGas | None = None
    refused: str = ""
    refused_at: Found | None = None
    kpa_guessed: bool = False

    def has(self, *keys: str) -> bool:
        """Whether all of these are printed."""
        return all(key in self.found for key in keys)

    def value(self, key: str) -> float:
        """A printed value in the library's unit."""
        return self.found[key].canonical


@dataclass(frozen=True, slots=True)
class StemNumbers:
    """Everything a stem says in numbers: its samples, the ranges it states, and the rest."""

    samples: tuple[Sample, ...]
    ranges: Mapping[str, Found] = field(default_factory=dict)
    others: Mapping[str, Found] = field(default_factory=dict)

    @property
    def last(self) -> Sample | None:
        """The sample that a question is about where nothing else is said."""
        return self.samples[-1] if self.samples else None


def numbers_of(text: str) -> StemNumbers:
    """Sort the numbers of a text into samples, stated ranges and vital signs."""
    ranges: dict[str, Found] = {}
    others: dict[str, Found] = {}
    groups: list[dict[str, Found]] = [{}]
    for one in find_numbers(text):
        if one.second is not None:
            if one.key in ("ph", "paco2", "hco3", "pao2", "sao2", "gap_printed"):
                ranges.setdefault(one.key, one)
            continue
        if one.key not in _OF_A_GAS:
            others[one.key] = one
            continue
        here = groups[-1]
        before = here.get(one.key)
        if before is not None and before.canonical != one.canonical:
            if one.key not in THREE:
                here[one.key] = one
                continue
            groups.append({key: value for key, value in here.items() if key == "age"})
        if before is None or before.canonical != one.canonical:
            groups[-1][one.key] = one
    samples = tuple(_sample(group, text) for group in groups
                    if {"ph", "paco2", "hco3", "pao2", "sodium"} & set(group))
    return StemNumbers(samples, ranges, others)


def _sample(found: dict[str, Found], text: str) -> Sample:
    values = {key: one.canonical for key, one in found.items()}
    plain = tidy(text).lower()
    air = re.search(r"\b(?:room|on|breathing|breathes) (?:room )?air\b", plain)
    if air and "fio2" not in values:
        values["fio2"] = 0.21
    if "ph" not in values or not {"paco2", "hco3"} & set(values):
        return Sample(found, *_single(found, values))
    if "paco2" not in values:
        try:
            from acidbase_lib.physiology.henderson_hasselbalch import paco2_of

            values["paco2"] = paco2_of(values["ph"], values["hco3"])
        except QuantityError as error:
            return Sample(found, None, str(error), found.get(error.quantity) or found["ph"])
    venous = re.search(r"\bvenous (?:blood )?(?:gas|sample|specimen)|\bvbg\b", plain)
    specimen: Specimen = "venous" if venous else "arterial"
    guessed = False
    one = found.get("paco2")
    if one is not None and one.unit is None and one.value < 15:
        values["paco2"], guessed = kpa_to_mmhg(one.value), True
    try:
        gas = BloodGas(**values, specimen=specimen, pressure_unit="mmHg",
                       chronic_lung_disease="copd" in plain,
                       asthma="asthma" in plain, opioid=False)
    except QuantityError as error:
        smaller = _without_the_rest(values, error, specimen)
        return Sample(found, smaller, _plainly(str(error)), found.get(error.quantity)
                      or next(iter(found.values())), guessed)
    if guessed and not check_consistency(gas).consistent:
        guessed = False
    return Sample(found, gas, kpa_guessed=guessed)


def _without_the_rest(values: dict[str, float], error: QuantityError, specimen: Specimen
                      ) -> BloodGas | None:
    """The gas of the three numbers, where the value that was refused is another one."""
    if error.quantity in THREE:
        return None
    try:
        three = {key: values.get(key) for key in THREE}
        return BloodGas(three["ph"], three["paco2"], three["hco3"], specimen=specimen)  # type: ignore[arg-type]
    except QuantityError:
        return None


def _single(found: dict[str, Found], values: dict[str, float]) -> tuple[None, str, Found | None]:
    """Numbers that make no gas are still held against their limits."""
    for key, one in found.items():
        row = QUANTITIES[_LIMITS.get(key, key)]
        if not row.low <= values[key] <= row.high:
            return None, (f"{row.label} = {one.value:g} {one.unit or row.unit}".rstrip()
                          + f" is outside {row.limits}"), one
    return None, "", None


def _plainly(sentence: str) -> str:
    """A library's error without its advice to programmers."""
    return re.sub(r",? (?:or )?use (?:units\.\w+|BloodGas\([^)]*\))", "", sentence)


def settings_of(stated: Sequence[str]) -> tuple[LabSettings, bool, str]:
    """The settings that these texts state: (settings, whether any is stated, what is refused).

    What they do not state is the school's, where one is in force, else the kit's.
    """
    school = in_force()
    changed: dict[str, Range] = {}
    refused = ""
    for text in stated:
        for key, one in numbers_of(text).ranges.items():
            name = "anion_gap" if key == "gap_printed" else key
            if one.second is None:
                continue
            low, high = one.canonical, Found(key, one.second, one.unit, 0, 0).canonical
            try:
                LabSettings(**{name: Range(low, high)})  # type: ignore[arg-type]
                changed[name] = Range(low, high)
            except QuantityError as error:
                refused = str(error)
    if not changed:
        return school, False, refused
    try:
        return replace(school, name="the ranges stated", **changed), True, refused  # type: ignore[arg-type]
    except QuantityError as error:
        return school, False, str(error)
