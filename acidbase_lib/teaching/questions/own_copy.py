"""Which questions of a learner's own copy this version of the kit draws other patients for."""
from __future__ import annotations

import json
import os
import re
from collections import Counter
from collections.abc import Iterator, Mapping
from pathlib import Path
from typing import Any, Final

from acidbase_lib.teaching.in_notebook import running_shell
from acidbase_lib.teaching.whole_file import read_whole

from .exercise import Exercise
from .prompt import HEADING, what_it_says

#: Said in place of an explanation of somebody who does not stand in the copy.
OTHER_PATIENT: Final = (
    "Your copy is of another version of the kit: it asks about somebody else here, whom this "
    "version does not know, so nothing is explained. `acidbase study` brings the new version and "
    "keeps your answers; in a class your instructor marks the copy that you were given.")
LONGEST = 20_000_000  # of a notebook [bytes]
MOST = 50  # notebooks of a folder that are looked at
SESSION = "JPY_SESSION_NAME"  # Jupyter tells a kernel by it which notebook it serves
_NUMBER = re.compile(r"\d+(?:\.\d+)?")
_CAPTION, _TAG = re.compile(r"<caption>.*?</caption>", re.DOTALL), re.compile(r"<[^>]*>")
_MARKS = re.compile(r"[*`|_>#]")


class OwnCopy:
    """The notebook in which a person works with one form of a unit; looked at once, when asked.

    Parameters
    ----------
    unit_id, form, order
        The form that the notebook opens.
    """

    def __init__(self, unit_id: str, form: int, order: str = "") -> None:
        self._opened = (unit_id, form, order)
        self._others: frozenset[str] | None = None

    def others(self, exercises: Mapping[str, Exercise]) -> frozenset[str]:
        """Return the questions that the copy asks about somebody else; none where it is unknown."""
        if running_shell() is None:
            return frozenset()  # no person works here: a program marks, or a test asks
        if self._others is None:
            self._others = asked_otherwise_in(
                {name: one.prompt for name, one in exercises.items()}, own_copy(*self._opened))
        return self._others

    def known(self, exercises: Mapping[str, Exercise]) -> dict[str, Exercise]:
        """Return the questions whose patient stands in the copy and in this version alike."""
        others = self.others(exercises)
        return {name: one for name, one in exercises.items() if name not in others}


def asked_otherwise_in(prompts: Mapping[str, str], notebook: Mapping[str, Any]) -> frozenset[str]:
    """Return the questions that a copy asks about other patients than the kit does.

    A prompt that somebody has only reworded is not one: the numbers of the patient still stand
    in it.

    Parameters
    ----------
    prompts : mapping of str to str
        What the kit asks, by question.
    notebook : mapping
        The copy.
    """
    there: dict[str, list[str]] = {}
    for question, text in _prompts_in(notebook):
        there.setdefault(question, []).append(text)
    return frozenset(question for question, prompt in prompts.items() if question in there
                     and all(is_of_another(prompt, text) for text in there[question]))


def own_copy(unit_id: str, form: int, order: str = "",
             folder: Path | None = None) -> Mapping[str, Any]:
    """Return the notebook that this kernel serves, as it lies on the disk; empty if none is sure.

    It is the one that Jupyter names, or the only one in the folder that opens this very form.
    """
    folder = folder or Path()
    named = os.environ.get(SESSION, "")
    found = [folder / Path(named).name] if named.endswith(".ipynb") else []
    if not any(path.is_file() for path in found):
        try:
            found = sorted(folder.glob("*.ipynb"))[:MOST]
        except OSError:
            return {}
    fitting = [notebook for path in found if (notebook := _read(path))
               and _opens(notebook, unit_id, form, order)]
    return fitting[0] if len(fitting) == 1 else {}


def _read(path: Path) -> Mapping[str, Any]:
    try:
        data = read_whole(path, LONGEST)
        notebook = json.loads(data.decode("utf-8-sig")) if data else {}
    except (OSError, ValueError, RecursionError):
        return {}
    cells = notebook.get("cells") if isinstance(notebook, dict) else None
    return notebook if isinstance(cells, list) else {}


def _opens(notebook: Mapping[str, Any], unit_id: str, form: int, order: str) -> bool:
    call = re.compile(rf"open_unit\(\s*['\"]{re.escape(unit_id)}['\"](?P<more>[^)]*)\)")
    for kind, text, _ in _cells(notebook):
        if kind == "code" and (found := call.search(text)):
            its = re.search(r"\bform\s*=\s*(\d+)", found["more"])
            dealt = re.search(r"\border\s*=\s*['\"](\w*)['\"]", found["more"])
            return (int(its[1]) if its else 1) == form and (dealt[1] if dealt else "") == order
    return False


def _prompts_in(notebook: Mapping[str, Any]) -> Iterator[tuple[str, str]]:
    for kind, text, name in _cells(notebook):
        head = HEADING.match(text) if kind == "markdown" else None
        if name.endswith("-prompt"):
            yield name.removesuffix("-prompt"), text
        elif head is not None:
            yield f"q{head['number'].replace('.', '-')}", text


def _cells(notebook: Mapping[str, Any]) -> Iterator[tuple[str, str, str]]:
    """Yield each cell's kind, text and grade id."""
    for cell in notebook.get("cells", ()):
        if not isinstance(cell, dict):
            continue
        source, metadata = cell.get("source"), cell.get("metadata")
        if isinstance(source, list) and all(isinstance(line, str) for line in source):
            source = "".join(source)
        note = metadata.get("nbgrader") if isinstance(metadata, dict) else None
        name = note.get("grade_id") if isinstance(note, dict) else None
        if isinstance(source, str):
            yield str(cell.get("cell_type")), source, name if isinstance(name, str) else ""


def is_of_another(prompt: str, text: str) -> bool:
    """True where a prompt in a copy shows another patient than the kit's prompt does."""
    ours, theirs = _words(prompt), _words(text)
    if ours == theirs:
        return False
    numbers = Counter(_NUMBER.findall(" ".join(ours)))
    return not numbers or bool(numbers - Counter(_NUMBER.findall(" ".join(theirs))))


def _words(prompt: str) -> list[str]:
    """A prompt's words, however its table and its emphasis are written."""
    from html import unescape  # half a megabyte of names, which most kernels never need

    plain = unescape(_TAG.sub(" ", _CAPTION.sub(" ", prompt)))
    return _MARKS.sub(" ", " ".join(what_it_says(plain))).split()
