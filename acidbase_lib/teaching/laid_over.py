"""What a school lays over the kit's people and words: carried as one word, merged by the key.

Words are looked up by gettext: its context is the key, such as "facts.toml#why a pressure.because",
and its message the kit's own sentence. So a sentence that a newer kit has changed is told in the
kit's words, never in a translation of what it said before.
"""
from __future__ import annotations

import base64
import hashlib
import zlib
from collections.abc import Callable, Mapping
from functools import lru_cache
from types import MappingProxyType
from typing import TYPE_CHECKING, Any, Final

from acidbase_lib.reading.settings_in_force import in_force

if TYPE_CHECKING:
    from gettext import GNUTranslations

SCRIPTS: Final = "forms.js.json"  # what the forms' scripts say, by the kit's own words
COMPILED: Final = ".mo"  # of the sentences of one file, by gettext's own form
LONGEST: Final = 4_000_000  # of all that is carried, unpacked [bytes]
CHANGED: Final = ("What this notebook carries of your school's people and words was changed or "
                   "cut off. Open a fresh copy of it and copy your answers into it.")


class LaidOverError(ValueError):
    """What a notebook carries of a school's people and words cannot be read."""


def pack(files: Mapping[str, str]) -> str:
    """Return files by their names as one word of plain signs; "" for none."""
    from json import dumps

    if not files:
        return ""
    data = dumps(dict(files), ensure_ascii=False).encode()
    packed = base64.urlsafe_b64encode(zlib.compress(data, 9)).decode("ascii")
    return f"{hashlib.sha256(data).hexdigest()[:12]}.{packed}"


@lru_cache(maxsize=8)
def unpack(word: str) -> Mapping[str, str]:
    """Return the files that ``pack`` made a word of.

    Raises
    ------
    LaidOverError
        The word was changed or cut off.
    """
    from json import loads

    if not word:
        return MappingProxyType({})
    mark, _, packed = word.partition(".")
    try:
        opener = zlib.decompressobj()
        data = opener.decompress(base64.b64decode(packed, b"-_", validate=True), LONGEST)
        if opener.unconsumed_tail or not opener.eof \
                or hashlib.sha256(data).hexdigest()[:12] != mark:
            raise ValueError
        files = loads(data)
        if not isinstance(files, dict) or not all(isinstance(one, str) for one in files.values()):
            raise ValueError
    except (ValueError, RecursionError, zlib.error):
        raise LaidOverError(CHANGED) from None
    return MappingProxyType(files)


def laid_over(text: str, name: str) -> str:
    """Return a file of content as the school in force has it.

    Parameters
    ----------
    text : str
        The kit's own file, TOML.
    name : str
        Where it stands in ``content``, such as "patients/names.toml".
    """
    return _laid_over(text, name, in_force().laid_over)


@lru_cache(maxsize=64)
def _laid_over(text: str, name: str, word: str) -> str:
    import tomllib

    own, words = unpack(word).get(name), _words(word, name)
    if own is None and words is None:
        return text
    table = tomllib.loads(text)
    if words is not None:
        table = each_text(table, lambda path, said: words.pgettext(f"{name}#{path}", said))
    return as_toml(table if own is None else merged(table, tomllib.loads(own)))


def in_words(key: str, text: str, word: str | None = None) -> str:
    """Return a sentence in the school's words; the kit's own where it has none for it.

    Parameters
    ----------
    key, text : str
        The sentence's key, and what the kit says.
    word : str, optional
        What is carried; that of the settings in force where left out.
    """
    word = in_force().laid_over if word is None else word
    words = _words(word, key.partition("#")[0]) if word else None
    return text if words is None else words.pgettext(key, text)


def in_words_many(key: str, one: str, many: str, n: int) -> str:
    """Return the form of a sentence that fits a number, in the school's words."""
    words = _words(in_force().laid_over, key.partition("#")[0])
    if words is None:
        return one if n == 1 else many
    return words.npgettext(key, one, many, n)


