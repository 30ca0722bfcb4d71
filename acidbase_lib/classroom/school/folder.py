"""A school's folder: found, opened, and each of its files named.

The folder says what a school lays over the kit: `school.toml` (its name), `settings.toml` (its
ranges) and `questions/` (its own units). A command reads it once and hands what it needs on; see
``own_questions.carried`` for how questions travel from there.
"""
from __future__ import annotations

import os
import re
import tomllib
from collections.abc import Mapping
from contextlib import AbstractContextManager, nullcontext
from dataclasses import dataclass, replace
from pathlib import Path
from types import MappingProxyType
from typing import Any, Final

from acidbase_lib.classroom.errors import CommandError
from acidbase_lib.reading.lab_settings import LabSettings
from acidbase_lib.reading.settings_in_force import by_settings
from acidbase_lib.reading.value_range import SettingsError
from acidbase_lib.teaching.handwritten.open_sheet import decode
from acidbase_lib.teaching.handwritten.question_sheet import UnreadableError
from acidbase_lib.teaching.own_questions.carried import TEXT, TOML, own_plan
from acidbase_lib.teaching.own_questions.faults import Fault, OwnUnitError
from acidbase_lib.teaching.questions.question_file import UnitError, UnitPlan, unit_ids
from acidbase_lib.teaching.recipes.book import cook
from acidbase_lib.teaching.whole_file import read_whole

MARK: Final = "school.toml"
SETTINGS: Final = "settings.toml"
QUESTIONS: Final = "questions"
ENDINGS: Final = (".txt", ".csv", ".tsv", ".toml")
LARGEST: Final = 1_000_000  # bytes of one file
MOST_FILES: Final = 200
LONGEST_NAME: Final = 80
_LANGUAGE: Final = re.compile(r"(?:[a-z]{2,3}(?:_[A-Z]{2})?)?")


class SchoolError(CommandError):
    """A school's folder that cannot be used; names the file and the line."""


@dataclass(frozen=True, slots=True)
class FileFault:
    """One fault: the file within the folder, the line, and a sentence."""

    file: str
    line: int
    sentence: str

    def __str__(self) -> str:
        return f"{self.file}, line {self.line}: {self.sentence}"


@dataclass(frozen=True, slots=True)
class School:
    """A school's folder whose `school.toml` and `settings.toml` hold.

    `files` are its question files by the unit's name.
    """

    folder: Path
    name: str
    settings: Path | None
    files: Mapping[str, Path]

    @property
    def told(self) -> str:
        """The line in which a command says whose ranges and questions it used."""
        return f"School: {self.name} ({self.folder})"

    def plan(self, unit_id: str) -> UnitPlan | None:
        """Return one of the school's own units; None for a unit of the kit.

        Raises
        ------
        SchoolError
            The file cannot be a unit, or neither the school nor the kit has such a unit.
        """
        path = self.files.get(unit_id)
        if path is None:
            return None
        try:
            return plan_of_file(path, self.folder)
        except UnitError as error:
            raise SchoolError(str(error)) from None


def find_school(given: Path | None, here: Path | None = None) -> School | None:
    """Open the folder that was named, or the first with a `school.toml` from here upwards.

    Raises
    ------
    SchoolError
        The named folder is none, or its own file or its settings have a fault.
    """
    folder = given
    if folder is None:
        start = (here or Path()).absolute()
        folder = next((one for one in (start, *start.parents) if (one / MARK).is_file()), None)
        if folder is None:
            return None
    if not folder.is_dir():
        raise SchoolError(f"--school {folder} is no folder; `acidbase school new {folder}` makes "
                          "one")
    if not (folder / MARK).is_file():
        raise SchoolError(f"--school {folder} holds no {MARK}; `acidbase school new DIR` makes a "
                          "folder that does")
    files, doubled = question_files(folder)
    for fault in (*faults_of_mark(folder), *faults_of_settings(folder), *doubled):
        raise SchoolError(f"{fault} (`acidbase school check --school {folder}` lists every fault)")
    settings = folder / SETTINGS
    return School(folder, str(_table(folder / MARK).get("name") or folder.absolute().name),
                  settings if settings.is_file() else None, files)


