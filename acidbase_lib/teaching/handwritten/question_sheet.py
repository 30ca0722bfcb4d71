"""Questions that somebody wrote by hand: what a file of them holds."""
from __future__ import annotations

import re
import reprlib
from dataclasses import dataclass
from typing import Final

LONGEST_LINE: Final = 5_000  # characters


class UnreadableError(ValueError):
    """A file that holds no questions we can read; the text is one clear sentence."""


@dataclass(frozen=True, slots=True)
class SheetLine:
    """One line of the file: its number, from 1, and its text."""

    number: int
    text: str


@dataclass(frozen=True, slots=True)
class Broken:
    """A line that could not be used, and why; everything else was read."""

    line: int
    given: str
    sentence: str


@dataclass(frozen=True, slots=True)
class WrittenOption:
    """One option: its letter, its words, its line, what it suggests, and why it fails or holds."""

    letter: str
    text: str
    line: int
    suggests: str = ""
    because: str = ""


@dataclass(frozen=True, slots=True)
class WrittenLine:
    """One line of an answer in several lines: its name, its choices and the right one."""

    name: str
    choices: tuple[str, ...]
    right: str
    line: int


@dataclass(frozen=True, slots=True)
class WrittenNumber:
    """The number that is asked for, its unit, and how far from it still counts."""

    value: float
    unit: str
    within: float
    line: int


@dataclass(frozen=True, slots=True)
class OtherKinds:
    """What a question asks for that is not a choice among its options.

    `order` holds the letters first to last, `model` and `looks_for` are those of a written answer,
    `points` is what the author gives for it; None lets the kind decide.
    """

    order: tuple[str, ...] = ()
    number: WrittenNumber | None = None
    lines: tuple[WrittenLine, ...] = ()
    model: str = ""
    looks_for: tuple[str, ...] = ()
    points: float | None = None

    @property
    def any(self) -> bool:
        """Whether something else than a choice is asked for."""
        return bool(self.order or self.number or self.lines or self.model or self.looks_for)


@dataclass(frozen=True, slots=True)
class WrittenQuestion:
    """One question as it stands in the file.

    `name` is how a report calls it, `stem` its lines, `right` the letters of its key,
    `ranges` what is stated of ranges for it or for the whole file, if anything is.
    """

    name: str
    line: int
    stem: tuple[SheetLine, ...]
    options: tuple[WrittenOption, ...]
    right: tuple[str, ...] = ()
    right_line: int | None = None
    because: str = ""
    ranges: str = ""
    because_line: int | None = None
    ranges_line: int | None = None
    other: OtherKinds = OtherKinds()

    @property
    def text(self) -> str:
        """The stem in one piece, a line break for each of the file's."""
        return "\n".join(line.text for line in self.stem)

    @property
    def keys(self) -> tuple[WrittenOption, ...]:
        """The options of the key."""
        return tuple(option for option in self.options if option.letter in self.right)

    @property
    def others(self) -> tuple[WrittenOption, ...]:
        """The options that the key leaves out."""
        return tuple(option for option in self.options if option.letter not in self.right)

    def line_of(self, offset: int) -> int:
        """The line of the file that holds a place in `text`."""
        for line in self.stem:
            if offset <= len(line.text):
                return line.number
            offset -= len(line.text) + 1
        return self.line


@dataclass(frozen=True, slots=True)
class WrittenFile:
    """What a file holds: its questions, the lines that could not be used, and its title if any."""

    questions: tuple[WrittenQuestion, ...]
    broken: tuple[Broken, ...]
    title: str = ""


def plain_line(text: str) -> str:
    """A line with single spaces and without characters that cannot be seen."""
    seen = text.replace("\u00a0", " ").replace("\u200b", "").replace("\ufeff", "")
    return re.sub(r"[^\S\n]{2,}|\t", " ", seen).rstrip()


def shown(text: str) -> str:
    """A piece of a file as it may stand in a sentence: short, on one line."""
    return reprlib.repr(" ".join(text.split())[:80])
