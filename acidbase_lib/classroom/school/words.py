"""A school's own words: `words/own.po` and a translation, read, looked over, and made ready."""
from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from datetime import UTC, datetime
from difflib import get_close_matches
from gettext import c2py
from io import BytesIO
from pathlib import Path
from typing import Any, Final
from unicodedata import category

from acidbase_lib.teaching.laid_over import COMPILED, SCRIPTS
from acidbase_lib.teaching.own_questions.faults import OwnUnitError

from .catalogue import FREE, sentences, tags_of
from .folder import FileFault, language_of, text_of_file
from .said import SCRIPT, Sentence, holes_of

FOLDER: Final = "words"
OWN: Final = "own.po"
CATALOGUE: Final = "kit.pot"
LARGEST: Final = 4_000_000  # of a whole translation [bytes]
_LINE: Final = re.compile(r'\s*(?:#.*|(?:msg(?:ctxt|id|id_plural|str(?:\[\d\])?)\s+)?'
                          r'"(?:[^"\\]|\\.)*"|)\s*')
_NO_DAY: Final = datetime(2026, 1, 1, tzinfo=UTC)  # the same words, the same notebook
_UNSHOWN: Final = frozenset(("Cc", "Cs", "Co", "Cn"))
_TURNING: Final = "\u202d\u202e"  # they turn the order of what follows
_BRACES: Final = re.compile(r"\{[^{}]*\}")
_TELLING: Final = 8  # letters of a sentence that is looked for in others
_NUMBER: Final = re.compile(r"\d+(?:[.,]\d+)?")


@dataclass(frozen=True, slots=True)
class OwnWords:
    """What a school's `words/` lays over the kit: files to be carried, what they are, faults."""

    files: Mapping[str, str]
    told: tuple[str, ...] = ()
    faults: tuple[FileFault, ...] = ()
    doubts: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class _Entry:
    """One sentence of a school's file: its key ("" for wherever it stands) and both texts.

    `own` has a form for each sort of number where `many` says that the kit's has.
    """

    line: int
    key: str
    kits: str
    own: tuple[str, ...]
    many: str = ""


def own_words(folder: Path) -> OwnWords:
    """Read a school's words; where there is one fault, nothing of them is laid over."""
    shelf = folder / FOLDER
    if not shelf.exists():
        return OwnWords({})
    if not shelf.is_dir():
        return OwnWords({}, faults=(FileFault(FOLDER, 1, "this is a file, and a folder is "
                                              "wanted."),))
    language = language_of(folder)
    used = [f"{language}.po"] * bool(language) + [OWN]  # a school's own sentence wins
    faults = list(_strays(shelf, used))
    by_key = {one.key: one for one in sentences()}
    by_text: dict[str, list[str]] = {}
    for kits in by_key.values():
        by_text.setdefault(kits.text, []).append(kits.key)
    found: dict[str, tuple[str, ...]] = {}
    told, doubts = [], []
    rules: dict[str, str] = {}  # of plural forms, by the file that needs it
    for name in used:
        if not (shelf / name).is_file():
            continue
        where = f"{FOLDER}/{name}"
        entries, wrong, fuzzy, rule = _read(shelf / name, where)
        rules |= {where: rule} if any(one.many for one in entries) else {}
        wrong += [FileFault(where, one.line, sentence) for one in entries
                  for sentence in _wrong(one, by_key, by_text)]
        faults += wrong
        doubts += [f"{where}, line {one.line}: {sentence}" for one in entries
                   for sentence in _doubts(one)]
        for one in sorted(entries, key=lambda one: bool(one.key)):  # a key says it more closely
            found |= dict.fromkeys([one.key] if one.key else by_text.get(one.kits, []), one.own)
        if entries or fuzzy:
            told.append(f"{where}: {len(entries)} sentence{'s' * (len(entries) != 1)} of "
                        f"{len(by_key):,}"
                        + (f", {fuzzy} marked fuzzy and not used" if fuzzy else ""))
    if len(set(rules.values())) > 1:
        faults.append(FileFault(list(rules)[-1], 1, "its Plural-Forms differ from those of "
                                f"{next(iter(rules))}: give both files the same."))
    if faults:
        return OwnWords({}, tuple(told), tuple(faults), tuple(doubts))
    doubts += _said_twice(found, by_key)
    return OwnWords(_packed(found, by_key, *rules.values()), tuple(told), (), tuple(doubts))


