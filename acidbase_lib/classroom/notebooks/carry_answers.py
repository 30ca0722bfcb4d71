"""A learner's answers carried from an older copy of a unit into its new version."""
from __future__ import annotations

import json
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Any

from acidbase_lib.classroom.phrases import number_of
from acidbase_lib.teaching.questions.first_try import without_first_try

from .assignment import AssignmentSource, SourceCell, SourceError
from .question_versions import asked_otherwise, prompts_of
from .read_notebook import (
    UnreadableNotebookError,
    cell_id_of,
    cells_of,
    grade_id_of,
    is_blank,
    parse_notebook,
    text_of,
)
from .repair import answers_in


@dataclass(frozen=True, slots=True)
class Carried:
    """The new version with the learner's answers in it.

    Parameters
    ----------
    data : bytes
        The notebook.
    carried : tuple of str
        Questions whose answers stand in it.
    left : tuple of str
        A sentence for each thing that was not carried over.
    added : int
        How many cells of the learner's own stand in it.
    """

    data: bytes
    carried: tuple[str, ...]
    left: tuple[str, ...]
    added: int = 0


def carry_over(old: bytes, new: bytes) -> Carried | None:
    """Put the answers of a learner's copy into a newer release of the same unit.

    An answer is carried where its question asks the same in both. Cells that the learner added
    follow the cell that they stood after.

    Returns
    -------
    Carried or None
        None where the old file is not a copy of this unit.
    """
    try:
        mine, fresh = parse_notebook(old), parse_notebook(new)
        source = AssignmentSource.from_notebook(fresh, "unit")
        wanted = [cell for cell in source.cells if cell.role == "answer"]
        texts = answers_in(mine, wanted).texts
    except (UnreadableNotebookError, SourceError):
        return None
    moved = set(asked_otherwise(mine, prompts_of(source)))
    carried, left = [], []
    for cell in wanted:
        answer = texts[str(cell.name)]
        if cell.question is None or (is_blank(answer) and without_first_try(answer) == answer):
            continue
        if cell.question in moved:
            left.append(f"Question {number_of(cell.question)} asks something else now.")
            continue
        carried.append(cell.question)
        _cell_of(fresh, cell)["source"] = answer
    left += _dropped(mine, wanted)
    before = len(fresh["cells"])
    _add_own_cells(mine, fresh)
    text = json.dumps(fresh, indent=1, ensure_ascii=False) + "\n"
    # half a letter, such as of an emoji cut in two, is no text: it becomes a question mark
    return Carried(text.encode("utf-8", "replace"), tuple(carried), tuple(left),
                   len(fresh["cells"]) - before)


def is_of_another_version(old: bytes, new: bytes) -> bool:
    """True where a learner's copy of a unit asks something else than a release of it does."""
    try:
        mine, source = parse_notebook(old), AssignmentSource.from_notebook(parse_notebook(new), "u")
    except (UnreadableNotebookError, SourceError):
        return False
    return bool(asked_otherwise(mine, prompts_of(source)))


def _cell_of(notebook: Mapping[str, Any], wanted: SourceCell) -> dict[str, Any]:
    found: dict[str, Any] = next(cell for cell in notebook["cells"]
                                 if grade_id_of(cell) == wanted.name)
    return found


def _dropped(mine: Mapping[str, Any], wanted: list[SourceCell]) -> Iterator[str]:
    """Say which answered questions the new version does not ask at all."""
    there = {cell.name for cell in wanted}
    for _, cell in cells_of(mine):
        name = grade_id_of(cell) or ""
        if name.endswith("-answer") and name not in there and not is_blank(text_of(cell) or ""):
            yield f"Question {number_of(name.removesuffix('-answer'))} is no longer in the unit."


def _add_own_cells(mine: Mapping[str, Any], fresh: dict[str, Any]) -> None:
    """Put the cells that a learner added after the cells that they followed.

    A notebook that has lost its cells' names tells no more which are the learner's: its copy
    keeps them.
    """
    cells = [cell for _, cell in cells_of(mine)]
    if not any(map(grade_id_of, cells)):
        return
    known = {text_of(cell) for cell in fresh["cells"]}
    ids = {cell_id_of(cell) for cell in fresh["cells"]}
    last = None
    for cell in cells:
        if grade_id_of(cell):
            last = grade_id_of(cell)
        elif (text_of(cell) or "").strip() and text_of(cell) not in known:
            place = next((i + 1 for i, one in enumerate(fresh["cells"])
                          if grade_id_of(one) == last), len(fresh["cells"]))
            while place < len(fresh["cells"]) and fresh["cells"][place].get("mine"):
                place += 1
            own = {**cell, "mine": True}
            if cell_id_of(own) in ids:
                own["id"] = f"{own['id']}-mine"[-64:]
            fresh["cells"].insert(place, own)
    for cell in fresh["cells"]:
        cell.pop("mine", None)
