"""Words that stand for a school's setting are filled in: `<<hco3>>` becomes 22–26 mmol/L."""
from __future__ import annotations

import re
from collections.abc import Sequence
from types import MappingProxyType
from typing import Final

from acidbase_lib.physiology.units import mmhg_to_kpa
from acidbase_lib.reading.lab_settings import SETTINGS, LabSettings
from acidbase_lib.reading.settings_in_force import in_force
from acidbase_lib.reading.value_range import Range, SettingsError
from acidbase_lib.reading.wording import number

from .pressures_told import ONE_END, PRESSURE, pressure_told, range_told

#: A hole names a setting, or holds a pressure that is told in the school's unit.
_NAMED: Final = rf"({PRESSURE}|\w+)(?::(\w+))?"
_HOLE: Final = re.compile(rf"<<{_NAMED}>>")
#: In a notebook a comment that no reader sees says which setting the words after it tell.
_MARKED: Final = re.compile(rf"<!--={_NAMED}-->(.*?)<!--=-->")


def filled(text: str, settings: LabSettings | None = None) -> str:
    """The text with every setting that it names told as these settings have it.

    Parameters
    ----------
    text : str
        Words with holes: ``<<key>>`` or ``<<key:how>>``, where `how` is "to" (22 to 26 mmol/L),
        "bare" (22–26), "unit" (with a unit, the default), "kPa" or "bare_kPa" (a pressure in
        kPa), "both", "first" or "second" (a pressure in the school's unit, in the other one, or
        in both), "low", "high" or "inside" (one end, or one above the low end), or, of an oxygen
        target, one of `_WHO` (who says so). A pressure, ``<<66 mmHg>>`` or
        ``<<24 to 28 mmHg>>``, and the ways to tell it: see `pressure_told`.
    settings : LabSettings, optional
        The settings in force where left out.

    Raises
    ------
    SettingsError
        A hole names no setting, or no way to tell it.

    Examples
    --------
    >>> filled("aim for <<oxygen_target_co2_risk>>, bicarbonate <<hco3:to>>")
    'aim for 88–92 %, bicarbonate 22 to 26 mmol/L'
    """
    by = settings or in_force()
    return _HOLE.sub(lambda hole: told(hole[1], hole[2] or "unit", by), text)


def refilled(text: str, settings: LabSettings | None = None) -> str:
    """A notebook's text whose marked words are told anew; the marks stay.

    Examples
    --------
    >>> refilled("<!--=hco3:bare-->21–28<!--=--> mmol/L")
    '<!--=hco3:bare-->22–26<!--=--> mmol/L'
    """
    by = settings or in_force()

    def anew(found: re.Match[str]) -> str:
        how = f":{found[2]}" if found[2] else ""
        return f"<!--={found[1]}{how}-->{told(found[1], found[2] or 'unit', by)}<!--=-->"

    return _MARKED.sub(anew, text)


def as_read(text: str, settings: LabSettings | None = None) -> str:
    """A notebook's text as a reader has it: its marked words told anew, and no marks.

    Examples
    --------
    >>> as_read("<!--=hco3:bare-->21–28<!--=--> mmol/L")
    '22–26 mmol/L'
    """
    return _MARKED.sub(lambda found: found[3], refilled(text, settings))


def ends_in(span: Sequence[float] | str) -> Sequence[float]:
    """Both ends of a span of numbers that a file gives, or that a target in words gives.

    Examples
    --------
    >>> ends_in("88–92"), ends_in([20, 24])
    ([88, 92], [20, 24])
    """
    if not isinstance(span, str):
        return span
    ends = [float(end) for end in span.split("–")]
    return [int(end) if end.is_integer() else end for end in ends]


def told(key: str, how: str, settings: LabSettings) -> str:
    """One setting in words, or a pressure; see ``filled``."""
    if (shown := pressure_told(key, how, settings)) is not None:
        return shown
    value = getattr(settings, key) if key in SETTINGS else None
    if not isinstance(value, Range) or how not in _WAYS:
        raise SettingsError(f"<<{key}:{how}>> names no range of the settings, or none of the ways "
                            f"to tell one: {', '.join(_WAYS)}")
    if how in _WHO:
        return _WHO[how][not _TARGETS & set(settings.changed)].format(settings.name)
    quantity = SETTINGS[key].metadata["quantity"]
    if settings.unit_of(key) == "mmHg" and (shown := range_told(value, how, settings)) is not None:
        return shown
    low, high = (_end(end, quantity, how) for end in (value.low, value.high))
    if how in ONE_END:
        return {"low": low, "high": high, "inside": number(value.low + 1)}[how]
    unit = "" if how.startswith("bare") else "kPa" if how == "kPa" else settings.unit_of(key)
    between = " to " if how == "to" else "–"
    return f"{low}{between}{high} {unit}".rstrip()


#: Who aims at a saturation: the school, where one of its targets is its own, else guidance.
_WHO: Final = MappingProxyType({
    "source": ("the target of {}", "BTS guideline, Thorax 2017"),
    "short": ("the target of {}", "BTS 2017"),
    "who": ("your school", "guidance"),
    "aims": ("Your school aims at", "Guidance (BTS 2017) aims at")})
_TARGETS: Final = frozenset({"oxygen_target", "oxygen_target_co2_risk"})
_WAYS: Final = (*_WHO, "unit", "bare", "to", "kPa", "bare_kPa", "both", "first", "second", "cell",
                *ONE_END)


def _end(end: float, quantity: str, how: str) -> str:
    if quantity == "ph":
        return f"{end:.2f}"
    return f"{mmhg_to_kpa(end):.1f}" if how.endswith("kPa") else number(end)
