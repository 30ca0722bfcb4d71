"""What a learner can keep to show which file was taken in; and files that several handed in."""
from __future__ import annotations

from dataclasses import dataclass

from acidbase_lib.classroom.gradebook.course_folder import CourseFolder

from .history import HANDED_IN, History
from .integrity import grading_folder


@dataclass(frozen=True, slots=True)
class Receipt:
    """What a learner can keep to show which file was taken in."""

    unit: str
    file: str
    at: str
    line: int

    @property
    def fingerprint(self) -> str:
        """The first 16 digits of the file's SHA-256, in groups of four."""
        return " ".join(self.file[i:i + 4] for i in range(0, 16, 4))

    def sentence(self) -> str:
        """Say it in words, for the learner."""
        return (f"Receipt: {self.unit}, file {self.fingerprint}, received "
                f"{self.at[:16].replace('T', ' ')} UTC, line {self.line} of the history.")


def history_of(folder: CourseFolder) -> History:
    """Return the course's history."""
    return History(grading_folder(folder) / "history")


def receipts_of(folder: CourseFolder, unit: str) -> dict[str, Receipt]:
    """Return everyone's receipt for the file that they handed in last.

    Raises
    ------
    HistoryError
        If the history cannot be read.
    """
    found: dict[str, Receipt] = {}
    for line in history_of(folder).each():
        if line.what == HANDED_IN and line.details and line.details["unit"] == unit:
            of, file = line.details["learner"], line.details["file"]
            found[of] = Receipt(unit, file, line.at, line.number)
            if not file:  # a decision has taken it away
                del found[of]
    return found


def same_files(folder: CourseFolder, unit: str) -> tuple[tuple[str, tuple[str, ...]], ...]:
    """Return each file that several learners handed in, to the byte, and who they are."""
    groups: dict[str, list[str]] = {}
    for learner, receipt in receipts_of(folder, unit).items():
        groups.setdefault(receipt.file, []).append(learner)
    return tuple(sorted(((file, tuple(sorted(group))) for file, group in groups.items()
                         if len(group) > 1), key=lambda one: one[1]))
