"""What keeps a school's file from being a unit: each fault by line, in a sentence."""
from __future__ import annotations

from dataclasses import dataclass

from acidbase_lib.teaching.questions.question_file import UnitError


@dataclass(frozen=True, slots=True)
class Fault:
    """One thing that keeps a file from being a unit: its line and a sentence."""

    line: int
    sentence: str


class OwnUnitError(UnitError):
    """A file of questions that cannot be a unit; holds every fault, not the first alone."""

    def __init__(self, where: str, faults: tuple[Fault, ...]) -> None:
        self.where, self.faults = where, faults
        first, more = faults[0], len(faults) - 1
        super().__init__(f"{where}, line {first.line}: {first.sentence}"
                         + (f" ({more} more fault{'s' * (more > 1)}; `acidbase school check` "
                            "lists them.)" if more else ""))
