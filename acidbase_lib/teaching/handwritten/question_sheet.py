"""Questions that somebody wrote by hand: what one holds, and how a file of them is opened."""
from __future__ import annotations

import re
import reprlib
from dataclasses import dataclass
from pathlib import Path
from typing import Final

LARGEST: Final = 2_000_000  # bytes; a long examination is a hundred times smaller
LONGEST_LINE: Final = 5_000  # characters
_WORKBOOKS: Final = (".xlsx", ".xlsm", ".xls", ".ods", ".numbers")
#: A dash between numbers, an apostrophe or quotation marks of an old Mac, read as Windows text.
_FROM_A_MAC: Final = re.compile(r"\dÐ\d|\wÕ[st]\b|Ò\w[^Ò]{0,200}Ó")
_ZIP, _OLD_OFFICE, _PDF = b"PK\x03\x04", b"\xd0\xcf\x11\xe0", b"%PDF"


class UnreadableError(ValueError):
    """A file that holds no questions we can read; the text is one clear sentence."""


@dataclass(frozen=True, slots=True)
class Line:
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
    """One option: its letter, its words, its line, and what its author says it suggests."""

    letter: str
    text: str
    line: int
    suggests: str = ""


@dataclass(frozen=True, slots=True)
class WrittenQuestion:
    """One question as it stands in the file.

    `name` is how a report calls it, `stem` its lines, `right` the letters of its key,
    `ranges` what is stated of ranges for it or for the whole file, if anything is.
    """

    name: str
    line: int
    stem: tuple[Line, ...]
    options: tuple[WrittenOption, ...]
    right: tuple[str, ...] = ()
    right_line: int | None = None
    because: str = ""
    ranges: str = ""
    because_line: int | None = None
    ranges_line: int | None = None

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
    """What a file holds: its questions, and the lines that could not be used."""

    questions: tuple[WrittenQuestion, ...]
    broken: tuple[Broken, ...]


def read_file(path: Path) -> WrittenFile:
    """Read the questions of a file, a plain text or a table.

    Raises
    ------
    UnreadableError
        If there is no such file, or it is empty, too large, no text, or holds no question.
    """
    if not path.is_file():
        what = "is a folder, not a file" if path.is_dir() else "is not there"
        raise UnreadableError(f"{path} {what}")
    size = path.stat().st_size
    if size > LARGEST:
        raise UnreadableError(f"{path} has {size:,} bytes, more than {LARGEST:,}: is it a file of "
                              "questions?")
    return read_text(decode(path.read_bytes(), str(path)), str(path))


def read_text(text: str, name: str = "the text") -> WrittenFile:
    """Read questions from text, a table where its first line is a table's header.

    Raises
    ------
    UnreadableError
        If it is empty, or holds no question.
    """
    from .blocks import read_blocks
    from .table import header_of, read_table

    if not text.strip():
        raise UnreadableError(f"{name} is empty")
    table = header_of(text)
    found = read_table(text, table) if table else read_blocks(text)
    if not found.questions:
        raise UnreadableError(f"{name} holds no question: write a stem, a line for each option "
                              "such as 'A. respiratory acidosis', and a line 'right: A' "
                              "(`acidbase audit --example` prints one)")
    return found


def decode(data: bytes, name: str = "the file") -> str:
    """The text of a file, whichever usual encoding it was saved in.

    Raises
    ------
    UnreadableError
        If it is a workbook, a word processor's file, or no text at all.
    """
    if data.startswith((_ZIP, _OLD_OFFICE)):
        sheet = name.lower().endswith(_WORKBOOKS)
        how = "CSV" if sheet else "plain text (or CSV, if it is a table)"
        raise UnreadableError(f"{name} is an office program's file: open it there and save it as "
                              f"{how}")
    if data.startswith(_PDF):
        raise UnreadableError(f"{name} is a PDF: copy its text into a plain text file")
    if data.startswith((b"\xff\xfe", b"\xfe\xff")):
        encodings = ["utf-16"]
    elif data[1:400:2].count(0) * 5 > len(data[1:400:2]) * 4:
        encodings = ["utf-16-le"]  # a spreadsheet's "Unicode text" that lost its first two bytes
    elif b"\x00" in data:
        raise UnreadableError(f"{name} is not text")
    else:
        encodings = ["utf-8-sig", "cp1252", "latin-1"]
    for encoding in encodings:
        try:
            text = data.decode(encoding)
        except UnicodeDecodeError:
            continue
        odd = sum(not char.isprintable() and char not in "\r\n\t\f\v\u00ad\u200b\u2028"
                  for char in text)
        if encoding == "cp1252" and _FROM_A_MAC.search(text):
            text = data.decode("mac_roman")
        if "\x00" in text or odd * 20 > len(text):
            break
        return text
    raise UnreadableError(f"{name} is not text")


def plain_line(text: str) -> str:
    """A line with single spaces and without characters that cannot be seen."""
    seen = text.replace("\u00a0", " ").replace("\u200b", "").replace("\ufeff", "")
    return re.sub(r"[^\S\n]{2,}|\t", " ", seen).rstrip()


def shown(text: str) -> str:
    """A piece of a file as it may stand in a sentence: short, on one line."""
    return reprlib.repr(" ".join(text.split())[:80])
