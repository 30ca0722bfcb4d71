"""Can these numbers exist: units, limits of life, one sample, oxygen; and what would mend them."""
from __future__ import annotations

from collections.abc import Callable, Iterator
from typing import Final

from acidbase_lib.physiology.henderson_hasselbalch import hco3_of, paco2_of, ph_of
from acidbase_lib.physiology.oxygen_carriage import sao2_severinghaus1979
from acidbase_lib.physiology.oxygenation import alveolar_po2
from acidbase_lib.physiology.quantities import QUANTITIES, QuantityError, plain
from acidbase_lib.physiology.units import mmhg_to_kpa
from acidbase_lib.reading.blood_gas import BloodGas
from acidbase_lib.reading.consistency import check_consistency
from acidbase_lib.reading.interpretation import interpret
from acidbase_lib.reading.lab_settings import LabSettings
from acidbase_lib.reading.value_range import Range
from acidbase_lib.reading.wording import label_of

from .findings import LOOK, MUST, Finding
from .numbers import UNITS, Found
from .sample import THREE, Sample

#: Beyond these a patient seldom lives (common practice).
LIVED: Final = Range(6.8, 7.8)
#: Ranges that other laboratories print for bicarbonate (reading/sources.py, NursingRanges).
_OTHER_HCO3: Final = (Range(21, 28), Range(23, 28), Range(22, 29))
_WORTH_A_UNIT: Final = ("paco2", "hco3", "pao2")
_OVER: Final = 5.0  # mmHg; what rounding and a PaCO2/R of a bedside rule leave open

LineOf = Callable[[int], int]
Fits = Callable[[BloodGas], bool]


def check_sample(sample: Sample, at: LineOf, settings: LabSettings, fits: Fits | None = None,
                 where: str = "") -> Iterator[Finding]:
    """Every reason why the numbers of one sample cannot or should not stand as they are.

    Parameters
    ----------
    sample : Sample
        The numbers.
    at : callable
        The line of a place in the text that held them.
    settings : LabSettings
        Ranges and tolerances.
    fits : callable, optional
        Whether a gas still has the keyed answer: a mended gas that keeps the key goes first.
    where : str
        Which gas it is, such as "option B: ".
    """
    wrong_units = list(_units(sample, at, where))
    yield from wrong_units
    if wrong_units:
        return
    if sample.refused:
        place = sample.refused_at or next(iter(sample.found.values()))
        yield Finding(MUST, "numbers that cannot be", at(place.start),
                      f"{where}{_upper(sample.refused)}.", _instead_of_refused(sample))
        if sample.gas is None:
            return
    if "ph" in sample.found and not LIVED.low <= sample.value("ph") <= LIVED.high:
        yield Finding(MUST, "limits of life", at(sample.found["ph"].start),
                      f"{where}pH {plain(sample.value('ph'))} is outside {LIVED}, the limits "
                      "usually printed for life.",
                      "Choose a pH between 6.9 and 7.7 and make the other two numbers fit it.")
    if sample.gas is not None:
        yield from _together(sample, sample.gas, at, settings, fits, where)
        yield from _oxygen(sample, sample.gas, at, where)
    yield from _unstated_units(sample, at, where)


def _units(sample: Sample, at: LineOf, where: str) -> Iterator[Finding]:
    for key, one in sample.found.items():
        name = label_of(key)
        if not one.unit_known:
            yield Finding(MUST, "wrong unit", at(one.start),
                          f"{where}{name} {one.value:g} {one.unit}: {name} is not measured in "
                          f"{one.unit}.", f"Write {name} {one.value:g} {UNITS[key][0]}, if that is "
                          "what is meant.")
        elif key in ("paco2", "pao2") and one.unit is not None:
            row = QUANTITIES[key]
            if one.unit == "mmHg" and (one.value < row.low or _fits_in_kpa(sample, one)):
                yield Finding(MUST, "wrong unit", at(one.start),
                              f"{where}{name} {one.value:g} mmHg is most likely a value in kPa"
                              + (": the other numbers fit it so." if one.value >= row.low else
                                 f": in mmHg the limits are {row.limits}."),
                              f"Write {one.value:g} kPa, or {one.value * 7.50062:.0f} mmHg.")
            elif one.unit == "kPa" and one.value > mmhg_to_kpa(row.high):
                yield Finding(MUST, "wrong unit", at(one.start),
                              f"{where}{name} {one.value:g} kPa would be "
                              f"{one.value * 7.50062:.0f} mmHg: the value is most likely in mmHg.",
                              f"Write {one.value:g} mmHg, or {one.value / 7.50062:.1f} kPa.")


