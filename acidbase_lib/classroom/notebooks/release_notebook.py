"""What learners are given, made of an instructor's notebook as nbgrader's release steps make it."""
from __future__ import annotations

import copy
from collections.abc import Mapping
from typing import Any

from .assignment import AssignmentSource, checksum, nbgrader_metadata

Notebook = Any
_PARTS = "acidbase_lib.classroom.nbgrader_parts"
_STOCK = "nbgrader.preprocessors"
#: The steps of the kit's own nbgrader_config.py, in order: this module does what they do.
STEPS = (f"{_STOCK}.IncludeHeaderFooter", f"{_STOCK}.LockCells", f"{_PARTS}.ClearChart",
         f"{_STOCK}.ClearOutput", f"{_STOCK}.CheckCellMetadata", f"{_STOCK}.ComputeChecksums",
         f"{_STOCK}.SaveCells", f"{_STOCK}.ClearHiddenTests", f"{_STOCK}.ClearMarkScheme",
         f"{_STOCK}.ComputeChecksums", f"{_STOCK}.CheckCellMetadata")
# a section of a school's settings that names one of these changes what a release holds
_CHANGES_IT = frozenset(step.rpartition(".")[2] for step in STEPS) | {"ClearSolutions"}


def is_the_kits_own(config: Mapping[str, Any]) -> bool:
    """True where a course releases by the kit's steps alone, with no setting of their own."""
    steps = dict(config.get("GenerateAssignment", {})).get("preprocessors", ())
    return tuple(map(str, steps)) == STEPS and not any(dict(config.get(name, {}))
                                                       for name in _CHANGES_IT)


def has_other_regions(notebook: Notebook) -> bool:
    """True where a notebook holds what only nbgrader's own steps cut out, or refuse."""
    for cell in notebook["cells"]:
        text, note = cell["source"], cell["metadata"].get("nbgrader", {})
        if note.get("task") or "BEGIN SOLUTION" in text or "BEGIN MARK SCHEME" in text:
            return True
        hidden = text.count("BEGIN HIDDEN TESTS")
        if hidden and not (hidden == text.count("END HIDDEN TESTS") == 1 and note.get("grade")):
            return True
    return False


def released(notebook: Notebook, name: str) -> Notebook:
    """Return a copy as learners are given it: no answer, no hidden test, cells locked.

    It is what ``nbgrader generate_assignment`` writes by the kit's steps, without the seconds that
    nbgrader and its database take to start.

    Raises
    ------
    SourceError
        If the notebook is none that can be marked with.
    """
    source = AssignmentSource.from_notebook(notebook, name)
    fresh = copy.deepcopy(notebook)
    fresh["metadata"].pop("celltoolbar", None)
    for cell, known in zip(fresh["cells"], source.cells, strict=True):
        if cell["cell_type"] == "code":
            cell["outputs"], cell["execution_count"] = [], None
        for note in ("collapsed", "scrolled"):  # of the output that is gone
            cell["metadata"].pop(note, None)
        if known.name is None:
            continue
        cell["source"] = known.released
        cell["metadata"]["nbgrader"] = {**cell["metadata"]["nbgrader"], **nbgrader_metadata(known),
                                        "checksum": checksum(known, known.released)}
        if known.role in {"answer", "check", "locked"}:
            cell["metadata"]["deletable"] = False
        if known.role in {"check", "locked"}:
            cell["metadata"]["editable"] = False
    return fresh
