"""Questions in a table that a spreadsheet wrote: a header, and a question in each row."""
from __future__ import annotations

import csv
import io
import re
from dataclasses import dataclass
from typing import Final

from .handwritten import (
    LONGEST_LINE,
    Broken,
    Line,
    WrittenFile,
    WrittenOption,
    WrittenQuestion,
    plain_line,
    shown,
)
from .handwritten_key import key_letters

_NAMES: Final[dict[str, tuple[str, ...]]] = {
    "stem": ("stem", "question", "questiontext", "prompt", "item", "itemtext", "questionstem",
             "text", "vignette"),
    "right": ("right", "key", "answer", "correct", "correctanswer", "rightanswer", "answerkey",
              "correctoption", "keyletter", "correctresponse"),
    "because": ("because", "rationale", "explanation", "reason", "feedback", "why"),
    "name": ("number", "no", "nr", "id", "name", "questionnumber", "questionid", "itemnumber", "n"),
    "ranges": ("ranges", "range", "referenceranges", "normalranges", "normalvalues"),
}
_NAME_OF: Final = {word: name for name, words in _NAMES.items() for word in words}
_OPTION = re.compile(r"^(?:option|choice|answer|distractor|alternative|opt)?([a-h]|[1-9])"
                     r"(?:text|option)?$")
_SUGGESTS = re.compile(r"^(?:suggests|suggest|idea|misconception)(?:option)?([a-h]|[1-9])$")


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
    if word in _NAME_OF:
        return _NAME_OF[word], ""
    if match := _OPTION.match(word):
        return "option", match[1].upper()
    return "", ""


def read_table(text: str, header: Header) -> WrittenFile:
    """Read a table row by row; a row that is no question is named and left."""
    questions: list[WrittenQuestion] = []
    broken: list[Broken] = []
    lines = text.replace("\r\n", "\n").replace("\r", "\n").split("\n")
    body = "\n".join(lines[header.line:])
    reader = csv.reader(io.StringIO(body), delimiter=header.delimiter)
    start = header.line + 1
    while True:
        try:
            row = next(reader)
        except StopIteration:
            break
        except csv.Error as trouble:
            broken.append(Broken(start, shown(lines[start - 1] if start <= len(lines) else ""),
                                 f"this row cannot be read ({trouble}); a cell with a line break "
                                 "or a separator stands in double quotes"))
            start = header.line + 1 + reader.line_num
            continue
        if any(cell.strip() for cell in row):
            _row(row, start, header, len(questions) + 1, questions, broken)
        start = header.line + 1 + reader.line_num
    return WrittenFile(tuple(questions), tuple(broken))


def _row(row: list[str], line: int, header: Header, place: int,
         questions: list[WrittenQuestion], broken: list[Broken]) -> None:
    def complain(why: str) -> None:
        broken.append(Broken(line, shown(header.delimiter.join(row)), why))

    one: dict[str, str] = {}
    options: dict[str, str] = {}
    suggests: dict[str, str] = {}
    for (what, letter), cell in zip(header.columns, row, strict=False):
        said = " ".join(cell.split()) if what != "stem" else plain_line(cell).strip()
        said = said[:LONGEST_LINE]
        if what == "option" and said:
            options[letter] = re.sub(rf"^\(?{letter}[.)]\s+", "", said, flags=re.I)
        elif what == "suggests" and said:
            suggests[letter] = said
        elif what and said:
            one.setdefault(what, said)
    if extra := [cell for cell in row[len(header.columns):] if cell.strip()]:
        complain(f"this row has {len(row)} cells and the header {len(header.columns)}; the rest "
                 f"({shown(extra[0])}) was left out: does a cell with a separator in it lack its "
                 "double quotes?")
    if "stem" not in one:
        complain("this row has no stem")
        return
    right = key_letters(one["right"], list(options.items()), complain) if "right" in one else ()
    stem = tuple(Line(line + n, part) for n, part in enumerate(one["stem"].split("\n")))
    written = tuple(WrittenOption(letter, said, line, suggests.get(letter, ""))
                    for letter, said in options.items())
    questions.append(WrittenQuestion(one.get("name", str(place)), line, stem, written, right,
                                     line if "right" in one else None, one.get("because", ""),
                                     one.get("ranges", "")))
