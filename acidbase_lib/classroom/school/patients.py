"""A school's own people: `patients/`, read, looked over, and made ready to be laid over."""
from __future__ import annotations

import re
import tomllib
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any, Final

from acidbase_lib.reading.settings_in_force import by_settings, in_force
from acidbase_lib.teaching.content import content, content_text
from acidbase_lib.teaching.laid_over import as_toml, pack
from acidbase_lib.teaching.own_questions.faults import OwnUnitError
from acidbase_lib.teaching.patients.people_names import GROUPS
from acidbase_lib.teaching.patients.story_check import (
    Objection,
    objections_to_drawing,
    objections_to_history,
    objections_to_person,
)
from acidbase_lib.teaching.patients.vignettes import FILES, vignettes
from acidbase_lib.teaching.practice.made_scenes import draw_made, states
from acidbase_lib.teaching.seeded_random import SeededRandom

from .folder import FileFault, text_of_file

PATIENTS: Final = "patients"
HISTORIES, NAMES, PEOPLE = "vignettes.toml", "names.toml", "bedside_people.toml"
KNOWN: Final = (HISTORIES, NAMES, PEOPLE)
_NAME: Final = re.compile(r"[^\W\d_](?:[^\W\d_]|['’-](?=[^\W\d_])){1,23}")
_LISTS: Final = (*GROUPS, "family")


@dataclass(frozen=True, slots=True)
class OwnPatients:
    """What a school's `patients/` lays over the kit: files of content, what they add, faults."""

    files: Mapping[str, str]
    told: tuple[str, ...] = ()
    faults: tuple[FileFault, ...] = ()


def own_patients(folder: Path) -> OwnPatients:
    """Read a school's people; where there is one fault, nothing of them is laid over."""
    shelf = folder / PATIENTS
    if not shelf.exists():
        return OwnPatients({})
    if not shelf.is_dir():
        return OwnPatients({}, faults=(FileFault(PATIENTS, 1, "this is a file, and a folder is "
                                                 "wanted."),))
    files: dict[str, str] = {}
    told: list[str] = []
    faults: list[FileFault] = []
    for path in sorted(shelf.iterdir()):
        name = f"{PATIENTS}/{path.name}"
        if path.name.startswith((".", "~")) or path.name.endswith("~"):
            continue
        if path.name not in KNOWN:
            faults.append(FileFault(name, 1, "this is none of the files that are laid over the "
                                    f"kit's people: {', '.join(KNOWN)}."))
            continue
        try:
            text = text_of_file(path, name).removeprefix("\ufeff").replace("\r\n", "\n")
            table = tomllib.loads(text)
        except OwnUnitError as error:
            faults += [FileFault(name, one.line, one.sentence) for one in error.faults]
            continue
        except (tomllib.TOMLDecodeError, RecursionError) as error:
            line = re.search(r"line (\d+)", str(error))
            faults.append(FileFault(name, int(line[1]) if line else 1,
                                    f"this is not TOML ({str(error)[:100]}); a text stands in "
                                    "quotation marks."))
            continue
        found = [FileFault(name, _line(text, row, key), sentence)
                 for row, key, sentence in _CHECKS[path.name](table)]
        faults += found
        if not found:
            files |= _files(path.name, table)
            told += [f"{name}: {one}" for one in _told(path.name, table)]
    faults += () if faults else _drawn(files, shelf)
    return OwnPatients({} if faults else files, tuple(told), tuple(faults))


def _drawn(files: Mapping[str, str], shelf: Path) -> Iterator[FileFault]:
    """What is found out only when somebody is drawn."""
    if not files:
        return
    with by_settings(replace(in_force(), laid_over=pack(files))):
        for name in (HISTORIES, PEOPLE):
            if not (shelf / name).is_file():
                continue
            text = text_of_file(shelf / name, f"{PATIENTS}/{name}").replace("\r\n", "\n")
            rows = (_rows(tomllib.loads(text.removeprefix("\ufeff"))) if name == HISTORIES else
                    tomllib.loads(text.removeprefix("\ufeff"))["person"])
            for row in rows:
                for key, sentence in (objections_to_drawing(row) if name == HISTORIES else
                                      _objections_to_scenes(row)):
                    yield FileFault(f"{PATIENTS}/{name}", _line(text, row["id"], key),
                                    f"{row['id']}: {sentence}")


def _objections_to_scenes(row: Mapping[str, Any]) -> Iterator[Objection]:
    """Whether the rules find first what each finding means to be first, in this person too."""
    for state in states():
        if not set(state["of"]) & set(row["of"]) or row["id"] in state.get("but", ()):
            continue
        try:
            drawn = draw_made(state, row, SeededRandom(f"{row['id']} own"))
        except ValueError as error:
            yield "id", f"with the finding {state['id']!r}: {str(error).rstrip('.')}."
            return
        if drawn.found.best is None or drawn.why[drawn.key] != drawn.found.reason:
            yield "of", (f"with the finding {state['id']!r} something else would come first in "
                         "this person: leave out the group, or the history.")
            return


Found = Iterator[tuple[str, str, str]]  # the row's id or "", the key, a sentence


