"""Practice of a topic by its name, remembered where a home page lies beside the units."""
from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from acidbase_lib.teaching.memory.remembered import Remembered

    from .run import PracticeScreen

_HOME = "home.ipynb"


def begin(topic: str, memory: Remembered | None = None) -> PracticeScreen:
    """Return the screen of a topic.

    Raises
    ------
    ValueError
        If there is no such topic; the message lists those there are.
    """
    # each is loaded only when it is asked for: a unit's kernel stays small
    if topic == "clinical priority":
        from .bedside import ScenePractice

        return ScenePractice(memory=memory)
    if topic == "the whole gas":
        from .whole_gas import WholeGasPractice

        return WholeGasPractice(memory=memory)
    from .endless import Practice

    return Practice(topic, memory=memory)


def memory_beside(unit_folder: Path) -> Remembered | None:
    """The record of whoever's unit this is, in the folder above it, never in the unit's own.

    None where no home page lies there: a notebook that was opened by itself leaves no file
    behind. A unit's own folder may be handed in whole.
    """
    home = unit_folder.absolute().parent
    if not (home / _HOME).is_file():
        return None
    from acidbase_lib.teaching.memory.remembered import Remembered

    return Remembered(home).refresh()
