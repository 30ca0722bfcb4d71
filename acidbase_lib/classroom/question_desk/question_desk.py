"""The question desk on one screen: write a question, look at it, save it; the school's ranges."""
from __future__ import annotations

import json
import shutil
import tempfile
from collections.abc import Callable, Mapping
from pathlib import Path
from typing import Any, Final

import traitlets

from acidbase_lib.caution import CAUTION
from acidbase_lib.classroom.atomic_write import write_whole
from acidbase_lib.classroom.desk.running import Run
from acidbase_lib.classroom.errors import CommandError
from acidbase_lib.classroom.phrases import counted
from acidbase_lib.classroom.school.folder import (
    MARK,
    QUESTIONS,
    School,
    SchoolError,
    find_school,
    question_files,
)
from acidbase_lib.classroom.school.folder import SETTINGS as SETTINGS_FILE
from acidbase_lib.classroom.school.look_over import doubts_of
from acidbase_lib.reading.disorders import DISORDERS
from acidbase_lib.reading.lab_settings import LabSettings
from acidbase_lib.reading.settings_in_force import by_settings
from acidbase_lib.reading.value_range import SettingsError
from acidbase_lib.teaching.handwritten.question_sheet import UnreadableError
from acidbase_lib.teaching.misconceptions.catalog import MISCONCEPTIONS
from acidbase_lib.teaching.patients.requests import COMPENSATION_WORDS, SEVERITY_WORDS
from acidbase_lib.teaching.theme import TOKENS
from acidbase_lib.teaching.widgets.assets import asset
from acidbase_lib.teaching.widgets.placed_widget import PlacedWidget

from . import ranges
from .fields import KINDS, QuestionDeskError
from .look import look_at
from .sheet import from_wire
from .shelf import InTheWayError, Shelf, checked_plan, unit_name
from .starts import starts

TRIED, PRINTED = "tried", "printed"
_LAID_OVER: Final = ("words", "patients", "lessons")  # of a school's folder, beside its questions
_LONGEST_RUN: Final = 300.0  # [s]
_HERE = Path(__file__).parent