def _histories(table: Mapping[str, Any]) -> Found:
    kits, seen = _kits_groups(), set[str]()
    of_kit = {one.id: group for group, rows in vignettes().items() for one in rows}
    for group, own in table.items():
        if group not in kits:
            yield "", group, (f"{group[:40]!r} is no group of histories; the groups are "
                              f"{', '.join(kits)}.")
            continue
        rows = own.get("vignettes") if isinstance(own, dict) else None
        if not isinstance(rows, list) or not all(isinstance(one, dict) for one in rows):
            yield "", f"[{group}", f"write a line [[{group}.vignettes]] before each history."
            continue
        for row in rows:
            name = row["id"] if isinstance(row.get("id"), str) else ""
            if name in seen:
                yield name, "id", f"the id {name[:40]!r} stands here twice."
            elif of_kit.get(name, group) != group:
                yield name, "id", (f"the kit has a history {name!r} in the group {of_kit[name]}: "
                                   "give yours another id.")
            seen.add(name)
            for key, sentence in objections_to_history({**_common(own), **row}):
                where = name if key in row or key not in own else ""
                yield where, key, f"{name[:40] or 'a history'}: {sentence}"
        if len(rows) == 0:
            yield "", f"[{group}", f"the group {group} holds no history."


def _names(table: Mapping[str, Any]) -> Found:
    kits = tomllib.loads(content("patients", "names.toml").read_text("utf-8"))
    taken = {name: key for key, names in kits.items() for name in names}
    words = _words_of_the_course()
    for key, names in table.items():
        if key not in _LISTS:
            yield "", key, f"{key[:40]!r} is no list of names; the lists are {', '.join(_LISTS)}."
            continue
        if not isinstance(names, list) or not all(isinstance(one, str) for one in names):
            yield "", key, f"{key} is a list of names, such as [\"Aurel\", \"Idris\"]."
            continue
        for name in names:
            if not _NAME.fullmatch(name) or not name[0].isupper():
                yield "", f'"{name}', (f"{name[:30]!r} is no name of one word: a capital letter, "
                                       "then letters.")
            elif taken.get(name, key) != key:
                yield "", f'"{name}', (f"{name} stands under {taken[name]} already: a name keeps "
                                       "its pronouns.")
            elif name in words:
                yield "", f'"{name}', (f"{name} is also a word of the course: renaming somebody "
                                       "would change it.")
            taken[name] = key


def _people(table: Mapping[str, Any]) -> Found:
    for key in table:
        if key != "person":
            yield "", key, f"{key[:40]!r} is no entry: write a line [[person]] before each person."
    rows = table.get("person")
    if not isinstance(rows, list) or not all(isinstance(one, dict) for one in rows):
        yield "", "person", "write a line [[person]] before each person."
        return
    groups = frozenset(group for state in states() for group in state["of"])
    for place, row in enumerate(rows):
        name = row["id"] if isinstance(row.get("id"), str) else ""
        if name in [one.get("id") for one in rows[:place]]:
            yield name, "id", f"the id {name[:40]!r} stands here twice."
        for key, sentence in objections_to_person(row, groups):
            yield name, key, f"{name[:40] or 'a person'}: {sentence}"


_CHECKS: Final = {HISTORIES: _histories, NAMES: _names, PEOPLE: _people}


def _lay_histories(table: Mapping[str, Any]) -> dict[str, str]:
    kits, files = _kits_groups(), {}
    for file in FILES:
        own = {group: {"vignettes": [{**_common(rows), **row} for row in rows["vignettes"]]}
               for group, rows in table.items() if kits[group] == file}
        if own:
            files[f"patients/{file}"] = as_toml(own)
    return files


def _files(name: str, table: Mapping[str, Any]) -> dict[str, str]:
    return (_lay_histories(table) if name == HISTORIES else
            {f"patients/{name}": as_toml(table)})


def _told(name: str, table: Mapping[str, Any]) -> Iterator[str]:
    if name == NAMES:
        yield f"{sum(map(len, table.values()))} names"
    elif name == PEOPLE:
        yield f"{len(table['person'])} people of bedside scenes"
    else:
        for group, own in table.items():
            yield (f"{group.replace('_', ' ')}: "
                   f"{', '.join(row['id'] for row in own['vignettes'])}")


def _kits_groups() -> dict[str, str]:
    return {group: file for file in FILES
            for group in tomllib.loads(content_text("patients", file))}


def _common(own: Mapping[str, Any]) -> dict[str, Any]:
    return {key: value for key, value in own.items() if key != "vignettes"}


def _rows(table: Mapping[str, Any]) -> list[Mapping[str, Any]]:
    return [row for own in table.values() for row in own["vignettes"]]


def _words_of_the_course() -> frozenset[str]:
    files = [path for place in (content(), content("patients"), content("questions"))
             for path in place.iterdir() if path.name.endswith(".toml")
             and path.name != "names.toml"]
    return frozenset(re.findall(r"\w+", "\n".join(path.read_text("utf-8") for path in files)))


def _line(text: str, row: str, key: str) -> int:
    """The line of a row's key; of its id where the key stands beside others; else the first."""
    lines = text.splitlines()
    start = next((place for place, line in enumerate(lines) if row and re.match(
        rf"\s*id\s*=\s*['\"]{re.escape(row)}['\"]", line)), 0)
    first = start
    while row and first and not lines[first].lstrip().startswith("["):
        first -= 1
    for place, line in enumerate(lines[first:], first):
        if row and place > start and line.lstrip().startswith("["):
            break
        if (key[1:] in line if key.startswith('"') else
                re.match(rf"[\s\"'\[]*{re.escape(key.lstrip('['))}\b", line)):
            return place + 1
    return start + 1
