"""Read a blood gas: the nursing label, the quantitative reading, and the reasons.

Give pH, PaCO2 and bicarbonate; the bicarbonate may be left out. PaCO2 is in
mmHg unless --kpa is given. Say whom the gas is of where you know it: adult
ranges do not fit everybody. Examples:

  acidbase read 7.28 66 30
  acidbase read 7.28 8.8 30 --kpa
  acidbase read 7.31 28 14 --sodium 138 --chloride 100 --albumin 32
  acidbase read 7.36 40 22 --pregnant 34
  acidbase read 7.42 31 20 --altitude 2800 --age 45
  acidbase read 7.33 46 24 --age 3d --specimen capillary
  acidbase read 7.38 38 22 --pao2 95 --sao2 97 --fio2 0.21 --cohb 32
"""
from __future__ import annotations

import argparse
import json
from collections.abc import Iterator
from dataclasses import asdict
from pathlib import Path
from textwrap import fill
from typing import TYPE_CHECKING

from acidbase_lib.caution import CAUTION
from acidbase_lib.classroom.errors import CommandError
from acidbase_lib.reading.wording import sentence_case

if TYPE_CHECKING:
    from acidbase_lib.physiology.quantities import QuantityError
    from acidbase_lib.reading.blood_gas import BloodGas
    from acidbase_lib.reading.direction import DirectionReading
    from acidbase_lib.reading.interpretation import Interpretation
    from acidbase_lib.reading.quantitative import Arm

WIDTH = 80
_MORE = ("pao2", "fio2", "sao2", "sodium", "potassium", "chloride", "albumin", "lactate",
         "glucose", "hemoglobin", "ionized_calcium", "cohb", "methb", "barometric_pressure")
_HISTORY = {"asthma": "the history says asthma", "opioid": "a drug that slows breathing was given"}


def number(text: str) -> float:
    """A number as typed; a decimal comma serves as well as a point."""
    try:
        if "_" in text:  # Python would read 7_35 as 735
            raise ValueError
        return float(text.replace(",", ".").replace("\N{MINUS SIGN}", "-"))
    except ValueError:
        raise argparse.ArgumentTypeError(f"{text[:40]!r} is not a number") from None


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Declare the command's arguments."""
    from acidbase_lib.physiology.quantities import QUANTITIES

    parser.add_argument("ph", type=number, metavar="pH")
    parser.add_argument("paco2", type=number, metavar="PaCO2", help="[mmHg], or [kPa] with --kpa")
    parser.add_argument("hco3", type=number, metavar="HCO3", nargs="?",
                        help="bicarbonate [mmol/L]; derived when left out")
    parser.add_argument("--kpa", action="store_true", help="PaCO2 and PaO2 are in kPa")
    for key in _MORE:
        row = QUANTITIES[key]
        unit = f" [{row.unit}]" if row.unit else ""
        parser.add_argument(f"--{key.replace('_', '-')}", type=number, metavar="X", dest=key,
                            help=f"{row.label}{unit.replace('%', '%%')}")
    _add_history(parser)
    parser.add_argument("--chronic-lung-disease", action="store_true",
                        help="the history says the PaCO2 may be high for weeks")
    for key, help_text in _HISTORY.items():
        parser.add_argument(f"--{key}", action="store_true", help=help_text)
    parser.add_argument("--specimen", choices=("arterial", "venous", "capillary"),
                        default="arterial")
    parser.add_argument("--settings", metavar="FILE", type=Path,
                        help="a school's own ranges and rules (TOML)")
    parser.add_argument("--json", action="store_true", help="print everything as JSON")


def run(given: argparse.Namespace) -> int:
    """Read the gas and print the reading."""
    from acidbase_lib.physiology.quantities import QuantityError
    from acidbase_lib.reading.blood_gas import BloodGas
    from acidbase_lib.reading.direction import direction_rule
    from acidbase_lib.reading.interpretation import interpret
    from acidbase_lib.reading.kilopascal import in_both_units
    more = {key: value for key in _MORE if (value := getattr(given, key)) is not None}
    more |= _history(given)
    more |= {key: True for key in _HISTORY if getattr(given, key)}
    build = BloodGas.from_kpa if given.kpa else BloodGas
    try:
        gas = build(given.ph, given.paco2, given.hco3, specimen=given.specimen,
                    chronic_lung_disease=given.chronic_lung_disease, **more)
    except QuantityError as error:
        raise CommandError(f"{error}{_kpa_hint(error, given.kpa)}") from None
    reading = interpret(gas)
    shortcut = direction_rule(ph=gas.ph, hco3=gas.hco3, settings=reading.settings)
    if given.json:
        text = json.dumps(reading.as_dict() | {"direction_rule": asdict(shortcut)}, indent=2,
                          ensure_ascii=False)
        print(in_both_units(text, gas))
    else:
        print("\n".join(as_text(reading, shortcut, given.pregnant)))
    return 0


def _kpa_hint(error: QuantityError, kpa: bool) -> str:
    """What --kpa has to do with a pressure that cannot be."""
    if error.quantity not in {"paco2", "pao2"}:
        return ""
    return ". Without --kpa, pressures are read in mmHg" if kpa else (
        ". With --kpa, both pressures are read in kPa")