def as_pot() -> str:
    """Every sentence of the kit with its key, as a catalogue to translate from."""
    from babel.messages.catalog import Catalog
    from babel.messages.pofile import write_po

    catalogue = Catalog(project="acidbase", header_comment=(
        "# Every sentence that a school may put in words of its own. Copy those that you want\n"
        "# into own.po (or translate the file as LANG.po), and write yours into msgstr.\n"
        "# Leave words in braces, <<...>> and <!--=...--> as they are."))
    for one in sentences():
        catalogue.add((one.text, one.many) if one.many else one.text, context=one.key)
    out = BytesIO()
    write_po(out, catalogue, width=100)
    return "\n".join(line for line in out.getvalue().decode().split("\n")
                     if not line.startswith('"POT-Creation-Date'))


def _strays(shelf: Path, used: list[str]) -> Iterator[FileFault]:
    for path in sorted(shelf.iterdir()):
        if path.name in (*used, CATALOGUE) or path.name.startswith((".", "~")):
            continue
        yield FileFault(f"{FOLDER}/{path.name}", 1, (
            f'write language = "{path.stem}" into school.toml to use this file.'
            if path.suffix == ".po" else
            f"this is no file of words: sentences of your own stand in {OWN}."))


def _read(path: Path, where: str) -> tuple[list[_Entry], list[FileFault], int, str]:
    """The entries of a file that say something, its faults, how many are fuzzy, its plurals."""
    from babel.messages.pofile import PoFileError, read_po

    try:
        text = text_of_file(path, where, LARGEST).removeprefix("\ufeff").replace("\r\n", "\n")
    except OwnUnitError as error:
        return [], [FileFault(where, one.line, one.sentence) for one in error.faults], 0, ""
    for number, line in enumerate(text.split("\n"), 1):
        if not _LINE.fullmatch(line):
            return [], [FileFault(where, number, f"{line.strip()[:40]!r} is no line of such a file:"
                                  ' msgid or msgstr, then the sentence in quotation marks "..." '
                                  '(a quotation mark within it is written \\").')], 0, ""
    try:
        catalogue = read_po(BytesIO(text.encode()), abort_invalid=True)
        c2py(catalogue.plural_expr)
    except PoFileError as error:
        return [], [FileFault(where, int(error.lineno) + 1, f"{error.args[0][:120]}.")], 0, ""
    except (ValueError, KeyError, RecursionError, OverflowError, LookupError):
        return [], [FileFault(where, _line(text, '"Plural-Forms'), "its head cannot be read, most "
                              "likely the line Plural-Forms: for Spanish it is "
                              "nplurals=2; plural=(n != 1).")], 0, ""
    entries: list[_Entry] = []
    faults: list[FileFault] = []
    fuzzy = 0
    for message in catalogue:
        if not message.id:
            continue
        at = int(message.lineno or 1)
        kits, many = message.id if isinstance(message.id, list | tuple) else (message.id, "")
        own = (message.string,) if isinstance(message.string, str) else tuple(message.string or ())
        if message.fuzzy:
            fuzzy += any(own)
        elif any(own) and not all(own):
            faults.append(FileFault(where, at, f"it needs {catalogue.num_plurals} forms, as "
                                    f"Plural-Forms says: msgstr[0] to "
                                    f"msgstr[{catalogue.num_plurals - 1}]."))
        elif any(own):
            entries.append(_Entry(at, message.context or "", kits, own, many))
    return entries, faults, fuzzy, catalogue.plural_forms


def _wrong(one: _Entry, by_key: Mapping[str, Sentence],
           by_text: Mapping[str, list[str]]) -> Iterator[str]:
    if one.key and one.key not in by_key:
        near = get_close_matches(one.key, by_key, 1, 0.8)
        yield (f"{one.key[:80]!r} is the key of no sentence of the kit"
               + (f": did you mean {near[0]!r}?" if near else
                  "; `acidbase school words` writes the list of them."))
        return
    keys = [one.key] if one.key else by_text.get(one.kits, [])
    if not keys or by_key[keys[0]].text != one.kits:
        yield ("the kit has no such sentence" if not keys else "the kit says something else here "
               f"now: {by_key[keys[0]].text[:80]!r}") + ("; look over yours, and copy the kit's "
               "into msgid." if keys else "; `acidbase school words` writes the list of them.")
        return
    kits = by_key[keys[0]]
    if one.many != kits.many:
        yield ("this sentence tells a number: write msgid_plural "
               f"{kits.many!r}, and msgstr[0], msgstr[1] and so on." if kits.many else
               "this sentence has no plural forms in the kit: write one msgid and one msgstr.")
        return
    for text in one.own:
        yield from _wrong_in(text, kits)


