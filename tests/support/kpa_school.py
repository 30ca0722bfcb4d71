"""A school that tells PaCO2 and PaO2 in kPa first, and the hunt for what tells mmHg first."""
from __future__ import annotations

import re

from acidbase_lib.reading.lab_settings import LabSettings

TOML = 'name = "North Bay School"\nhco3 = [21, 28]\noxygen_target_co2_risk = [90, 94]\n' \
       'pressure_unit = "kPa"\n'
SCHOOL = LabSettings(name="North Bay School", hco3=[21, 28], oxygen_target_co2_risk=[90, 94],
                     pressure_unit="kPa")

_BOTH = re.compile(r"kPa(?:</\w+>)? ?\((?:mmHg|[\d.–\- to]+ mmHg)\)")
#: The pressure of the circulation is in mmHg at every school.
_CIRCULATION = re.compile(r"(?:systolic|[Bb]lood pressure|the pressure|and pressure|, pressure"
                          r"|[Aa] pressure of|Pressure )[^.;|]{0,60}$"
                          r"|systolic pressure \| \d+ $")
#: A unit that is told of itself, and the numbers of a source that names it.
_OF_ITSELF = re.compile(
    r">\(mmHg\)<|mmHg</dt>|mmHg \(?millimeters|1 kPa is 7\.5 mmHg|7\.5 mmHg is 1 kPa"
    r"|One kPa is 7\.5 mmHg|[Ff]rom kPa to mmHg|term = \"mmHg"
    r"|mmHg(?:\*\*)?: millimeters|between mmHg and kPa|mmol/L per mmHg|in mmHg\b|that gives mmHg"
    r"|kPa read as mmHg|more mmHg|what is it in mmHg|PaCO2 of 8 mmHg is very|about 62 mmHg"
    r"|8\.0 kPa is 60 mmHg|8\.0 kPa and 60 mmHg|times 7\.5 is about \d+ mmHg|\"mmHg\"")
_NAMED = re.compile(r"mm ?Hg")


def mmhg_first(text: str) -> list[str]:
    """Every place of a text that tells mmHg, and not in brackets behind kPa."""
    bare = _BOTH.sub(lambda both: " " * len(both[0]), text)
    return [text[max(0, at.start() - 70):at.end() + 30] for at in _NAMED.finditer(bare)
            if not _CIRCULATION.search(text[max(0, at.start() - 90):at.start()])
            and not _OF_ITSELF.search(text[max(0, at.start() - 30):at.end() + 16])]


#: PaCO2 or PaO2 with a number that only mmHg can be, and no unit.
_UNITLESS = re.compile(r"(?:PaCO2|PaO2|PCO2)(?: is| of| was|:)? \d{2,3}\b(?!\.\d| mmHg| kPa| %)")


def unitless(text: str) -> list[str]:
    """Every PaCO2 or PaO2 of a text that has the size of mmHg and no unit."""
    return [text[max(0, at.start() - 40):at.end() + 30] for at in _UNITLESS.finditer(text)]
