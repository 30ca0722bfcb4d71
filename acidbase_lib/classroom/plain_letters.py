"""A screen or a file of few letters is given the nearest plain signs, never a traceback."""
from __future__ import annotations

import codecs
import sys
import unicodedata
from collections.abc import Mapping
from io import TextIOWrapper
from types import MappingProxyType
from typing import Final

ERRORS: Final = "acidbase-plain"  # the name by which a stream asks for `nearest`

PLAIN: Final[Mapping[str, str]] = MappingProxyType({
    "±": "+/-", "–": "-", "—": "-", "−": "-", "\N{NON-BREAKING HYPHEN}": "-", "⁻": "-", "⁺": "+",
    "×": "x", "·": "*", "•": "*", "°": " degrees ", "µ": "u", "μ": "u", "√": "root ", "≈": "about ",
    "≥": ">=", "≤": "<=", "≠": "not ", "→": "->", "←": "<-", "↑": "up", "↓": "down", "▼": "v",
    "✓": "yes", "✔": "yes", "‘": "'", "’": "'", "“": '"', "”": '"', "Ð": "D", "ð": "d", "Ø": "O",
    "ø": "o", "Ł": "L", "ł": "l", "ß": "ss", "Æ": "AE", "æ": "ae", "ı": "i",
})


def plain(letter: str) -> str:
    """The nearest plain signs to one letter; a question mark where there are none.

    Examples
    --------
    >>> "".join(map(plain, "PaCO2 44 ± 2, 88–92 %, Ó"))
    'PaCO2 44 +/- 2, 88-92 %, O'
    """
    if letter.isascii():
        return letter
    apart = (PLAIN.get(part, part) for part in unicodedata.normalize("NFKD", letter))
    return PLAIN.get(letter) or "".join(p for p in apart if p.isascii()) or "?"


def nearest(error: UnicodeError) -> tuple[str | bytes, int]:
    """What to write for a letter that an encoding lacks, and where to go on; see `codecs`.

    Raises
    ------
    UnicodeError
        The error itself, when it is not one of writing.
    """
    if not isinstance(error, UnicodeEncodeError):
        raise error
    letter, after = error.object[error.start], error.start + 1
    if "\udc80" <= letter <= "\udcff":  # a byte of a file's name, which Python could not read
        return bytes([ord(letter) - 0xDC00]), after
    return plain(letter), after


def write_any_letter() -> None:
    """Let standard output and error take every letter, whatever their encoding lacks."""
    codecs.register_error(ERRORS, nearest)
    for stream in (sys.stdout, sys.stderr):
        if isinstance(stream, TextIOWrapper) and codecs.lookup(stream.encoding).name != "utf-8":
            stream.reconfigure(errors=ERRORS)
