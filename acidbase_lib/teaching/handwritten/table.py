"""Questions in a table that a spreadsheet wrote: a header, and a question in each row."""
from __future__ import annotations

import csv
import io
import re
from dataclasses import dataclass
from typing import Final

from .key import key_letters
from .line_marks import MARKED
from .other_kinds import OtherLines
from .question_sheet import (
    LONGEST_LINE,
    Broken,
    SheetLine,
    WrittenFile,
    WrittenOption,
    WrittenQuestion,
    plain_line,
    shown,
)

#: What a column is, by its head without spaces and signs; the first that fits wins.
_HEADS: Final = (
    ("because", r"because|rationales?|explanations?|reason(?:ing|s)?|feedback|why|comments?"),
    ("ranges", r"(?:reference|normal|usual)?(?:ranges?|values)"),
    ("right", r"(?:the)?(?:correct|right|best|true)(?:answer|choice|option|response|letter|one"
              r"|key)?s?|(?:answer|solution|response)s?(?:key|letter)?|key(?:letter|answer|option)?s?|ans"),
    ("name", r"(?:question|item|q|serial|row)?(?:no|nr|num|number|id)s?|name|n|q|code"),
    ("stem", r"(?:the)?(?:question|item|case)?(?:text|stem|body|prompt|vignette|wording|scenario)"
             r"|questions?|items?|cases?"),
)
_OPTION = re.compile(r"^(?:option|choice|answer|distractor|alternative|opt|response|ans)?"
                     r"([a-h]|[1-9])(?:text|option)?$")
_LONGEST_ROW: Final = 40  # lines of one row; a stem has a handful
_SUGGESTS = re.compile(r"^(?:suggests|suggest|idea|misconception)(?:option)?([a-h]|[1-9])$")
_WHY = re.compile(r"^(?:because|why|rationale)(?:option)?([a-h]|[1-9])$")
#: A column that asks for something else than a choice; "number" alone is the question's own.
_OTHER = re.compile(r"^(?:right)?(order|line|write|looks|points|(?<=right)number)(?:for)?[1-9]?$")


@dataclass(frozen=True, slots=True)
class Header:
    """Where a table has its columns: `columns` holds (what, letter) by place."""

    delimiter: str
    line: int
    columns: tuple[tuple[str, str], ...]


def header_of(text: str) -> Header | None:
    """The header of a table, or None where the text is not one."""
    lines = text.splitlines()
    for number, line in enumerate(lines[:5], 1):
        if not line.strip() or re.match(r"^sep=.$", line.strip(), re.I):
            continue
        for delimiter in "\t;,|":
            cells = _cells(line, delimiter)
            columns = tuple(_column(cell) for cell in cells)
            kinds = [what for what, _ in columns]
            if "stem" in kinds and kinds.count("option") >= 2:
                return Header(delimiter, number, columns)
    return None


def _cells(line: str, delimiter: str) -> list[str]:
    try:
        return next(csv.reader([line], delimiter=delimiter), [])
    except csv.Error:
        return []


def _column(cell: str) -> tuple[str, str]:
    word = re.sub(r"[\W_]+", "", cell).casefold()
    if match := _SUGGESTS.match(word):
        return "suggests", match[1].upper()
    if match := _WHY.match(word):
        return "why", match[1].upper()
    if match := _OTHER.match(word):
        return "other", match[1]
    if match := _OPTION.match(word):
        return "option", match[1].upper()
    return next((what for what, pattern in _HEADS if re.fullmatch(pattern, word)), ""), ""