def by_its_settings(school: School | None) -> AbstractContextManager[object]:
    """Draw and tell by a school's settings, where there is a school and it has some."""
    return nullcontext() if school is None or school.settings is None else by_settings(
        LabSettings.from_toml(school.settings))


def plan_of_file(path: Path, folder: Path) -> UnitPlan:
    """Read one file of questions as a unit.

    Raises
    ------
    UnitError
        It cannot be one; names the file and the line.
    """
    name = path.relative_to(folder).as_posix()
    text = text_of_file(path, name)
    plan = own_plan(path.stem, text, TOML if path.suffix.lower() == ".toml" else TEXT, name)
    for question in plan.questions:
        try:
            tuple(cook(replace(plan, questions=(question,)), 1))
        except Exception as error:  # a recipe given something else than it takes: any kind
            said = str(error) if isinstance(error, ValueError) else (
                f"the recipe {question.recipe!r} needs an entry {error}" if isinstance(
                    error, KeyError) else
                f"the recipe {question.recipe!r} cannot use what it is given: {str(error)[:80]}")
            raise OwnUnitError(name, (Fault(_line_of(text, f'id = "{question.id}"'),
                                            f"{question.id}: {said.rstrip('.')}."),)) from None
    return plan


def question_files(folder: Path) -> tuple[Mapping[str, Path], tuple[FileFault, ...]]:
    """Return the question files by unit, and what is wrong with their names."""
    shelf, faults = folder / QUESTIONS, []
    files: dict[str, Path] = {}
    if shelf.exists() and not shelf.is_dir():
        return {}, (FileFault(QUESTIONS, 1, "this is a file, and a folder is wanted: put the files "
                              "of questions into a folder with this name."),)
    found = sorted(shelf.iterdir()) if shelf.is_dir() else []
    for path in found[:MOST_FILES]:
        name = f"{QUESTIONS}/{path.name}"
        if path.name.startswith((".", "~")) or path.name.endswith("~"):
            continue
        if not path.is_file():
            faults.append(FileFault(name, 1, "this is no file; questions stand in files, one a "
                                    "unit."))
        elif path.suffix.lower() not in ENDINGS:
            faults.append(FileFault(name, 1, "a file of questions ends in .txt, .csv or .toml: "
                                    "save it as plain text, or as CSV if it is a spreadsheet."))
        elif path.stem in unit_ids():
            faults.append(FileFault(name, 1, f"the kit has a unit {path.stem} itself: give yours "
                                    "another name."))
        elif path.stem in files:
            faults.append(FileFault(name, 1, f"{files[path.stem].name} is the unit {path.stem} as "
                                    "well: keep one of the two."))
        else:
            files[path.stem] = path
    if len(found) > MOST_FILES:
        faults.append(FileFault(QUESTIONS, 1, f"the folder holds {len(found)} files, more than "
                                f"{MOST_FILES}."))
    return MappingProxyType(files), tuple(faults)


def faults_of_mark(folder: Path) -> tuple[FileFault, ...]:
    """What is wrong with `school.toml`."""
    try:
        table = _table(folder / MARK)
    except SchoolError as error:
        return (_by_line(MARK, str(error)),)
    for key in table:
        if key not in ("name", "language"):
            return (FileFault(MARK, _line_with(folder / MARK, key),
                              f"{key[:40]!r} is no entry of this file: name and language are; "
                              f"ranges belong in {SETTINGS}, questions in {QUESTIONS}."),)
    name = table.get("name", "")
    if not isinstance(name, str) or len(name) > LONGEST_NAME or not name.isprintable():
        return (FileFault(MARK, _line_with(folder / MARK, "name"),
                          f"name = {str(name)[:40]!r} is not a text of one line, at most "
                          f"{LONGEST_NAME} characters."),)
    language = table.get("language", "")
    if not isinstance(language, str) or not _LANGUAGE.fullmatch(language):
        return (FileFault(MARK, _line_with(folder / MARK, "language"),
                          f"language = {str(language)[:40]!r} is no language's short name, such as "
                          '"es" or "pt_BR".'),)
    if language and not (folder / "words" / f"{language}.po").is_file():
        return (FileFault(MARK, _line_with(folder / MARK, "language"),
                          f"there is no words/{language}.po."),)
    return ()


