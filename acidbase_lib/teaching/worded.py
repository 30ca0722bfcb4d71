"""Sentences that a program says, in the school's words: ``worded("Kept. {name}", name="pH")``.

What is written here as a plain text is found by the catalogue of sentences, so that a school can
put it otherwise; ``inWords`` in the forms' scripts is the same.
"""
from __future__ import annotations

from typing import Any

from acidbase_lib.reading.settings_in_force import in_force


def worded(text: str, **values: Any) -> str:
    """Return a sentence as the school in force says it, its names filled in.

    Examples
    --------
    >>> worded("Still to answer: {lines}.", lines="pH")
    'Still to answer: pH.'
    """
    if in_force().laid_over:
        from .laid_over import in_words  # only a school that has its own pays for it

        text = in_words(key_of(text), text)
    return text.format(**values) if values else text


def worded_many(one: str, many: str, n: int, **values: Any) -> str:
    """Return the form of a sentence that fits a number, which stands in it as ``{n}``.

    Examples
    --------
    >>> worded_many("{n} line is left.", "{n} lines are left.", 2)
    '2 lines are left.'
    """
    text = one if n == 1 else many
    if in_force().laid_over:
        from .laid_over import in_words_many

        text = in_words_many(key_of(one), one, many, n)
    return text.format(n=n, **values)


def key_of(text: str, file: str = "forms") -> str:
    """The key of a sentence that a program says.

    Examples
    --------
    >>> key_of("Not answered yet.")
    'forms#Not answered yet.'
    """
    return f"{file}#{' '.join(text.split())[:80]}"


def script_words() -> dict[str, str]:
    """The sentences of the forms' scripts in the school's words, by the kit's own."""
    if not in_force().laid_over:
        return {}
    from json import loads

    from .laid_over import SCRIPTS, unpack

    held: dict[str, str] = loads(unpack(in_force().laid_over).get(SCRIPTS, "{}"))
    return held
