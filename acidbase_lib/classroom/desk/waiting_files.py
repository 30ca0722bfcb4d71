"""The files of a sitting that wait for a decision, as the desk shows them."""
from __future__ import annotations

from pathlib import Path
from typing import Any

from acidbase_lib.classroom.gradebook.course_folder import CourseFolder
from acidbase_lib.classroom.gradebook.decide import NOBODY
from acidbase_lib.classroom.gradebook.ledger import files_of
from acidbase_lib.classroom.gradebook.roster import IntakeError, read_roster
from acidbase_lib.classroom.report.roll import question_of

MOST_SHOWN = 50  # the others come up as these are settled


def waiting_files(folder: CourseFolder, unit: str, roster: Path) -> list[dict[str, Any]]:
    """Return each waiting file with its question and whose it may be, likely people first.

    Parameters
    ----------
    folder : CourseFolder
        The course.
    unit : str
        The sitting.
    roster : Path
        The class list.

    Returns
    -------
    list of dict
        "number", "file", "why", "question"; "people": id and words of each choice, none where no
        hand-in can be made of the file; "nobody": the word that sets it aside for good.
    """
    waiting = files_of(folder, [unit])[unit].waiting
    if not waiting:
        return []
    try:
        listed = {line.learner: line.name for line in read_roster(roster)}
    except (IntakeError, OSError):
        listed = {}

    def people(likely: tuple[str, ...]) -> list[list[str]]:
        order = dict.fromkeys([*(who for who in likely if who in listed), *listed])
        return [[who, f"{who} {listed[who]}".strip()] for who in order]
    return [{"number": one.number, "file": one.file, "why": one.why, "question": question_of(one),
             "people": people(one.people) if one.can_be_taken else [], "nobody": NOBODY}
            for one in waiting[:MOST_SHOWN]]