def _fits_in_kpa(sample: Sample, one: Found) -> bool:
    """Whether pH and bicarbonate go with this PaCO2 in kPa, and not in mmHg."""
    if one.key != "paco2" or one.value >= 20 or not sample.has(*THREE):
        return False
    try:
        as_kpa, as_mmhg = (BloodGas(sample.value("ph"), paco2, sample.value("hco3"))
                           for paco2 in (one.value * 7.50062, one.value))
    except QuantityError:
        return False
    return check_consistency(as_kpa).consistent and not check_consistency(as_mmhg).consistent


def _unstated_units(sample: Sample, at: LineOf, where: str) -> Iterator[Finding]:
    bare = [one for key, one in sample.found.items() if key in _WORTH_A_UNIT and one.unit is None]
    if not bare:
        return
    names = " and ".join(label_of(one.key) for one in bare)
    written = ", ".join(f"{label_of(one.key)} {one.value:g} {_likely(one, sample)}" for one in bare)
    yield Finding(LOOK, "unit not stated", at(bare[0].start), f"{where}{names} stand"
                  f"{'s' if len(bare) == 1 else ''} without a unit: a learner has to guess.",
                  f"Write {written}.")


def _likely(one: Found, sample: Sample) -> str:
    if one.key in ("paco2", "pao2"):
        return "kPa" if sample.kpa_guessed else "mmHg"
    return "mmol/L (or mEq/L)"


def _instead_of_refused(sample: Sample) -> str:
    one = sample.refused_at
    if one is not None and one.key in THREE and sample.has(*THREE) and (
            mended := _one_changed(sample, one.key)):
        return f"With the other two as they stand: {mended}."
    return "Look the value up again, or choose one inside the limits."


def _one_changed(sample: Sample, key: str) -> str:
    """The value that the other two give, or nothing where there is none."""
    try:
        values = {name: sample.value(name) for name in THREE if name != key}
        if key == "ph":
            return f"pH {ph_of(**values):.2f}"
        if key == "paco2":
            return f"PaCO2 {paco2_of(**values):.0f} mmHg"
        return f"bicarbonate {hco3_of(**values):.0f} mmol/L"
    except QuantityError:
        return ""


def _together(sample: Sample, gas: BloodGas, at: LineOf, settings: LabSettings, fits: Fits | None,
              where: str) -> Iterator[Finding]:
    if not sample.has(*THREE):
        return
    check = check_consistency(gas, settings)
    if check.consistent:
        return
    kpa = sample.found["paco2"].unit == "kPa"
    says = (f"{where}pH {gas.ph:.2f} with PaCO2 {_paco2(gas, kpa)} allows a bicarbonate of "
            f"{check.hco3_expected:.1f} mmol/L, and {gas.hco3:g} is printed "
            f"({check.residual:+.1f}; rounding explains {check.tolerance:.1f})")
    proposals = mended_gases(gas, settings, fits)
    mend = "Write " + ", or ".join(_proposal(one, gas, kpa) for one in proposals[:2]) + "." \
        if proposals else "Choose two of the numbers and work out the third."
    weight = LOOK if check.possible else MUST
    verdict = "they hardly fit" if check.possible else "the three cannot come from one sample"
    yield Finding(weight, "numbers that do not fit", at(sample.found["hco3"].start),
                  f"{says}: {verdict}.", mend, "Hasselbalch1917")


