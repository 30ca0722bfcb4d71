"""A school's own text for a unit: `lessons/UNIT.md`, read, looked over, and headed."""
from __future__ import annotations

import re
from collections.abc import Collection, Iterator
from pathlib import Path
from typing import Final

from acidbase_lib.reading.telling.filled import filled
from acidbase_lib.reading.value_range import SettingsError
from acidbase_lib.teaching.own_questions.faults import OwnUnitError
from acidbase_lib.teaching.questions.prompt import HEADING
from acidbase_lib.teaching.questions.question_file import unit_ids

from .folder import FileFault, School, SchoolError, question_files, text_of_file

LESSONS: Final = "lessons"
LONGEST: Final = 30_000  # characters: a long chapter; a cell is read in one go
MOST_FILES: Final = 100
_HEAD: Final = """## From your school

> {name} wrote this part; it is not of the kit and was not checked by it. For teaching, not for \
care.

"""
_FENCE: Final = re.compile(r" {0,3}(`{3,}|~{3,})")
_ATX: Final = re.compile(r"( {0,3})(#{1,6})(?=\s|$)")
_UNDERLINE: Final = re.compile(r" {0,3}(=+|-{2,})\s*$")
_TAG: Final = re.compile(r"</?[A-Za-z][^>\n]*>|<!--")
_ADDRESS: Final = re.compile(r"<(?:https?://|mailto:)[^\s<>]+>")
_CODE: Final = re.compile(r"(`+)(?!`).*?(?<!`)\1(?!`)")
_PICTURE: Final = re.compile(r"!\[[^\]]*\](?:\([^)]*\)?|\[[^\]]*\]?)")
_LINK: Final = re.compile(r"\]\(\s*<?([^)\s>]*)")
_SAFE_LINK: Final = re.compile(r"(?:https?://|mailto:)\S+|#[\w-]+", re.I)


def lessons_of(school: School, units: Collection[str] | None = None) -> dict[str, str]:
    """Return a school's text for each unit, headed and ready for a notebook.

    Parameters
    ----------
    school : School
        The folder.
    units : collection of str, optional
        The units that are wanted; all where left out.

    Raises
    ------
    SchoolError
        One of them has a fault.
    """
    files, faults = lesson_files(school.folder)
    wanted = {unit: path for unit, path in files.items() if units is None or unit in units}
    for fault in (*(faults if units is None else ()),
                  *(one for path in wanted.values() for one in faults_of_lesson(path))):
        raise SchoolError(f"{fault} (`acidbase school check --school {school.folder}` lists every "
                          "fault)")
    name = re.sub(r"([\\`*_\[\]<>&#])", r"\\\1", school.name)
    return {unit: _HEAD.format(name=name) + _lowered(filled(_read(path)))
            for unit, path in wanted.items()}


def lesson_files(folder: Path) -> tuple[dict[str, Path], tuple[FileFault, ...]]:
    """Return the lesson files by unit, and what is wrong with their names."""
    shelf, faults = folder / LESSONS, []
    files: dict[str, Path] = {}
    if shelf.exists() and not shelf.is_dir():
        return {}, (FileFault(LESSONS, 1, "this is a file, and a folder is wanted: put the texts "
                              "into a folder with this name."),)
    found = sorted(shelf.iterdir()) if shelf.is_dir() else []
    if len(found) > MOST_FILES:
        return {}, (FileFault(LESSONS, 1, f"the folder holds {len(found)} files, more than "
                              f"{MOST_FILES}."),)
    known = (*unit_ids(), *question_files(folder)[0]) if found else ()
    for path in found:
        name = f"{LESSONS}/{path.name}"
        if path.name.startswith((".", "~")) or path.name.endswith("~"):
            continue
        if not path.is_file():
            faults.append(FileFault(name, 1, "this is no file; a unit's text stands in one file."))
        elif path.suffix != ".md":
            faults.append(FileFault(name, 1, "a unit's text is plain text whose name ends in .md, "
                                    f"such as {known[0]}.md."))
        elif path.stem not in known:
            faults.append(FileFault(name, 1, f"there is no unit {path.stem[:50]!r}; the file's "
                                    f"name is a unit's name, one of {', '.join(known)}."))
        else:
            files[path.stem] = path
    return files, tuple(faults)


