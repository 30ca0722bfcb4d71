"""What a desk finds again when it is reopened: what was chosen last, and a run that was ended."""
from __future__ import annotations

import json
import os
from collections.abc import Mapping
from typing import Any

from acidbase_lib.classroom.atomic_write import write_whole
from acidbase_lib.classroom.gradebook.course_folder import CourseFolder
from acidbase_lib.classroom.gradebook.safekeeping.integrity import grading_folder
from acidbase_lib.classroom.gradebook.safekeeping.private_course import keeping_private
from acidbase_lib.classroom.notebooks.read_notebook import UnreadableNotebookError, read_file

from .panels import PANELS

_FILE = "desk.json"


class Memory:
    """A small file beside the gradebook; one that cannot be read is begun anew.

    Parameters
    ----------
    folder : CourseFolder
        The course.
    """

    def __init__(self, folder: CourseFolder) -> None:
        self._folder, self._file = folder, grading_folder(folder) / _FILE
        told = self._read()
        chosen = told.get("chosen")
        self.chosen: dict[str, dict[str, str]] = {
            panel: {str(name): value for name, value in given.items() if isinstance(value, str)}
            for panel, given in (chosen if isinstance(chosen, dict) else {}).items()
            if panel in PANELS and isinstance(given, dict)}
        begun = told.get("begun")
        self._begun: Mapping[str, Any] = begun if isinstance(begun, dict) else {}

    @property
    def ended(self) -> str:
        """The panel whose run was ended before it was done; empty where there is none."""
        panel = str(self._begun.get("panel", ""))
        return panel if panel in PANELS and not self.still_runs else ""

    @property
    def still_runs(self) -> bool:
        """True while a run that another desk began goes on, as far as the system tells."""
        number = self._begun.get("process")
        if not isinstance(number, int) or number <= 0 or os.name == "nt":
            return False  # there a signal of 0 would end it
        try:
            os.kill(number, 0)
        except (OSError, OverflowError):
            return False
        return True

    def begin(self, panel: str, given: Mapping[str, str], process: int) -> None:
        """Keep what was chosen in a panel, and that its command runs."""
        kept = {field.name for field in PANELS[panel].fields if field.kept}
        self.chosen[panel] = {name: value for name, value in given.items() if name in kept}
        self._begun = {"panel": panel, "process": process}
        self._write()

    def done(self) -> None:
        """Keep that nothing runs any more."""
        self._begun = {}
        self._write()

    def _read(self) -> dict[str, Any]:
        try:
            told = json.loads(read_file(self._file))
        except (UnreadableNotebookError, ValueError, RecursionError):
            return {}
        return told if isinstance(told, dict) else {}

    def _write(self) -> None:
        with keeping_private(self._folder):
            write_whole(self._file, json.dumps({"chosen": self.chosen, "begun": self._begun},
                                               indent=1, sort_keys=True) + "\n", durable=False)
