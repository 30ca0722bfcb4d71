"""Questions that wait for a person since a notebook asks them otherwise than they were released."""
from __future__ import annotations

from collections.abc import Iterable

from .assignment import AssignmentSource
from .question_versions import whole_waits
from .read_notebook import ANSWER, UnreadableNotebookError
from .repair import ANOTHER_VERSION, Rebuilt, Repair


def waiting_in(repairs: Iterable[Repair]) -> tuple[str, ...]:
    """Return the questions that wait for a person since the notebook asks them otherwise."""
    return tuple(one.cell.removesuffix(ANSWER) for one in repairs if one.kind == ANOTHER_VERSION)


def none_waits(rebuilt: Rebuilt, source: AssignmentSource) -> Rebuilt:
    """Return what was rebuilt, for a lane that gives every question points or none at all.

    Raises
    ------
    UnreadableNotebookError
        If a question waits for a person.
    """
    if asked := waiting_in(rebuilt.repairs):
        raise UnreadableNotebookError(whole_waits(asked, len(asked), len(source.answers)))
    return rebuilt
