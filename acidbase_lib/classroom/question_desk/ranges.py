"""The school's ranges as a form: beside the kit's, what they would change, saved with comments."""
from __future__ import annotations

import json
import re
import tomllib
from collections.abc import Iterator, Mapping
from pathlib import Path
from typing import Any, Final

from acidbase_lib.classroom.atomic_write import write_whole
from acidbase_lib.classroom.school.folder import SETTINGS as FILE
from acidbase_lib.reading.lab_settings import DEFAULT_SETTINGS, SETTINGS, LabSettings
from acidbase_lib.reading.settings_check import checked
from acidbase_lib.reading.settings_in_force import by_settings
from acidbase_lib.reading.value_range import Range, SettingsError
from acidbase_lib.teaching.questions.question_file import load_plan, unit_ids
from acidbase_lib.teaching.recipes.book import cook

from .fields import QuestionDeskError

#: What the form asks for; every other setting stays as the file has it.
ASKED: Final[Mapping[str, str]] = {
    "ph": "pH", "paco2": "PaCO2", "hco3": "Bicarbonate", "pao2": "PaO2", "sao2": "Saturation",
    "anion_gap": "Anion gap", "potassium": "Potassium", "sodium": "Sodium",
    "oxygen_target": "Oxygen target, most adults",
    "oxygen_target_co2_risk": "Oxygen target where CO2 may be retained",
    "pressure_unit": "Unit of pressure that is told first"}
_UNITS: Final = ("mmHg", "kPa")


def settings_text(folder: Path) -> str:
    """The text of the school's settings; empty where there are none."""
    path = folder / FILE
    return path.read_text("utf-8-sig") if path.is_file() else ""


def in_text(text: str) -> LabSettings:
    """Settings from the text of a file.

    Raises
    ------
    SettingsError
        A value is refused; the message says why.
    """
    try:
        given = tomllib.loads(text)
    except (tomllib.TOMLDecodeError, RecursionError) as error:
        raise SettingsError(f"{FILE}: is not TOML ({error})") from None
    return LabSettings(**checked(given, FILE, SETTINGS))


def rows(text: str) -> list[dict[str, Any]]:
    """Return each row of the form: key, label, the kit's value, and the school's as typed."""
    settings = in_text(text)
    found = []
    for key, label in ASKED.items():
        value = getattr(settings, key)
        ends = [_shown(value.low), _shown(value.high)] if isinstance(value, Range) else [value]
        found.append({"key": key, "label": label, "kit": DEFAULT_SETTINGS.text(key),
                      "values": ends, "choices": [] if isinstance(value, Range) else list(_UNITS)})
    return found


def changed_text(text: str, given: Mapping[str, Any]) -> str:
    """Return the file's text with the form's values; comments and all else stay.

    Raises
    ------
    SettingsError
        A value is refused, in the sentence that the reader of the file gives.
    QuestionDeskError
        The file is written in a way that the form cannot change.
    """
    before = tomllib.loads(text)
    wanted = dict(before)
    for key in ASKED:
        if key not in given:
            continue
        value = _value(key, given[key])
        default = DEFAULT_SETTINGS.as_dict()[key]
        if key in before or value != default:
            wanted[key] = value
            if key not in before or before[key] != value:
                text = _with(text, key, json.dumps(value, ensure_ascii=False))
    try:
        same = tomllib.loads(text) == wanted
    except tomllib.TOMLDecodeError:
        same = False
    if not same:
        raise QuestionDeskError(f"{FILE} is written in a way that this form cannot change; nothing "
                                "was written. Change the file itself.")
    in_text(text)
    return text


def save(folder: Path, given: Mapping[str, Any]) -> None:
    """Write the form's values into the school's settings, whole or not at all."""
    text = settings_text(folder)
    new = changed_text(text, given)
    if new != text:
        write_whole(folder / FILE, new)


def what_changes(old: LabSettings, new: LabSettings) -> Iterator[str]:
    """Yield a sentence for each unit of the kit whose questions ask or answer otherwise.

    Each unit's questions are drawn as its first form has them, by the one settings and the other.
    """
    for unit in unit_ids():
        plan = load_plan(unit)
        pair = []
        for settings in (old, new):
            with by_settings(settings):
                pair.append({one.id: one for one in cook(plan, 1)})
        keys = [name for name, one in pair[0].items() if one.key != pair[1][name].key]
        other = [name for name, one in pair[0].items()
                 if name not in keys and one.prompt != pair[1][name].prompt]
        if keys or other:
            said = [f"another key in {_named(keys)}"] if keys else []
            said += [f"other words or numbers in {_named(other)}"] if other else []
            yield f"{plan.title}: {'; '.join(said)}."


def _named(ids: list[str]) -> str:
    return ", ".join(one.removeprefix("q").replace("-", ".") for one in ids)


def _value(key: str, typed: Any) -> Any:
    ends = [str(one).strip() for one in typed] if isinstance(typed, list) else []
    if key == "pressure_unit":
        return ends[0] if ends else ""
    try:
        low, high = (float(one.replace(",", ".")) for one in ends)
    except ValueError:
        raise QuestionDeskError(f"{ASKED[key]}: “{' to '.join(ends)[:40]}” is not two numbers, low "
                                "and high; nothing was written.") from None
    return [int(one) if one.is_integer() else one for one in (low, high)]


def _with(text: str, key: str, value: str) -> str:
    value_now = r"""\[[^\]]*\]|"[^"\n]*"|'[^'\n]*'|[^#\n]*?"""
    line = re.compile(rf"^(\s*{key}\s*=\s*)({value_now})(\s*(?:#.*)?)$", re.M)
    if line.search(text):
        return line.sub(lambda found: f"{found[1]}{value}{found[3]}", text, count=1)
    return (text if not text or text.endswith("\n") else text + "\n") + f"{key} = {value}\n"


def _shown(number: float) -> str:
    return f"{number:.10g}"