def read_table(text: str, header: Header) -> WrittenFile:
    """Read a table row by row; a row that is no question is named and left."""
    questions: list[WrittenQuestion] = []
    broken: list[Broken] = []
    lines = text.replace("\r\n", "\n").replace("\r", "\n").split("\n")
    if not any(what in ("right", "other") for what, _ in header.columns):
        broken.append(Broken(header.line, shown(lines[header.line - 1]),
                             "no column of this header is the key: call it 'right', or write "
                             "(right) after the right option of each row"))
    place = header.line
    while place < len(lines):
        row, taken = _record(lines, place, header)
        if row is None:
            broken.append(Broken(place + 1, shown(lines[place]),
                                 "a double quote opens in this row and does not close, or a cell "
                                 "is endless, so the row was left out: close it, or take it away"))
        elif any(cell.strip() for cell in row):
            _row(row, place + 1, header, len(questions) + 1, questions, broken)
        place += taken
    return WrittenFile(tuple(questions), tuple(broken))


def _record(lines: list[str], place: int, header: Header) -> tuple[list[str] | None, int]:
    """The cells of the row that begins here and its number of lines; None for an open quote."""
    needed = [n for n, (what, _) in enumerate(header.columns) if what in ("stem", "option")][:3]
    for taken in range(1, min(_LONGEST_ROW, len(lines) - place) + 1):
        text = "\n".join(lines[place:place + taken])
        try:
            rows = list(csv.reader(io.StringIO(text), delimiter=header.delimiter, strict=True))
        except csv.Error as error:
            if "unexpected end" in str(error):
                continue  # a cell goes on over the line's end
            try:
                rows = list(csv.reader(io.StringIO(text), delimiter=header.delimiter))
            except csv.Error:  # a cell longer than any question
                return None, 1
            if taken > 1 or len(rows) > 1:
                return None, 1
        if taken > 1 and (len(rows) != 1 or len(rows[0]) <= needed[-1]):
            return None, 1  # it closed in another row's quote
        return (rows[0] if rows else []), taken
    return None, 1


def _row(row: list[str], line: int, header: Header, place: int,
         questions: list[WrittenQuestion], broken: list[Broken]) -> None:
    def complain(why: str) -> None:
        broken.append(Broken(line, shown(header.delimiter.join(row)), why))

    one: dict[str, str] = {}
    options: dict[str, str] = {}
    suggests: dict[str, str] = {}
    whys: dict[str, str] = {}
    other = OtherLines()
    starred: list[str] = []
    for (what, letter), cell in zip(header.columns, row, strict=False):
        said = " ".join(cell.split()) if what != "stem" else plain_line(cell).strip()
        said = said[:LONGEST_LINE]
        if what == "option" and said:
            marked = re.match(r"^\*+\s*(?=\w)", said) or MARKED.search(said)
            if marked:
                starred.append(letter)
                said = said.replace(marked[0], "", 1).strip(" *")
            options[letter] = re.sub(rf"^\(?{letter}[.)]\s+", "", said, flags=re.I)
        elif what == "suggests" and said:
            suggests[letter] = said
        elif what == "why" and said:
            whys[letter] = said
        elif what == "other" and said:
            other.add(letter, said, line)
        elif what == "stem" and "stem" in one and said:
            before = one["stem"]
            if before.isdigit():
                one["name"], one["stem"] = before, said
            else:
                one["stem"] = f"{before}\n{said}"  # a case and its question, in two columns
        elif what and said:
            one.setdefault(what, said)
    if extra := [cell for cell in row[len(header.columns):] if cell.strip()]:
        complain(f"this row has {len(row)} cells and the header {len(header.columns)}; the rest "
                 f"({shown(extra[0])}) was left out: does a cell with a separator in it lack its "
                 "double quotes?")
    if "stem" not in one:
        complain("this row has no stem")
        return
    right = key_letters(one["right"], list(options.items()), complain) \
        if "right" in one else tuple(starred)
    stem = tuple(SheetLine(line + n, part) for n, part in enumerate(one["stem"].split("\n")))
    written = tuple(WrittenOption(letter, said, line, suggests.get(letter, ""),
                                  whys.get(letter, ""))
                    for letter, said in options.items())
    questions.append(WrittenQuestion(one.get("name", str(place)), line, stem, written, right,
                                     line if "right" in one else None, one.get("because", ""),
                                     one.get("ranges", ""), line, line, other.read(
                                         options, lambda _, said, why: complain(why))))
