"""A question while its lines are coming in."""
from __future__ import annotations

from dataclasses import dataclass, field

from .other_kinds import OtherLines
from .question_sheet import SheetLine


@dataclass
class Draft:
    """A question while its lines are coming in."""

    line: int
    number: str = ""
    stem: list[SheetLine] = field(default_factory=list)
    options: list[tuple[str, str, int]] = field(default_factory=list)
    right: list[str] = field(default_factory=list)
    right_line: int | None = None
    because: str = ""
    suggests: dict[str, tuple[str, int]] = field(default_factory=dict)
    whys: dict[str, tuple[str, int]] = field(default_factory=dict)
    other: OtherLines = field(default_factory=OtherLines)
    ranges: str = ""
    because_line: int | None = None
    ranges_line: int | None = None
    after_blank: bool = False
    last: str = "stem"  # what a line without a mark goes on with

    @property
    def letters(self) -> list[str]:
        """The letters of the options so far."""
        return [letter for letter, _, _ in self.options]

    @property
    def closed(self) -> bool:
        """Whether a plain line after a blank one begins another question."""
        return bool(self.options or self.other.given) or self.right_line is not None
