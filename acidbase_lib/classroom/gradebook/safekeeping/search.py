"""Where an id or a name still stands: in a file, in its path, in what a zip holds."""
from __future__ import annotations

import html
import os
import re
import unicodedata
import zipfile
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path

_ALONE, _BETWEEN = r"(?<![^\W_]){}(?![^\W_])", r"[\W_]*"  # a word, and what parts words
_PACKED = frozenset({".gz", ".tgz", ".bz2", ".xz", ".7z", ".rar", ".zst"})  # not looked into
_LARGEST = 200_000_000  # bytes of one file that are searched


@dataclass(frozen=True, slots=True)
class Sought:
    """What is looked for.

    Parameters
    ----------
    words : tuple of str
        An id, or names, in letters of any size.
    letters : tuple of str
        An id letter for letter, where another learner's differs from it in their size alone.
    """

    words: tuple[str, ...]
    letters: tuple[str, ...] = ()


def search(places: Sequence[Path], wanted: Sought) -> tuple[int, list[Path], list[Path]]:
    """Look for ids and names in every file, its path and what a zip holds."""
    searched, left, unread = 0, [], []
    seen: set[Path] = set()
    for place in places:
        for path in sorted(place.rglob("*")):
            if path in seen:
                continue
            seen.add(path)
            if path.is_symlink() or not path.is_file():  # by its name, and where a link leads
                lead = f" {os.readlink(path)}" if path.is_symlink() else ""
                if holds(path.name + lead, wanted):
                    left.append(path)
                continue
            searched += 1
            try:
                if path.stat().st_size > _LARGEST or path.suffix.lower() in _PACKED:
                    unread.append(path)
                elif holds(path.relative_to(place).as_posix(), wanted) or any(
                        holds(text, wanted) for text in _texts(path)):
                    left.append(path)
            except Exception:  # whatever an unpacker makes of a damaged file
                unread.append(path)
    return searched, left, unread


def _texts(path: Path) -> Iterator[str]:
    if zipfile.is_zipfile(path):
        with zipfile.ZipFile(path) as archive:
            for entry in archive.infolist():
                yield entry.filename
                if Path(entry.filename).suffix.lower() in {*_PACKED, ".zip"}:
                    raise NotImplementedError(entry.filename)  # packed twice
                with archive.open(entry) as file:
                    yield file_text(file.read(_LARGEST))
    else:
        data = path.read_bytes()
        yield file_text(data)
        if data.count(0) > len(data) // 8:
            yield data.decode("utf-16-le", "replace")


def file_text(data: bytes) -> str:
    """A file's text with the usual escapes undone: of JSON, of HTML."""
    text = data.decode("utf-8", "replace")
    if "\\u" in text:
        text = re.sub(r"\\u([0-9a-fA-F]{4})", lambda m: chr(int(m[1], 16)), text)
    return html.unescape(text) if "&" in text else text


def is_too_short(learner: str) -> bool:
    """True for an id such as 12, which stands in many files for other reasons."""
    return len(learner) < 4 and learner.isdigit()


def _folded(text: str) -> str:
    plain = unicodedata.normalize("NFKD", text.casefold())
    return "".join(c for c in plain if not unicodedata.combining(c))


def holds(text: str, wanted: Sought) -> bool:
    """True where an id stands in a text as a word, or a name's words beside each other."""
    if wanted.letters:
        exact = unicodedata.normalize("NFC", text)
        if any(re.search(_ALONE.format(re.escape(unicodedata.normalize("NFC", one))), exact)
               for one in wanted.letters):
            return True
    plain = _folded(text)
    for one in wanted.words:
        words = [re.escape(word) for word in re.split(r"[\W_]+", _folded(one)) if word]
        if not words:
            continue
        orders = [words, words[::-1]] if len(words) > 1 else [words]
        if any(re.search(_ALONE.format(_BETWEEN.join(order)), plain) for order in orders):
            return True
    return False
