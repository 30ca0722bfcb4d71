"""The units in a learner's folder, read as data: what is answered, left or damaged."""
from __future__ import annotations

import json
import re
from collections.abc import Mapping
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from acidbase_lib.teaching.questions.answer_text import RESERVED, read_chart
from acidbase_lib.teaching.questions.spelling import fold
from acidbase_lib.teaching.whole_file import read_whole

LARGEST = 20_000_000  # of a notebook that is read [bytes]
LONGEST_TITLE = 200  # [characters]
MOST_UNITS = 60
NEWER = "newer"  # UNIT (newer): a unit's newer version, put beside a learner's own
_ANSWER = re.compile(r"%%chart[ \t]+(q\d[\w-]*)[^\n]*(?:\n|$)")
_NAMED = re.compile(r"(q\d[\w-]*)-answer")
_PROMPT = "-prompt"
_SETUP = re.compile(r"\bopen_unit\(")
_TITLE = re.compile(r"^# +(.+)$", re.MULTILINE)
_HALF = re.compile("[\ud800-\udfff]")  # half a letter: no message to a browser can hold it


@dataclass(frozen=True, slots=True)
class LearnerUnit:
    """One unit as it stands in a learner's folder.

    Attributes
    ----------
    path : str
        Of its notebook, from the folder.
    title : str
        Its heading; the file's name where none could be read.
    texts : mapping of str to str
        The text of each question's answer cell.
    setup : str
        The line that opens the unit.
    changed : float
        When the file was last saved. [s since 1970]
    error : str
        Why it could not be read, and what to do; "" where it could.
    prompts : mapping of str to str
        What this copy asks, by question.
    """

    path: str
    title: str
    texts: Mapping[str, str] = field(default_factory=dict)
    setup: str = ""
    changed: float = 0.0
    error: str = ""
    prompts: Mapping[str, str] = field(default_factory=dict)

    @property
    def answered(self) -> tuple[str, ...]:
        """The questions that have a value on every line."""
        return tuple(name for name, text in self.texts.items() if _state(text) == "answered")

    @property
    def begun(self) -> bool:
        """True where any line of any question has a value."""
        return any(_state(text) != "empty" for text in self.texts.values())

    @property
    def done(self) -> bool:
        """True where every question is answered."""
        return bool(self.texts) and len(self.answered) == len(self.texts)


def learner_units(folder: Path) -> tuple[LearnerUnit, ...]:
    """Read every unit of a folder, in the order of their names; none is run or changed.

    A unit is a folder with a notebook of its name in it, a newer version one beside it.
    """
    paths = sorted(path for path in folder.glob("*/*.ipynb")
                   if path.stem == path.parent.name and not path.name.startswith(".")
                   and not _HALF.search(path.stem))  # no address leads there
    return tuple(read_unit(path, path.relative_to(folder).as_posix())
                 for path in paths[:MOST_UNITS])


def read_unit(path: Path, name: str) -> LearnerUnit:
    """Read one unit; what cannot be read is told, not raised."""
    try:
        data = read_whole(path, LARGEST)
        if data is None:
            return _troubled(name, "is too large to be read here. It may still open.")
        changed = path.stat().st_mtime
        cells = _cells(json.loads(data.decode("utf-8-sig")))
    except OSError:
        return _troubled(name, "cannot be opened. Ask whoever looks after this computer.")
    except (ValueError, RecursionError, TypeError):
        return _troubled(name, "is damaged and cannot be read. Nothing was deleted: keep the file, "
                               "and ask your instructor to look at it.")
    title, setup, texts = "", "", {}
    prompts = {gid.removesuffix(_PROMPT): text for _, text, gid in cells if gid.endswith(_PROMPT)}
    for kind, text, gid in cells:
        if kind == "markdown" and not title and (found := _TITLE.search(text)):
            title = _sayable(found[1].strip()[:LONGEST_TITLE])
        elif kind == "code" and (found := _ANSWER.match(text) or _NAMED.fullmatch(gid)):
            texts[found[1]] = text
        elif kind == "code" and not setup and _SETUP.search(text):
            setup = text
    if not texts:
        return _troubled(name, "holds no questions. It may be a file of another kind.", title)
    if title and f" ({NEWER}" in name:
        title = f"{title} ({NEWER} version)"
    return LearnerUnit(name, title or _plain_name(name), texts, setup, changed, prompts=prompts)


def next_unit(units: tuple[LearnerUnit, ...]) -> LearnerUnit | None:
    """Where to go on: the unit that was begun and saved last, else the first that is not done."""
    open_ones = [unit for unit in units if unit.texts and not unit.done]
    begun = [unit for unit in open_ones if unit.begun]
    return max(begun, key=lambda unit: unit.changed) if begun else next(iter(open_ones), None)


def _state(text: str) -> str:
    """ "empty", "begun" or "answered", from the text alone."""
    lines = [line for line in read_chart(text) if fold(line.field) not in RESERVED]
    given = [line for line in lines if line.value]
    if not given:
        return "empty"
    return "answered" if len(given) == len(lines) else "begun"


def _cells(notebook: Any) -> list[tuple[str, str, str]]:
    """Return each cell's kind, text and grade id."""
    cells = notebook["cells"] if isinstance(notebook, dict) and "cells" in notebook else None
    if not isinstance(cells, list):
        raise ValueError("no cells")
    return [(str(cell.get("cell_type")), _text(cell.get("source")), _grade_id(cell))
            for cell in cells if isinstance(cell, dict)]


def _text(source: Any) -> str:
    if isinstance(source, list):
        return "".join(line for line in source if isinstance(line, str))
    return source if isinstance(source, str) else ""


def _grade_id(cell: Mapping[str, Any]) -> str:
    metadata = cell.get("metadata")
    cell_data = metadata.get("nbgrader") if isinstance(metadata, dict) else None
    return str(cell_data.get("grade_id") or "") if isinstance(cell_data, dict) else ""


def _troubled(name: str, why: str, title: str = "") -> LearnerUnit:
    return LearnerUnit(name, title or _plain_name(name), error=f"This file {why}")


def _plain_name(name: str) -> str:
    return _sayable(Path(name).stem.replace("_", " "))


def _sayable(text: str) -> str:
    return _HALF.sub("\ufffd", text)