def as_text(
    reading: Interpretation, shortcut: DirectionReading, pregnant: str | None = None,
) -> Iterator[str]:
    """The reading as lines of at most 80 columns; `pregnant` is what was said of a pregnancy."""
    from acidbase_lib.reading.kilopascal import in_both_units
    from acidbase_lib.reading.lab_settings import MOVED
    from acidbase_lib.reading.sources import cite
    from acidbase_lib.reading.telling.report import processes_text, response_text

    gas = reading.gas
    yield in_both_units(gas.sentence(), gas) + (" (worked out)" if gas.hco3_derived else "")
    yield from _doubt(reading)
    yield ""
    steps = reading.steps
    if reading.urgency.level != "no critical value":  # what cannot wait is not the last thing said
        yield from _pair("How soon", f"{steps[-1].finding} {sentence_case(steps[-1].because)}", gas)
        yield ""
    yield from _whom(reading, pregnant)
    yield from _pair("Nursing label", reading.label or f"none: {reading.why_no_label}", gas)
    yield from _pair("By the rules", processes_text(reading))
    if reading.possible:
        yield from _pair("Possible", "; ".join(reading.possible))
    if reading.response and reading.expected:
        yield from _pair("Response", response_text(reading))
        for arm in reading.expected:
            yield from _pair("Expected", _band(reading.expected.quantity, arm), gas)
    if reading.not_judged:
        yield from _pair("Direction rule", "not asked: no range of this kit fits")
    elif reading.consistency.possible:
        yield from _pair("Direction rule", shortcut.disorder or "silent")
        yield from _pair("", shortcut.because)
    else:
        yield from _pair("Direction rule", "not asked: the numbers do not fit one another")
    yield ""
    yield "Step by step"
    for place, step in enumerate(steps, 1):
        yield fill(f"{place:2}. {step.question}", WIDTH, subsequent_indent="    ")
        yield _under(in_both_units(step.finding, gas))
        yield _under(in_both_units(f"{sentence_case(step.because)} [{step.source}]", gas))
    yield ""
    yield "Sources"
    for key in dict.fromkeys(step.source for step in steps):
        yield fill(f"[{key}] {cite(key)}", WIDTH, initial_indent="  ", subsequent_indent="    ")
    yield ""
    for_adults = reading.settings.for_whom == "adults"
    changed = ", ".join(key for key in reading.settings.changed if for_adults or key not in MOVED)
    yield fill(f"Settings: {reading.settings.name}{f' (changed: {changed})' if changed else ''}.",
               WIDTH)
    yield CAUTION


def _pair(label: str, text: str, gas: BloodGas | None = None) -> Iterator[str]:
    from acidbase_lib.reading.kilopascal import in_both_units

    text = text if gas is None else in_both_units(text, gas)
    yield fill(text, WIDTH, initial_indent=f"{label:<16}", subsequent_indent=" " * 16)


def _under(text: str) -> str:
    return fill(text, WIDTH, initial_indent="    ", subsequent_indent="    ")


def _band(quantity: str, arm: Arm) -> str:
    label, unit = ("PaCO2", "mmHg") if quantity == "PaCO2" else ("bicarbonate", "mmol/L")
    when = f"{arm.when}: " if arm.when else ""
    return f"{when}{label} {arm.low:.3g} to {arm.high:.3g} {unit} ({arm.rule})"


def _doubt(reading: Interpretation) -> Iterator[str]:
    """What stands above a reading whose three numbers do not fit, with the likely slip."""
    found = reading.consistency
    if found.consistent:
        return
    grave = ("These three numbers cannot come from one sample" if not found.possible
             else "These three numbers fit one another badly")
    slip = (" Is PaCO2 in kPa? Then add --kpa." if _fits_in_kpa(reading.gas) else
            " Check them before you read on.")
    yield ""
    yield fill(f"{grave}: pH and PaCO2 call for a bicarbonate of {found.hco3_expected:.1f} mmol/L, "
               f"{abs(found.residual):.1f} away from the one given.{slip}", WIDTH)


def _fits_in_kpa(gas: BloodGas) -> bool:
    from acidbase_lib.physiology.henderson_hasselbalch import hco3_of
    from acidbase_lib.physiology.units import kpa_to_mmhg

    return gas.paco2 < 20 and abs(hco3_of(gas.ph, kpa_to_mmhg(gas.paco2)) / gas.hco3 - 1) < 0.12


def _add_history(parser: argparse.ArgumentParser) -> None:
    """Whom the gas is of: what moves the ranges."""
    parser.add_argument("--age", metavar="AGE", help="years, or 3d, 6w, 8m; 12h for hours")
    parser.add_argument("--pregnant", metavar="WEEK",
                        help="week of pregnancy (34) or trimester (1, 2, 3); no")
    parser.add_argument("--altitude", metavar="M",
                        help="meters above sea level where the person lives")


def _history(given: argparse.Namespace) -> dict[str, float]:
    from acidbase_lib.reading.whom.history import meters_of, trimester_of, years_of

    read = (("age", given.age, years_of), ("trimester", given.pregnant, trimester_of),
            ("altitude", given.altitude, meters_of))
    return {key: value for key, text, convert in read
            if text is not None and (value := convert(text)) is not None}


def _whom(reading: Interpretation, pregnant: str | None) -> Iterator[str]:
    """By whose ranges the gas is read, and what was not given that could change it."""
    gas, whom = reading.gas, reading.settings.for_whom
    if reading.not_judged:
        whom = "nobody: no range of this kit fits"
    elif whom == "adults":
        child = gas.age is not None and gas.age < 18
        whom = (f"an adult, not pregnant{', although a child' if child else ''}, who lives below "
                "1,000 m")
    yield from _pair("Read for", whom)
    open_ = [word for word, missing in (
        ("age (--age)", gas.age is None),
        ("pregnancy (--pregnant)", pregnant is None
         and (gas.age is None or 10 <= gas.age <= 55)),
        ("altitude (--altitude)", gas.altitude is None),
        ("inspired oxygen (--fio2)", gas.fio2 is None and gas.specimen == "arterial")) if missing]
    if open_:
        which = "each" if len(open_) > 1 else "it"
        yield from _pair("Not asked", f"{', '.join(open_)}: {which} may change the reading")