def faults_of_lesson(path: Path) -> tuple[FileFault, ...]:
    """What keeps a text from being put into a notebook, each by its line."""
    name = f"{LESSONS}/{path.name}"
    try:
        text = _read(path)
    except OwnUnitError as error:
        return tuple(FileFault(name, fault.line, fault.sentence) for fault in error.faults)
    if not text.strip():
        return (FileFault(name, 1, "the file holds no words."),)
    if len(text) > LONGEST:
        return (FileFault(name, 1, f"the text has {len(text):,} characters, more than "
                          f"{LONGEST:,}: learners read it on one page."),)
    return tuple(FileFault(name, line, sentence) for line, sentence in _faults(text))


def _faults(text: str) -> Iterator[tuple[int, str]]:
    opened = 0
    for number, line, code in _lines(text):
        if code:
            opened = opened or number
            continue
        opened = 0
        try:
            line = filled(line)
        except SettingsError as error:
            yield number, f"{str(error).rstrip('.')}."
            continue
        plain = _CODE.sub("", line)
        if found := _TAG.search(_ADDRESS.sub("", plain)):
            yield number, (f"{found[0][:30]!r} is a sign of a web page, which a notebook may hide: "
                           "use Markdown, or put a space after '<'.")
        if _PICTURE.search(plain):
            yield number, ("a picture does not travel with the notebook, and not everybody sees "
                           "it: say it in words, or link to a page that shows it.")
        for link in _LINK.findall(_PICTURE.sub("", plain)):
            if not _SAFE_LINK.fullmatch(link):
                yield number, (f"the link {link[:40]!r} leads nowhere from a learner's notebook: "
                               "write the whole address, https://...")
        if HEADING.match(line):
            yield number, ("a heading that begins with Question and a number is a question of the "
                           "kit: call it something else.")
    if opened:
        yield opened, "a fence of ``` is opened here and never closed."


def _lowered(text: str) -> str:
    """The text with its headings below the part's own, in the order that they had."""
    lines = list(_lines(text))
    levels = [len(found[2]) for _, line, code in lines
              if not code and (found := _ATX.match(line))]
    titles = {number - 1: "#" if found[1][0] == "=" else "##" for (number, line, code), before
              in zip(lines[1:], lines, strict=False)
              if not code and (found := _UNDERLINE.match(line)) and _is_words(before)}
    levels += [len(level) for level in titles.values()]
    lower = max(0, 3 - min(levels, default=3))
    made = []
    for number, line, code in lines:
        if number in titles:
            made.append(f"{titles[number]}{'#' * lower} {line.strip()}")
        elif number - 1 not in titles:
            made.append(line if code else _ATX.sub(
                lambda found: f"{found[1]}{('#' * lower + found[2])[:6]}", line))
    return "\n".join(made).strip()


def _is_words(numbered: tuple[int, str, bool]) -> bool:
    _, line, code = numbered
    return not code and bool(re.match(r" {0,3}[^\s#>|*+-]", line))


def _lines(text: str) -> Iterator[tuple[int, str, bool]]:
    """Each line with its number, and whether it is of a fenced block of code."""
    fence = ""
    for number, line in enumerate(text.split("\n"), 1):
        found = _FENCE.match(line)
        if fence:
            closes = found and found[1].startswith(fence) and not line.strip(" `~")
            yield number, line, not closes
            fence = "" if closes else fence
        else:
            fence = found[1] if found else ""
            yield number, line, bool(found)


def _read(path: Path) -> str:
    text = text_of_file(path, f"{LESSONS}/{path.name}").removeprefix("\ufeff")
    return text.replace("\r\n", "\n").replace("\r", "\n")