def language_of(folder: Path) -> str:
    """The language whose words are laid over the kit's; "" for none, or where it has a fault."""
    return "" if faults_of_mark(folder) else str(_table(folder / MARK).get("language", ""))


def faults_of_settings(folder: Path) -> tuple[FileFault, ...]:
    """What is wrong with `settings.toml`, if there is one."""
    path = folder / SETTINGS
    if not os.path.lexists(path):
        return ()
    try:
        text = text_of_file(path, SETTINGS)
        LabSettings.from_toml(path)
    except SettingsError as error:
        said = str(error).removeprefix(f"{path}: ").rstrip(".") + "."
        key = str(error.quantity or "")
        line = _line_of(text, key) if key else int(_number_after(said, "line ") or 1)
        return (FileFault(SETTINGS, line, said),)
    except (UnitError, SchoolError) as error:
        return (_by_line(SETTINGS, str(error)),)
    return ()


def faults_of_unit(path: Path, folder: Path) -> tuple[FileFault, ...]:
    """What keeps a file of questions from being a unit."""
    name = path.relative_to(folder).as_posix()
    try:
        plan_of_file(path, folder)
    except OwnUnitError as error:
        return tuple(FileFault(name, fault.line, fault.sentence) for fault in error.faults)
    except UnitError as error:
        return (_by_line(name, str(error)),)
    return ()


def _by_line(name: str, said: str) -> FileFault:
    said = said.removeprefix(f"{name}: ").removeprefix(f"{name}, ").removeprefix(f"{name} ")
    return FileFault(name, int(_number_after(said, "line ") or 1), said)


def text_of_file(path: Path, name: str, largest: int = LARGEST) -> str:
    """The text of one file of the folder; a fault says why it has none."""
    try:
        data = read_whole(path, largest) if path.is_file() else b""
    except OSError as error:
        raise OwnUnitError(name, (Fault(1, f"it cannot be read ({error.strerror})."),)) from None
    if data is None:
        raise OwnUnitError(name, (Fault(1, f"it has more than {largest:,} bytes."),))
    if not path.is_file():
        raise OwnUnitError(name, (Fault(1, "this is no file."),))
    try:
        return decode(data, name)
    except UnreadableError as error:
        raise OwnUnitError(name, (Fault(1, f"{error}.".replace(name, "the file", 1)),)) from None


def _table(path: Path) -> dict[str, Any]:
    try:
        text = text_of_file(path, path.name)
        return tomllib.loads(text.removeprefix("\ufeff").replace("\r\n", "\n"))
    except UnitError as error:
        raise SchoolError(str(error)) from None
    except (tomllib.TOMLDecodeError, RecursionError) as error:
        raise SchoolError(f"{path.name}: this is not TOML ({error}); a line looks like name = "
                          '"Harbor Lane School of Nursing".') from None


def _line_with(path: Path, key: str) -> int:
    return _line_of(text_of_file(path, path.name), key)


def _line_of(text: str, key: str) -> int:
    return next((number for number, line in enumerate(text.splitlines(), 1)
                 if line.lstrip(" \t\"'").startswith(key)), 1)


def _number_after(text: str, word: str) -> str:
    found = re.search(rf"{word}(\d+)", text)
    return found[1] if found else ""