def each_text(value: Any, change: Callable[[str, str], str], *path: str) -> Any:
    """Return a table of content with each text changed, given its path.

    Examples
    --------
    >>> each_text({"q": [{"id": "q1", "stem": "Is it?"}, "b"]}, lambda path, text: path)
    {'q': [{'id': 'q.q1.id', 'stem': 'q.q1.stem'}, 'q.2']}
    """
    if isinstance(value, dict):
        return {key: each_text(one, change, *path, key) for key, one in value.items()}
    if isinstance(value, list):
        return [each_text(one, change, *path, _named(one) or str(place))
                for place, one in enumerate(value, 1)]
    return change(".".join(path), value) if isinstance(value, str) else value


def for_unit(word: str, unit_id: str) -> str:
    """Return what a unit's notebook has to carry: no prose, which stands in it, no later unit."""
    last = f"{unit_id}.toml{COMPILED}"

    def asked(name: str) -> bool:  # a lesson begins with questions of earlier units
        folder, _, file = name.rpartition("/")
        return file == last or (folder == "questions" and unit_id[:1].isdigit() and file < last)
    return word and pack({name: text for name, text in unpack(word).items() if asked(name) or
                          not name.startswith(("lessons/", "questions/"))})


@lru_cache(maxsize=64)
def _words(word: str, file: str) -> GNUTranslations | None:
    from gettext import GNUTranslations
    from io import BytesIO
    from struct import error as StructError  # noqa: N812 - an error, called so

    held = unpack(word).get(f"{file}{COMPILED}")
    try:
        return GNUTranslations(BytesIO(held.encode("latin-1"))) if held else None
    except (ValueError, OSError, UnicodeError, RecursionError, StructError):
        raise LaidOverError(CHANGED) from None


def _named(one: Any) -> str:
    return one["id"] if isinstance(one, dict) and isinstance(one.get("id"), str) else ""


def merged(kits: Any, own: Any) -> Any:
    """Return the kit's value with a school's laid over it.

    A table is merged key by key; a list of tables by their ids, what is new at the end; a list of
    words takes what is new; anything else is the school's.

    Examples
    --------
    >>> merged({"he": ["Aurel"], "n": [{"id": "a", "x": 1}]}, {"he": ["Bo"], "n": [{"id": "a"}]})
    {'he': ['Aurel', 'Bo'], 'n': [{'id': 'a'}]}
    """
    if isinstance(kits, dict) and isinstance(own, dict):
        return {**kits, **{key: merged(kits[key], value) if key in kits else value
                           for key, value in own.items()}}
    if isinstance(kits, list) and isinstance(own, list):
        if _by_id(kits) and _by_id(own):
            new = {one["id"]: one for one in own}
            return [new.pop(one["id"], one) for one in kits] + list(new.values())
        if all(isinstance(one, str) for one in (*kits, *own)):
            return list(dict.fromkeys((*kits, *own)))
    return own


def as_toml(table: Mapping[str, Any]) -> str:
    """Return a table as TOML, one key a line.

    Examples
    --------
    >>> print(as_toml({"a": 1.0, "b": [{"c d": "e"}]}))
    "a" = 1.0
    "b" = [{"c d" = "e"}]
    """
    return "\n".join(f"{_text(key)} = {_value(value)}" for key, value in table.items())


def _by_id(rows: list[Any]) -> bool:
    return bool(rows) and all(isinstance(one, dict) and "id" in one for one in rows)


def _value(value: Any) -> str:
    if isinstance(value, Mapping):
        return "{" + ", ".join(f"{_text(k)} = {_value(v)}" for k, v in value.items()) + "}"
    if isinstance(value, list | tuple):
        return f"[{', '.join(map(_value, value))}]"
    if isinstance(value, str):
        return _text(value)
    return str(value).lower() if isinstance(value, bool) else repr(value)


def _text(text: str) -> str:
    from json import dumps

    return dumps(text, ensure_ascii=False).replace("\x7f", "\\u007f")
