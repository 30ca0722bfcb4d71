"""Practice of a topic by its name, remembered where a home page lies beside the units."""
from __future__ import annotations

from pathlib import Path

from acidbase_lib.teaching.memory.remembered import Remembered

from .bedside import CLINICAL_PRIORITY, ScenePractice
from .endless import Practice
from .run import PracticeScreen
from .whole_gas import WHOLE_GAS, WholeGasPractice

_HOME = "home.ipynb"


def begin(topic: str, memory: Remembered | None = None) -> PracticeScreen:
    """Return the screen of a topic.

    Raises
    ------
    ValueError
        If there is no such topic; the message lists those there are.
    """
    if topic == CLINICAL_PRIORITY:
        return ScenePractice(memory=memory)
    if topic == WHOLE_GAS:
        return WholeGasPractice(memory=memory)
    return Practice(topic, memory=memory)


def memory_beside(unit_folder: Path) -> Remembered | None:
    """The record of whoever's unit this is, in the folder above it, never in the unit's own.

    None where no home page lies there: a notebook that was opened by itself leaves no file
    behind. A unit's own folder may be handed in whole.
    """
    home = unit_folder.absolute().parent
    return Remembered(home).refresh() if (home / _HOME).is_file() else None
