"""A file of questions as the desk holds it: a head and its questions, untouched ones verbatim."""
from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import asdict, dataclass, fields, replace
from typing import Any, Final

from acidbase_lib.teaching.handwritten.blocks import read_blocks
from acidbase_lib.teaching.handwritten.question_sheet import WrittenFile, WrittenQuestion

from .fields import Fields, OptionFields, QuestionDeskError, fields_of, text_of

MOST: Final = 36  # questions of a unit
LONGEST: Final = 20_000  # characters of one field
_TITLE: Final = re.compile(r"^title:.*$", re.M | re.I)
_RANGES: Final = re.compile(r"^ranges:.*$", re.M | re.I)


@dataclass(frozen=True, slots=True)
class Part:
    """One question: its lines in the file, its fields, and whether they were touched.

    A question that is written in a way the form does not hold is edited `as_text`.
    """

    raw: str
    fields: Fields
    touched: bool = False
    as_text: bool = False

    @property
    def text(self) -> str:
        """Its lines.

        Raises
        ------
        QuestionDeskError
            A field is missing or cannot be kept.
        """
        return text_of(self.fields) if self.touched and not self.as_text else self.raw


@dataclass(frozen=True, slots=True)
class Sheet:
    """A head (title, ranges and notes) and the questions."""

    head: str = ""
    parts: tuple[Part, ...] = ()

    @property
    def text(self) -> str:
        """The whole file.

        Raises
        ------
        QuestionDeskError
            A question cannot be kept; it is named.
        """
        pieces = [self.head]
        for place, part in enumerate(self.parts, 1):
            try:
                text = part.text
            except QuestionDeskError as error:
                raise QuestionDeskError(f"Question {place}: {error}") from None
            if not part.raw and any(pieces) and not "".join(pieces).endswith("\n\n"):
                pieces.append("\n" if "".join(pieces).endswith("\n") else "\n\n")
            following = place < len(self.parts)
            pieces.append(text + "\n" * (part.touched and following and text[-2:] != "\n\n"))
        return "".join(pieces)

    @property
    def title(self) -> str:
        """What learners see as the unit's name."""
        found = _TITLE.search(self.head)
        return found[0].partition(":")[2].strip() if found else ""

    @property
    def ranges(self) -> str:
        """The ranges that hold for all its questions."""
        found = _RANGES.search(self.head)
        return found[0].partition(":")[2].strip() if found else ""

    def headed(self, title: str, ranges: str) -> Sheet:
        """The same with another title and other ranges; the head's notes stay."""
        head = self.head
        for name, value, line, before in (("ranges", ranges, _RANGES, self.ranges),
                                          ("title", title, _TITLE, self.title)):
            value = " ".join(value.split())
            if value == before:
                continue
            if found := line.search(head):
                head = head.replace(found[0], f"{name}: {value}" if value else "", 1)
            else:
                head = f"{name}: {value}\n\n" + head if value else head
        return replace(self, head=head)

    def as_wire(self) -> dict[str, Any]:
        """As plain values, for the screen and the draft."""
        return {"head": self.head, "title": self.title, "ranges": self.ranges,
                "questions": [{"raw": one.raw, "touched": one.touched, "as_text": one.as_text,
                               "fields": asdict(one.fields)} for one in self.parts]}


def sheet_of(text: str) -> Sheet:
    """Read a file of questions; what the form cannot hold is kept to be edited as text."""
    text = text.removeprefix("\ufeff").replace("\r\n", "\n").replace("\r", "\n")
    found = read_blocks(text)
    lines = text.splitlines(keepends=True)
    starts = [question.line - 1 for question in found.questions]
    sheet = Sheet("".join(lines[:starts[0]]) if starts else text)
    for question, start, end in zip(found.questions, starts, [*starts[1:], None], strict=False):
        raw = "".join(lines[start:end])
        own = (question.ranges_line or 0) > start and question.ranges_line not in {
            line.number for line in question.stem}
        sheet = replace(sheet, parts=(*sheet.parts, Part(raw, fields_of(question, raw, own))))
    return replace(sheet, parts=tuple(replace(part, as_text=not _held(sheet, place, found))
                                      for place, part in enumerate(sheet.parts)))


def _held(sheet: Sheet, place: int, found: WrittenFile) -> bool:
    """Whether the form holds a question: written anew, the whole file says the same."""
    parts = list(sheet.parts)
    parts[place] = replace(parts[place], touched=True)
    try:
        again = read_blocks(replace(sheet, parts=tuple(parts)).text)
    except QuestionDeskError:
        return False
    return (not again.broken and tuple(map(said, again.questions))
            == tuple(map(said, found.questions)))


def said(question: WrittenQuestion) -> tuple[Any, ...]:
    """What a question says, wherever it stands in its file."""
    given = fields_of(question, "", own_ranges=True)
    return given, question.right, question.options and tuple(
        (one.letter, one.text, one.because, one.suggests) for one in question.options)


def from_wire(given: Mapping[str, Any]) -> Sheet:
    """Take what the screen or a draft holds; anything else in it is passed over.

    Raises
    ------
    QuestionDeskError
        It holds too much.
    """
    rows = given.get("questions")
    rows = rows if isinstance(rows, list) else []
    if len(rows) > MOST:
        raise QuestionDeskError(f"A unit has at most {MOST} questions, and this has {len(rows)}: "
                                "begin another unit.")
    parts = tuple(Part(_text(row, "raw"), _fields(row.get("fields")), row.get("touched") is True,
                       row.get("as_text") is True) for row in rows if isinstance(row, dict))
    return Sheet(_text(given, "head"), parts).headed(_text(given, "title"),
                                                     _text(given, "ranges"))


def _fields(given: Any) -> Fields:
    given = given if isinstance(given, dict) else {}
    options = given.get("options")
    texts = {one.name: _text(given, one.name) for one in fields(Fields) if one.name != "options"}
    return Fields(**texts, options=tuple(
        OptionFields(**{one.name: _text(row, one.name) for one in fields(OptionFields)
                        if one.name != "right"}, right=row.get("right") is True)
        for row in (options if isinstance(options, list | tuple) else ())[:8]
        if isinstance(row, dict)))


def _text(given: Mapping[str, Any], name: str) -> str:
    value = given.get(name)
    text = value if isinstance(value, str) else ""
    if len(text) > LONGEST:
        raise QuestionDeskError(f"A field has {len(text):,} characters, more than {LONGEST:,}: "
                                "shorten it.")
    return text.replace("\r\n", "\n").replace("\r", "\n")
