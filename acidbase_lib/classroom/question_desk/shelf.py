"""Files of questions opened and saved in a school's folder, and the draft that is never lost."""
from __future__ import annotations

import hashlib
import json
from collections.abc import Mapping
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any, Final

from acidbase_lib.classroom.atomic_write import write_whole
from acidbase_lib.classroom.school.folder import LARGEST, QUESTIONS
from acidbase_lib.teaching.handwritten.open_sheet import decode
from acidbase_lib.teaching.own_questions.carried import own_plan
from acidbase_lib.teaching.own_questions.faults import OwnUnitError
from acidbase_lib.teaching.questions.question_file import UnitPlan
from acidbase_lib.teaching.recipes.book import cook
from acidbase_lib.teaching.whole_file import read_whole

from .fields import QuestionDeskError
from .sheet import Sheet, from_wire, sheet_of

DRAFT: Final = ".question_desk.json"
_LONGEST_DRAFT: Final = 4_000_000  # bytes


@dataclass(frozen=True, slots=True)
class Shelf:
    """The files of questions of one school's folder."""

    folder: Path

    def names(self) -> tuple[str, ...]:
        """The units that can be opened here."""
        shelf = self.folder / QUESTIONS
        return tuple(sorted(path.stem for path in shelf.glob("*.txt")
                            if path.is_file() and not path.name.startswith((".", "~"))))

    def take_out(self, unit: str) -> dict[str, Any]:
        """Return a file as the screen holds it.

        Raises
        ------
        QuestionDeskError
            It is not there, or is no plain text.
        """
        if unit not in self.names():
            raise QuestionDeskError(f"There is no {QUESTIONS}/{unit[:60]}.txt any more.")
        text = self._text(self._path(unit))
        sheet = sheet_of(text)
        return {"unit": unit, "opened": fingerprint(text), "at": 0, **sheet.as_wire()}

    def save(self, doc: Mapping[str, Any], *, over: bool = False) -> str:
        """Write what is on the screen; return the fingerprint of what stands there now.

        Raises
        ------
        InTheWayError
            Another file is there, or this one was changed elsewhere since it was opened.
        QuestionDeskError
            It cannot be a unit yet; nothing was written.
        """
        unit, sheet = unit_name(doc), from_wire(doc)
        text = sheet.text
        checked_plan(unit, sheet)
        for other in (self.folder / QUESTIONS).glob(f"{unit}.*"):
            if other.suffix.lower() in (".csv", ".tsv", ".toml"):
                raise QuestionDeskError(f"{QUESTIONS}/{other.name} is the unit {unit} already: "
                                        "give yours another name.")
        path = self._path(unit)
        if path.is_symlink() or path.exists():
            now = self._text(path)
            if now == text:
                return fingerprint(text)
            if fingerprint(now) != doc.get("opened") and not over:
                raise InTheWayError(f"{QUESTIONS}/{unit}.txt is there already and is not what you "
                                    "opened here. Nothing was written. Press “Replace the file” "
                                    "to write over it, or change the name of the unit.")
        write_whole(path, text)
        return fingerprint(text)

    def keep(self, doc: Mapping[str, Any], stamp: float) -> None:
        """Keep a draft."""
        from_wire(doc)
        write_whole(self.folder / DRAFT, json.dumps({"stamp": stamp, "doc": doc}) + "\n",
                    durable=False)

    def draft(self) -> tuple[dict[str, Any], float]:
        """Return the draft that was kept and its stamp; an empty one where there is none."""
        try:
            data = read_whole(self.folder / DRAFT, _LONGEST_DRAFT)
            told = json.loads(data or b"")
            doc, stamp = dict(told["doc"]), float(told["stamp"])
            wire = {**from_wire(doc).as_wire(), "unit": str(doc.get("unit", "")),
                    "opened": str(doc.get("opened", "")), "at": int(doc.get("at", 0)),
                    "typed": _typed(doc.get("typed"))}
        except (QuestionDeskError, OSError, ValueError, LookupError, TypeError, OverflowError,
                RecursionError):
            return {}, 0.0
        return wire, stamp

    def _path(self, unit: str) -> Path:
        return self.folder / QUESTIONS / f"{unit}.txt"

    def _text(self, path: Path) -> str:
        data = read_whole(path, LARGEST) if path.is_file() else b""
        if data is None:
            raise QuestionDeskError(f"{path.name} has more than {LARGEST:,} bytes.")
        return decode(data, path.name).removeprefix("\ufeff").replace("\r\n", "\n").replace(
            "\r", "\n") if data else ""


class InTheWayError(QuestionDeskError):
    """A file would be written over that is not the one that was opened."""


def unit_name(doc: Mapping[str, Any]) -> str:
    """Return the name under which it is saved.

    Raises
    ------
    QuestionDeskError
        There is none.
    """
    unit = doc.get("unit")
    name = unit.strip() if isinstance(unit, str) else ""
    if not name:
        raise QuestionDeskError("Give the unit a name first, such as ward_round: it is the file's "
                                "name.")
    return name


def checked_plan(unit: str, sheet: Sheet) -> UnitPlan:
    """Return the unit that learners would be asked.

    Raises
    ------
    QuestionDeskError
        It cannot be asked; the first reason is said, and how many more there are.
    """
    if not sheet.parts:
        raise QuestionDeskError("Write a question first.")
    try:
        plan = own_plan(unit, sheet.text, where=f"{unit}.txt")
        for question in plan.questions:
            tuple(cook(replace(plan, questions=(question,)), 1))
    except OwnUnitError as error:
        first, more = error.faults[0], len(error.faults) - 1
        raise QuestionDeskError(f"Nothing was saved, your draft is kept: {first.sentence}" + (
            f" ({more} more: press “Look at this question” at each.)" if more else "")) from None
    return plan


def _typed(given: Any) -> dict[str, list[str]]:
    """What was typed into the form of the ranges and is not saved."""
    rows = given.items() if isinstance(given, dict) else ()
    return {str(key): [str(one)[:40] for one in value[:2]] for key, value in rows
            if isinstance(value, list)}


def fingerprint(text: str) -> str:
    """What tells one text from another."""
    return hashlib.sha256(text.encode()).hexdigest()[:16]
