"""A file of handwritten questions opened: in any usual encoding, as plain text or as a table."""
from __future__ import annotations

import re
from pathlib import Path
from typing import Final

from .blocks import read_blocks
from .question_sheet import UnreadableError, WrittenFile
from .table import header_of, read_table

LARGEST: Final = 2_000_000  # bytes; a long examination is a hundred times smaller
_WORKBOOKS: Final = (".xlsx", ".xlsm", ".xls", ".ods", ".numbers")
#: A dash between numbers, an apostrophe or quotation marks of an old Mac, read as Windows text.
_FROM_A_MAC: Final = re.compile(r"\dÐ\d|\wÕ[st]\b|Ò\w[^Ò]{0,200}Ó")
_ZIP, _OLD_OFFICE, _PDF = b"PK\x03\x04", b"\xd0\xcf\x11\xe0", b"%PDF"


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
