"""Read a blood gas: the nursing label, the quantitative reading, and the reasons.

Give pH, PaCO2 and bicarbonate; the bicarbonate may be left out. PaCO2 is in
mmHg unless --kpa is given. Examples:

  acidbase read 7.28 66 30
  acidbase read 7.28 8.8 30 --kpa
  acidbase read 7.31 28 14 --sodium 138 --chloride 100 --albumin 32
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
         "glucose", "hemoglobin", "ionized_calcium", "cohb", "methb", "age", "barometric_pressure")
_HISTORY = {"asthma": "the history says asthma", "opioid": "a drug that slows breathing was given"}


def number(text: str) -> float:
    """A number as typed; a decimal comma serves as well as a point."""
    try:
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
    parser.add_argument("--chronic-lung-disease", action="store_true",
                        help="the history says the PaCO2 may be high for weeks")
    for key, told in _HISTORY.items():
        parser.add_argument(f"--{key}", action="store_true", help=told)
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
    from acidbase_lib.reading.ranges import DEFAULT_SETTINGS, LabSettings

    settings = DEFAULT_SETTINGS
    if given.settings is not None:
        if not given.settings.is_file():
            raise CommandError(f"there is no settings file {given.settings}")
        settings = LabSettings.from_toml(given.settings)
    more = {key: value for key in _MORE if (value := getattr(given, key)) is not None}
    more |= {key: True for key in _HISTORY if getattr(given, key)}
    build = BloodGas.from_kpa if given.kpa else BloodGas
    try:
        gas = build(given.ph, given.paco2, given.hco3, specimen=given.specimen,
                    chronic_lung_disease=given.chronic_lung_disease, **more)
    except QuantityError as trouble:
        raise CommandError(f"{trouble}{_kpa_hint(trouble, given.kpa)}") from None
    reading = interpret(gas, settings)
    shortcut = direction_rule(ph=gas.ph, hco3=gas.hco3, settings=settings)
    if given.json:
        print(json.dumps(reading.as_dict() | {"direction_rule": asdict(shortcut)}, indent=2,
                         ensure_ascii=False))
    else:
        print("\n".join(as_text(reading, shortcut)))
    return 0


def _kpa_hint(trouble: QuantityError, kpa: bool) -> str:
    """What --kpa has to do with a pressure that cannot be."""
    if trouble.quantity not in {"paco2", "pao2"}:
        return ""
    return ". Without --kpa, pressures are read in mmHg" if kpa else (
        ". With --kpa, both pressures are read in kPa")


def as_text(reading: Interpretation, shortcut: DirectionReading) -> Iterator[str]:
    """The reading as lines of at most 80 columns."""
    from acidbase_lib.reading.sources import cite

    gas = reading.gas
    yield gas.sentence() + (" (worked out)" if gas.hco3_derived else "")
    yield from _doubt(reading)
    yield ""
    yield from _pair("Nursing label", reading.label or f"none: {reading.why_no_label}")
    yield from _pair("By the rules", " and ".join(reading.processes) or "no process named")
    if reading.response and reading.expected:
        yield from _pair("Response", reading.response)
        for arm in reading.expected:
            yield from _pair("Expected", _band(reading.expected.quantity, arm))
    if reading.consistency.possible:
        yield from _pair("Direction rule", shortcut.disorder or "silent")
        yield from _pair("", shortcut.because)
    else:
        yield from _pair("Direction rule", "not asked: the numbers do not fit one another")
    yield ""
    yield "Step by step"
    for place, step in enumerate(reading.steps, 1):
        yield fill(f"{place:2}. {step.question}", WIDTH, subsequent_indent="    ")
        yield _under(step.finding)
        yield _under(f"{sentence_case(step.because)} [{step.source}]")
    yield ""
    yield "Sources"
    for key in dict.fromkeys(step.source for step in reading.steps):
        yield fill(f"[{key}] {cite(key)}", WIDTH, initial_indent="  ", subsequent_indent="    ")
    yield ""
    changed = ", ".join(reading.settings.changed)
    yield fill(f"Settings: {reading.settings.name}{f' (changed: {changed})' if changed else ''}.",
               WIDTH)
    yield CAUTION


def _pair(label: str, text: str) -> Iterator[str]:
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
