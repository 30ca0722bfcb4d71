"""Invented people: a name, an age and pronouns, and the words that a text puts in for them."""
from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from types import MappingProxyType
from typing import Any, Final

from acidbase_lib.teaching.questions.question_file import UnitError
from acidbase_lib.teaching.seeded_random import SeededRandom

from .people_names import names

_WORDS: Final = MappingProxyType({
    "he": {"they": "he", "them": "him", "their": "his", "was": "was", "is": "is", "has": "has"},
    "she": {"they": "she", "them": "her", "their": "her", "was": "was", "is": "is", "has": "has"},
    "they": {"they": "they", "them": "them", "their": "their", "was": "were", "is": "are",
             "has": "have"},
})


@dataclass(frozen=True, slots=True)
class Person:
    """An invented person: no trait but the age has any bearing on what is told of them."""

    first: str
    family: str
    pronouns: str
    age: int

    @property
    def name(self) -> str:
        """Given and family name."""
        return f"{self.first} {self.family}"

    @property
    def words(self) -> dict[str, str]:
        """What a text may put in: name, first, age, and the pronouns as {they} and {They}."""
        forms = _WORDS[self.pronouns]
        return {"name": self.name, "first": self.first, "age": str(self.age), **forms,
                **{word.capitalize(): form.capitalize() for word, form in forms.items()}}


def draw_person(draw: SeededRandom, age: Sequence[int]) -> Person:
    """Invent a person; one in ten goes by *they*.

    Parameters
    ----------
    draw : SeededRandom
        Where chance comes from.
    age : sequence of int
        The youngest and the oldest. [years]
    """
    given = names()
    turn = draw.between(0, 100)
    pronouns = "he" if turn < 45 else "she" if turn < 90 else "they"
    first = draw.pick(given["any" if pronouns == "they" else pronouns])  # a name keeps its pronouns
    family = draw.pick(given["family"])
    return Person(first, family, pronouns, draw.whole(*age))


def draw_he_or_she(draw: SeededRandom, age: Sequence[int]) -> Person:
    """Invent a person for a text whose verbs know no *they*; see `draw_person`."""
    pronouns = draw.pick(("he", "she"))
    first, family = draw.pick(names()[pronouns]), draw.pick(names()["family"])
    return Person(first, family, pronouns, draw.whole(*age))


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
