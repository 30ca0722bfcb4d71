"""What a learner sees of a question, as plain data: no key, no program of a wrong idea.

A maker writes ``tests/benchmarks/schools/<maker>.py`` with

    def learners(seed: int, count: int) -> Iterator[Learner]

and reads of the kit nothing but this module and the plain names of the ideas (the keys of
``acidbase_lib.teaching.misconceptions.catalog.MISCONCEPTIONS``). A learner has

    holds   frozenset of those names; empty for a learner without an idea of the list
    kind    a word of the maker's own: "sound", "one idea", "two ideas", "three quarters",
            "unlisted", "partial mastery" … ("three quarters": the idea is used in about three
            charts of four; the runner counts that kind by itself)
    answer  item -> {field name: value}

A value is one word of ``item.words[field]``; for the kind "many" or "order" a tuple of such words;
for "number" a float. A field left out is left blank. ``RIGHT`` in place of a value stands for what
a sound reader answers and ``SLIP`` for any other answer: the runner, who knows the key, puts them
in. So a maker needs to write only where the idea shows.
"""
from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from functools import cache
from typing import Any, Final, Protocol

RIGHT: Final = "(as a sound reader answers)"
SLIP: Final = "(any other answer)"

#: The five forms of the sitting of twelve charts, and of three units: (unit, seed).
FORMS: Final[tuple[tuple[str, int], ...]] = (
    *(("twelve_charts", seed) for seed in (101, 102, 103, 104, 105)),
    *((unit, seed) for unit in ("02_primary_disorder", "03_compensation", "07_clinical_priority")
      for seed in (101, 102, 103)))
#: The reference ranges that the course gives its learners. [pH; mmHg; mmol/L]
RANGES: Final[Mapping[str, tuple[float, float]]] = {
    "pH": (7.35, 7.45), "PaCO2": (35.0, 45.0), "bicarbonate": (22.0, 26.0)}


@dataclass(frozen=True, slots=True)
class Item:
    """One question as a learner sees it.

    Parameters
    ----------
    form : str
        Such as "twelve_charts/101".
    question : str
        Its id in this form, such as "q1" or "q2-3".
    stem : str
        All that is printed, in Markdown, the options included.
    gas : mapping
        The numbers printed of the one patient, by "pH", "PaCO2", "bicarbonate"; those not printed
        are missing. Empty where there is no one gas. [–; mmHg; mmol/L]
    gases : mapping
        The same for each printed option or row that shows a gas: option letter, or row's field.
    ranges : mapping
        What is taught as normal.
    options : mapping
        Letter to the text of the option; empty where the words speak for themselves.
    words : mapping
        Field to the words that may be answered; an empty tuple for a number or a text.
    kinds : mapping
        Field to "one", "many", "order", "number" or "text".
    """

    form: str
    question: str
    stem: str
    gas: Mapping[str, float] = field(default_factory=dict)
    gases: Mapping[str, Mapping[str, float]] = field(default_factory=dict)
    ranges: Mapping[str, tuple[float, float]] = field(default_factory=lambda: RANGES)
    options: Mapping[str, Mapping[str, str]] = field(default_factory=dict)
    words: Mapping[str, tuple[str, ...]] = field(default_factory=dict)
    kinds: Mapping[str, str] = field(default_factory=dict)


class Learner(Protocol):
    """Somebody who sits a form."""

    @property
    def holds(self) -> frozenset[str]:
        """The ideas held, by their plain names."""

    @property
    def kind(self) -> str:
        """A word of the maker's own for what this learner is like."""

    def answer(self, item: Item) -> dict[str, Any]:
        """Return what is answered, field by field."""


_PRINTED: Final = {"pH": r"\bpH\b[ |]*(\d\.\d+)", "PaCO2": r"\bPaCO2\b[ |]*(\d+(?:\.\d+)?) ?mmHg",
                   "bicarbonate": r"\bbicarbonate\b[ |]*(\d+(?:\.\d+)?) ?mmol"}


def numbers_in(text: str) -> dict[str, float]:
    """Return the pH, PaCO2 and bicarbonate printed in a line of text, in the course's units.

    Examples
    --------
    >>> numbers_in("pH 7.32, PaCO2 61 mmHg, bicarbonate 31 mmol/L")
    {'pH': 7.32, 'PaCO2': 61.0, 'bicarbonate': 31.0}
    """
    return {name: float(found[1]) for name, pattern in _PRINTED.items()
            if (found := re.search(pattern, text))}


@cache
def items(unit: str, seed: int) -> tuple[Item, ...]:
    """Return a form's questions, in the order in which the form asks them."""
    from tests.benchmarks.schools.forms import form_of  # knows the keys: a maker stays out of it

    return tuple(_seen(f"{unit}/{seed}", e) for e in form_of(unit, seed).exercises.values())


def every_item() -> Iterator[Item]:
    """Yield every question of every form."""
    for unit, seed in FORMS:
        yield from items(unit, seed)


def _seen(form: str, exercise: Any) -> Item:
    words = {f.name: f.words for f in exercise.fields}
    texts = {f.name: {c.word: c.text for c in f.choices if c.text} for f in exercise.fields}
    texts = {name: told for name, told in texts.items() if told}
    gases = {word: gas for told in texts.values() for word, text in told.items()
             if (gas := numbers_in(text))}
    for row in re.findall(r"^- \*\*(.+?)\*\*:?(.*)$", exercise.prompt, re.M):
        if (name := row[0].strip(":").lower()) in words and (gas := numbers_in(row[1])):
            gases[name] = gas
    table = exercise.prompt.partition("Table: The blood gas")[2].split("\n\n")
    gas = numbers_in("\n".join(table[:2])) if len(table) > 1 else {}
    return Item(form, exercise.id, exercise.prompt, gas, gases, RANGES, texts, words,
                {f.name: f.kind for f in exercise.fields})
