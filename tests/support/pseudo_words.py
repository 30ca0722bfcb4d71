"""A translation that nobody speaks: every e of the kit's sentences is an ë, to see what is told."""
from __future__ import annotations

import re
from io import BytesIO
from pathlib import Path

from babel.messages.catalog import Catalog
from babel.messages.pofile import write_po

from acidbase_lib.classroom.school.catalogue import sentences
from acidbase_lib.classroom.school.said import Sentence

_KEPT = re.compile(r"(<<[^>]*>>|<!--.*?-->|<[^<>]*>|\{+[^{}]*\}+|\]\([^)]*\)|`[^`]*`)")


def pseudo(text: str) -> str:
    """The text with every e an ë, but for what is filled in."""
    return "".join(part if _KEPT.fullmatch(part) else part.replace("e", "ë").replace("E", "Ë")
                   for part in _KEPT.split(text))


def write_pseudo(folder: Path, which: tuple[Sentence, ...] | None = None) -> Path:
    """Write a school's words/es.po of every sentence, and name it in school.toml."""
    catalogue = Catalog(locale="nl")  # two forms, by one and by any other number
    for one in sentences() if which is None else which:
        catalogue.add((one.text, one.many) if one.many else one.text,
                      (pseudo(one.text), pseudo(one.many)) if one.many else pseudo(one.text),
                      context=one.key)
    out = BytesIO()
    write_po(out, catalogue, width=100)
    (folder / "words").mkdir(exist_ok=True)
    path = folder / "words" / "es.po"
    path.write_bytes(out.getvalue())
    mark = folder / "school.toml"
    mark.write_text(mark.read_text("utf-8") + 'language = "es"\n', encoding="utf-8")
    return path
