"""The kit's content as data: questions, patients and words that an educator may change."""
from __future__ import annotations

from importlib.resources import files
from importlib.resources.abc import Traversable

from acidbase_lib.reading.settings_in_force import in_force
from acidbase_lib.reading.telling.filled import filled


def content(*names: str) -> Traversable:
    """Return a file or folder of ``acidbase_lib/content``, named part by part."""
    return files("acidbase_lib").joinpath("content", *names)


def content_text(*names: str) -> str:
    """Return the text of a file of ``acidbase_lib/content`` as the school in force has it.

    With its people and words laid over the kit's, and its settings told.
    """
    text = written(*names)
    if in_force().laid_over and names[-1].endswith(".toml"):
        from .laid_over import laid_over  # only a school that has its own pays for it

        text = laid_over(text, "/".join(names))
    return filled(text)


def written(*names: str) -> str:
    """Return the text of a file as it stands there, its holes unfilled."""
    return content(*names).read_text(encoding="utf-8")