def _wrong_in(text: str, kits: Sentence) -> Iterator[str]:
    """What is wrong with one form of a sentence."""
    own = holes_of(text, kits.prose)
    free = {f"{{{word}}}" for word in FREE} | ({"{n}"} if kits.many else set())
    if missing := sorted(kits.holes - own - free):
        yield f"{', '.join(missing)} is missing from it: the kit fills in what stands there."
    if not kits.prose:  # {first} as it is, not {first!r}
        own = own | {brace for brace in _BRACES.findall(text)
                     if brace not in _BRACES.findall(kits.text)}
    if more := sorted(own - kits.holes - (free if free & kits.holes else set())):
        yield f"{', '.join(more)} stands for nothing in this sentence."
    if not kits.prose and re.sub(r"\{\w+\}|\{\{\w*\}\}", "", text).count("{") != re.sub(
            r"\{\w+\}|\{\{\w*\}\}", "", kits.text).count("{"):
        yield "a brace { in it is not closed, or stands alone."
    if tags := sorted(tags_of(text) - tags_of(kits.text)):
        yield f"{tags[0]!r} is a sign of a web page that the kit's sentence has not."
    if any((category(sign) in _UNSHOWN and sign not in "\n\t") or sign in _TURNING
           for sign in text):
        yield "it holds a sign that no page shows."
    if kits.text.startswith("\n") != text.startswith("\n") or kits.text.endswith(
            "\n") != text.endswith("\n"):
        yield "it begins or ends with another line break than the kit's: \\n."


def _doubts(one: _Entry) -> Iterator[str]:
    """A number that was lost or changed is seldom meant; a decimal comma is."""
    kits, own = (sorted(number.replace(",", ".") for number in _NUMBER.findall(text))
                 for text in (one.kits, one.own[0]))
    if kits != own:
        yield (f"the numbers differ: the kit's sentence has {', '.join(kits) or 'none'}, yours "
               f"{', '.join(own) or 'none'}.")


def _said_twice(found: Mapping[str, tuple[str, ...]],
                by_key: Mapping[str, Sentence]) -> Iterator[str]:
    """An option that a notebook's text lists as well is to be changed in both places."""
    left = [one for one in by_key.values() if one.prose and one.key not in found]
    for key in found:
        kits = by_key[key].text.strip()
        for one in left if len(kits) >= _TELLING and not by_key[key].prose else ():
            if kits in one.text:
                yield f"{FOLDER}: {one.key} says {kits[:60]!r} too; change it there as well."


def _packed(found: Mapping[str, tuple[str, ...]], by_key: Mapping[str, Sentence],
            plurals: str = "") -> dict[str, str]:
    from json import dumps

    from babel.messages.catalog import Catalog
    from babel.messages.mofile import write_mo

    catalogues: dict[str, Any] = {}
    script: dict[str, str] = {}
    for key, own in sorted(found.items()):
        name, kits = key.partition("#")[0], by_key[key]
        if name == SCRIPT:
            script[kits.text] = own[0]
            continue
        file = catalogues.setdefault(name, Catalog(creation_date=_NO_DAY, revision_date=_NO_DAY))
        file.add((kits.text, kits.many) if kits.many else kits.text, own if kits.many else own[0],
                 context=key)
    files = {SCRIPTS: dumps(script, ensure_ascii=False)} if script else {}
    for name, catalogue in catalogues.items():
        if plurals:
            catalogue.mime_headers = [("Plural-Forms", plurals)]
        out = BytesIO()
        write_mo(out, catalogue)
        files[f"{name}{COMPILED}"] = out.getvalue().decode("latin-1")  # each byte a sign
    return files


def _line(text: str, start: str) -> int:
    return next((number for number, line in enumerate(text.split("\n"), 1)
                 if line.startswith(start)), 1)