class QuestionDesk(PlacedWidget):
    """A form in which an instructor writes questions into her school's folder.

    What is typed lives in the page and is sent here after each pause; here it is kept as a draft,
    looked at, and saved when that is pressed.

    Parameters
    ----------
    school : School
        The school's folder.
    """

    _esm = asset("placed.js") + "\n" + (_HERE / "question_desk.js").read_text("utf-8")
    _css = (TOKENS + (_HERE.parent / "desk" / "desk.css").read_text("utf-8")
            + (_HERE / "question_desk.css").read_text("utf-8"))

    shown = traitlets.Dict().tag(sync=True)
    wish = traitlets.Dict().tag(sync=True)
    fixed = traitlets.Dict().tag(sync=True)
    reopened = "Run this cell to open the question desk."

    def __init__(self, school: School) -> None:
        self._school, self._shelf = school, Shelf(school.folder)
        doc, stamp = self._shelf.draft()
        settings = ranges.in_text(ranges.settings_text(school.folder))
        super().__init__(
            fixed={"folder": str(school.folder.absolute()), "school": school.name,
                   "kinds": list(map(list, KINDS.items())), "starts": starts(),
                   "ranges": _ranges_line(settings),
                   "ideas": sorted(([key, one.name] for key, one in MISCONCEPTIONS.items()),
                                   key=lambda row: row[1].casefold()),
                   "disorders": [*DISORDERS, "mixed acidosis", "mixed alkalosis", "normal"],
                   "compensations": list(dict.fromkeys(COMPENSATION_WORDS.values())),
                   "severities": list(SEVERITY_WORDS), "caution": CAUTION},
            shown=self._view() | {"doc": doc, "stamp": stamp})
        self.observe(self._heard, "wish")

    def _heard(self, change: Any) -> None:
        """Do what was asked for; whatever comes of it is said."""
        wish = change["new"]
        told: dict[str, Any]
        try:
            with by_settings(ranges.in_text(ranges.settings_text(self._school.folder))):
                told = self._do(wish)
        except InTheWayError as error:
            told = {"said": str(error), "in_the_way": True}
        except (CommandError, ValueError, RuntimeError, OSError) as error:
            told = {"said": str(error), "refused": True}
        self.shown = self._view() | told | {"n": wish.get("n")}

    def _do(self, wish: Mapping[str, Any]) -> dict[str, Any]:
        match wish:
            case {"kind": "keep", "doc": dict(doc), "stamp": int(stamp) | float(stamp)}:
                self._shelf.keep(doc, stamp)
                return {"look": self._look(doc)}
            case {"kind": "open", "unit": str(unit)}:
                return {"doc": self._shelf.take_out(unit),
                        "said": f"{QUESTIONS}/{unit}.txt is open."}
            case {"kind": "save", "doc": dict(doc)}:
                opened = self._shelf.save(doc, over=wish.get("over") is True)
                unit = unit_name(doc)
                return {"opened": opened, "look": self._look(doc),
                        "said": f"Saved: {QUESTIONS}/{unit}.txt, the unit {unit}."}
            case {"kind": "try", "doc": dict(doc)}:
                return self._run(doc, lambda unit, school: (
                    "form", unit, "--seed", "1", "--as-lesson", "--self-marking", "--force",
                    "--school", school, "--out", str(self._school.folder / TRIED)),
                    lambda unit: [("See it as a learner", f"{TRIED}/course/{unit}_form_1/"
                                                          f"{unit}_form_1.ipynb")])
            case {"kind": "print", "doc": dict(doc)}:
                return self._run(doc, lambda unit, school: (
                    "worksheet", unit, "--school", school, "--out",
                    str(self._school.folder / PRINTED)),
                    lambda unit: [("Worksheet", f"{PRINTED}/{unit}_form_1_worksheet.html"),
                                  ("Key, for whoever marks", f"{PRINTED}/{unit}_form_1_key.html")])
            case {"kind": "ranges", "values": dict(values)}:
                return self._ranges(values, save=wish.get("save") is True)
        return {}

    def _look(self, doc: Mapping[str, Any]) -> dict[str, Any]:
        """What there is to see of the question on the screen, or what it still needs."""
        sheet, at = from_wire(doc), doc.get("at")
        if not isinstance(at, int) or not 0 <= at < len(sheet.parts):
            return {"needs": "", "at": at}
        try:
            return {**look_at(sheet, at), "at": at}
        except QuestionDeskError as error:
            return {"needs": str(error).removeprefix("Question 1: "), "at": at}

    def _run(self, doc: Mapping[str, Any], words: Callable[[str, str], tuple[str, ...]],
             links: Callable[[str], list[tuple[str, str]]]) -> dict[str, Any]:
        """Run a command of the kit on what is on the screen, saved or not."""
        unit, sheet = unit_name(doc), from_wire(doc)
        checked_plan(unit, sheet)
        with tempfile.TemporaryDirectory(prefix="acidbase-question-desk-") as work:
            for name in (MARK, SETTINGS_FILE):
                if (self._school.folder / name).is_file():
                    write_whole(Path(work, name), (self._school.folder / name).read_bytes(),
                                durable=False)
            for name in _LAID_OVER:
                if (self._school.folder / name).is_dir():
                    shutil.copytree(self._school.folder / name, Path(work, name))
            write_whole(Path(work, QUESTIONS, f"{unit}.txt"), sheet.text, durable=False)
            run = Run(words(unit, work), self._school.folder)
            if run.wait(_LONGEST_RUN) is None:
                run.stop()
                raise QuestionDeskError("It took too long and was stopped. Press it again.")
        if run.code:
            raise QuestionDeskError(f"Not done: {run.sentence}")
        return {"said": "Done. Open it below.",
                "links": [[label, path] for label, path in links(unit)
                          if (self._school.folder / path).exists()]}

    def _ranges(self, values: Mapping[str, Any], *, save: bool) -> dict[str, Any]:
        text = ranges.settings_text(self._school.folder)
        old = ranges.in_text(text)
        new = ranges.in_text(ranges.changed_text(text, values))
        if save:
            ranges.save(self._school.folder, values)
            return {"said": f"Saved in {SETTINGS_FILE}; its comments stand as they were.",
                    "ranges_saved": True}
        lines = [] if old == new else [*ranges.what_changes(old, new), *self._own(old, new)]
        return {"changes": lines, "said": (
            "These are the values in force: nothing would change." if old == new else
            "No question of the kit or of yours would change." if not lines else
            f"Not saved yet. {counted(len(lines), 'unit')} would change; see the list.")}

    def _own(self, old: LabSettings, new: LabSettings) -> list[str]:
        """What the check would doubt of the school's own questions by the new ranges alone."""
        lines = []
        for name, path in question_files(self._school.folder)[0].items():
            found = []
            for settings in (old, new):
                with by_settings(settings):
                    try:
                        found.append(doubts_of(path))
                    except UnreadableError:
                        found.append(())
            fresh = [one for one in found[1] if one not in found[0]]
            if fresh:
                lines.append(f"Your {name}: the check would doubt {fresh[0]}"
                             + (f" (and {len(fresh) - 1} more)" if len(fresh) > 1 else ""))
        return lines

    def _view(self) -> dict[str, Any]:
        """What the screen shows beside the question itself."""
        try:
            rows = ranges.rows(ranges.settings_text(self._school.folder))
        except (SettingsError, OSError, UnicodeDecodeError) as error:
            return {"units": list(self._shelf.names()), "rows": [], "said": str(error)}
        return {"units": list(self._shelf.names()), "rows": rows, "said": ""}


def open_questions(folder: str | Path = ".") -> QuestionDesk | None:
    """Open the question desk of a school's folder; where there is none, say so and return None."""
    try:
        school = find_school(None, Path(folder).absolute())
    except SchoolError as error:
        print(f"The question desk cannot open yet: {error}")
        return None
    if school is None:
        print(f"{Path(folder).absolute()} is not a school's folder: `acidbase school new DIR` "
              "makes one, with the question desk in it.")
        return None
    return QuestionDesk(school)


def _ranges_line(settings: LabSettings) -> str:
    return (f"pH {json.dumps(settings.ph.low)}-{json.dumps(settings.ph.high)}, PaCO2 "
            f"{settings.paco2.low:g}-{settings.paco2.high:g} mmHg, HCO3 {settings.hco3.low:g}-"
            f"{settings.hco3.high:g} mmol/L")