def mended_gases(gas: BloodGas, settings: LabSettings, fits: Fits | None = None
                 ) -> list[BloodGas]:
    """Gases that can exist with one number changed, nearest first; those with the key before all.

    Then those in which no value changes sides; the distance is counted in what a range spans.
    """
    def built(**new: float) -> BloodGas | None:
        values = {"ph": gas.ph, "paco2": gas.paco2, "hco3": gas.hco3} | new
        try:
            return BloodGas(**values)  # type: ignore[arg-type]
        except QuantityError:
            return None

    tries = []
    for key, change in (
            ("hco3", lambda: round(hco3_of(gas.ph, gas.paco2))),
            ("paco2", lambda: round(paco2_of(gas.ph, gas.hco3))),
            ("ph", lambda: round(ph_of(gas.paco2, gas.hco3), 2))):
        try:
            value = float(change())
        except QuantityError:
            continue
        one = built(**{key: value})
        if one is None or not check_consistency(one, settings).consistent \
                or not LIVED.low <= one.ph <= LIVED.high:
            continue
        span = {"ph": 0.10, "paco2": 10.0, "hco3": 4.0}[key]
        kept = fits is None or fits(one)
        moved = sum(getattr(settings, name).state(getattr(one, name))
                    != getattr(settings, name).state(getattr(gas, name)) for name in THREE)
        tries.append((not kept, moved, abs(value - getattr(gas, key)) / span, key, one))
    return [one for *_, one in sorted(tries, key=lambda row: row[:4])]


def _proposal(new: BloodGas, old: BloodGas, kpa: bool) -> str:
    if new.hco3 != old.hco3:
        return f"bicarbonate {new.hco3:g} mmol/L"
    if new.paco2 != old.paco2:
        return f"PaCO2 {_paco2(new, kpa)}"
    return f"pH {new.ph:.2f}"


def _paco2(gas: BloodGas, kpa: bool) -> str:
    return f"{mmhg_to_kpa(gas.paco2):.1f} kPa" if kpa else f"{gas.paco2:g} mmHg"


def _oxygen(sample: Sample, gas: BloodGas, at: LineOf, where: str) -> Iterator[Finding]:
    if gas.pao2 is None or "pao2" not in sample.found or gas.specimen == "venous":
        return
    place = at(sample.found["pao2"].start)
    if gas.fio2 is not None:
        try:
            most = alveolar_po2(gas.paco2, gas.fio2)
        except QuantityError:
            most = 0.0
        if gas.pao2 > most + _OVER:
            yield Finding(MUST, "oxygen that cannot be", place,
                          f"{where}PaO2 {gas.pao2:g} mmHg cannot be reached with FiO2 "
                          f"{gas.fio2:g} and PaCO2 {gas.paco2:g} mmHg at sea level: the alveoli "
                          f"hold at most {max(most, 0):.0f} mmHg.",
                          "Lower the PaO2, or say which oxygen the patient breathes.")
    if "sao2" in sample.found and gas.sao2 is not None:
        usual = sao2_severinghaus1979(gas.pao2)
        if abs(usual - gas.sao2) > 8:
            yield Finding(LOOK, "oxygen numbers that do not fit", at(sample.found["sao2"].start),
                          f"{where}SaO2 {gas.sao2:g} % with PaO2 {gas.pao2:g} mmHg: that PaO2 "
                          f"goes with about {usual:.0f} %.",
                          f"Write SaO2 {usual:.0f} %, unless the mismatch is the point.")


def edge_finding(gas: BloodGas, line: int, settings: LabSettings) -> Finding | None:
    """What to say where another school's range would give another label."""
    from dataclasses import replace

    mine = interpret(gas, settings).label
    for other in _OTHER_HCO3:
        theirs = interpret(gas, replace(settings, hco3=other)).label
        if theirs != mine:
            return Finding(
                LOOK, "range decides", line,
                f"No ranges are stated, and they decide here: bicarbonate {gas.hco3:g} gives "
                f"'{mine or 'no label'}' with {settings.hco3} mmol/L and "
                f"'{theirs or 'no label'}' with {other}, which other laboratories print.",
                "State the ranges in the stem or at the head of the file: 'ranges: pH 7.35-7.45, "
                "PaCO2 35-45 mmHg, HCO3 22-26 mmol/L'.")
    return None


def _upper(sentence: str) -> str:
    return sentence if sentence.startswith("pH") else sentence[:1].upper() + sentence[1:]
