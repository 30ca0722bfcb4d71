"""The words of a bedside scene: an invented person, and numbers put in their places."""
from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from acidbase_lib.teaching.questions.question_file import UnitError
from acidbase_lib.teaching.seeded_random import SeededRandom

from .people_names import names

_HE = {"they": "he", "them": "him", "their": "his"}
_SHE = {"they": "she", "them": "her", "their": "her"}


def draw_person(draw: SeededRandom, age: Sequence[int]) -> dict[str, str]:
    """Return an invented person's name, age and pronouns, as a scene's text may use them."""
    group = draw.pick(("he", "she"))
    first, family = draw.pick(names()[group]), draw.pick(names()["family"])
    words = _HE if group == "he" else _SHE
    return {"name": f"{first} {family}", "first": first, "age": str(draw.whole(*age)),
            **words, **{word.capitalize(): theirs.capitalize() for word, theirs in words.items()}}


def filled(text: str, words: Mapping[str, Any]) -> str:
    """Return a scene's text with its words put in.

    Raises
    ------
    UnitError
        The text holds braces that stand for nothing.
    """
    try:
        return " ".join(text.format_map(words).split())
    except (KeyError, ValueError, IndexError) as error:
        raise UnitError(f"The scene {text[:40]!r} holds braces that stand for nothing ({error}). "
                        f"It may hold {', '.join('{' + w + '}' for w in words)}.") from None
