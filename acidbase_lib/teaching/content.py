"""The kit's content as data: questions, patients and words that an educator may change."""
from __future__ import annotations

from importlib.resources import files
from importlib.resources.abc import Traversable

from acidbase_lib.reading.telling.filled import filled


def content(*names: str) -> Traversable:
    """Return a file or folder of ``acidbase_lib/content``, named part by part."""
    return files("acidbase_lib").joinpath("content", *names)


def content_text(*names: str) -> str:
    """Return the text of a file of ``acidbase_lib/content``, with the school's settings told."""
    return filled(written(*names))


def written(*names: str) -> str:
    """Return the text of a file as it stands there, its holes unfilled."""
    return content(*names).read_text(encoding="utf-8")
