"""A screen or a file of few letters is given the nearest plain signs, never a traceback."""
from __future__ import annotations

import codecs
import re
import sys
import unicodedata
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from io import TextIOWrapper
from types import MappingProxyType
from typing import Any, Final

ERRORS: Final = "acidbase-plain"  # the name by which a stream asks for `nearest`
# control characters, lone halves of a pair, and what turns the direction of writing or is not seen
# (but the joiners that Persian and Indic writing needs)
_UNPRINTABLE: Final = re.compile(
    "[\x00-\x08\x0b-\x1f\x7f-\x9f\xad\u061c\u180e\u200b\u200e\u200f\u2028-\u202e"
    "\u2060-\u206f\ud800-\udfff\ufeff\ufff9-\ufffb\U000e0000-\U000e007f]")

PLAIN: Final[Mapping[str, str]] = MappingProxyType({
    "±": "+/-", "–": "-", "—": "-", "−": "-", "\N{NON-BREAKING HYPHEN}": "-", "⁻": "-", "⁺": "+",
    "×": "x", "·": "*", "•": "*", "°": " degrees ", "µ": "u", "μ": "u", "√": "root ", "≈": "about ",
    "≥": ">=", "≤": "<=", "≠": "not ", "→": "->", "←": "<-", "↑": "up", "↓": "down", "▼": "v",
    "▲": "^", "✓": "yes", "✔": "yes", "✗": "no", "‘": "'", "’": "'", "“": '"', "”": '"',
    "Ð": "D", "ð": "d", "Ø": "O", "ø": "o", "Ł": "L", "ł": "l", "ß": "ss",
    "Æ": "AE", "æ": "ae", "ı": "i", "Œ": "OE", "œ": "oe", "Þ": "Th", "þ": "th", "Đ": "D", "đ": "d",
    "Ħ": "H", "ħ": "h", "Ŧ": "T", "ŧ": "t", "◐": "partly",
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


class _Printable:
    """A stream that spells whatever would move a cursor or turn the direction of writing."""

    def __init__(self, stream: Any) -> None:
        self.stream = stream

    def write(self, text: str) -> int:
        """Write text as it can be shown; one line stays one line."""
        self.stream.write(printable(text))
        return len(text)

    def writelines(self, lines: Any) -> None:
        """Write some texts."""
        for line in lines:
            self.write(line)

    def __getattr__(self, name: str) -> Any:
        return getattr(self.stream, name)


@contextmanager
def only_printable() -> Iterator[None]:
    """Let nothing that a file, a name or an answer holds reach the terminal as a command to it."""
    before = sys.stdout, sys.stderr
    sys.stdout, sys.stderr = (_Printable(stream) for stream in before)
    try:
        yield
    finally:
        sys.stdout, sys.stderr = before


def terminal() -> Any:
    """Return standard output itself, for what draws on it, such as a moving bar."""
    return sys.stdout.stream if isinstance(sys.stdout, _Printable) else sys.stdout


def printable(text: str) -> str:
    r"""Text that any screen or file can hold: what moves a cursor or stands alone is spelled.

    Examples
    --------
    >>> print(printable("a\x1b[2Jb"), printable("caf\udce9"), printable("Chloé"))
    a\x1b[2Jb caf\udce9 Chloé
    """
    return _UNPRINTABLE.sub(lambda c: c[0].encode("unicode_escape", "surrogatepass").decode(), text)


def seen(text: str) -> str:
    """A person's name without what is not seen of it; the rest is spelled, see `printable`.

    Examples
    --------
    >>> print(seen("\u200fAda \u202eQuill"))
    Ada Quill
    """
    return printable(re.sub("[\xad\u061c\u200b\u200e\u200f\u202a-\u202e\u2060-\u2069\ufeff]",
                            "", text))
