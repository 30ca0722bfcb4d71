"""Recipes about what a unit teaches in words: which statement holds, and true or false."""
from __future__ import annotations

import tomllib
from collections.abc import Mapping
from functools import cache
from types import MappingProxyType
from typing import Any

from acidbase_lib.reading.sources import SOURCES
from acidbase_lib.teaching.content import content_text
from acidbase_lib.teaching.feedback.option_reasons import Reasons
from acidbase_lib.teaching.questions.exercise import Exercise
from acidbase_lib.teaching.questions.fields import Choice, Field, lettered
from acidbase_lib.teaching.questions.question_file import Question, UnitError
from acidbase_lib.teaching.seeded_random import SeededRandom

from .scene import _exercise

OFFERED = 4  # statements among which one holds
_TRUE_OR_FALSE = (Choice("true", also=("right", "yes")), Choice("false", also=("wrong", "no")))


def facts() -> Mapping[str, Mapping[str, Any]]:
    """Return what is taught in words, by name."""
    return _facts_in(content_text("facts.toml"))


@cache
def _facts_in(text: str) -> Mapping[str, Mapping[str, Any]]:
    return MappingProxyType(tomllib.loads(text))


def which_statement_holds(question: Question, draw: SeededRandom) -> Exercise:
    """One question about what a unit teaches in words; choose the statement that holds."""
    fact = _fact(question, draw.pick(question.more["facts"]))
    right = draw.pick(fact["holds"])
    wrong = draw.shuffled(fact["not"])[:OFFERED - 1]
    whys = {one["text"]: one["why"] for one in wrong}
    texts = draw.shuffled([right, *whys])
    asked = Field("answer", "one", lettered(texts))
    key = asked.words[texts.index(right)]
    because = (f"{key}: {right}. {fact['because']}",
               *(f"Not {word}: {whys[text]}" for word, text in zip(asked.words, texts, strict=True)
                 if text in whys), _source(fact))
    why = {word: whys.get(text, f"{fact['because']}") for word, text in
           zip(asked.words, texts, strict=True)}
    return _exercise(question, "choose one", (asked,), {"answer": key}, {"asks": fact["asks"]},
                     because=because, whys={"answer": Reasons(why, fact["because"])},
                     options=_listed(asked.choices))


def true_or_false(question: Question, draw: SeededRandom) -> Exercise:
    """A statement about each of several facts; about half of them are true."""
    names = draw.shuffled(question.more["facts"])
    holds = [turn == 1 for turn in draw.spread(len(names), 2)]
    claims = [draw.pick([claim for claim in _fact(question, name)["claims"]
                         if claim["holds"] is wanted])
              for name, wanted in zip(names, holds, strict=True)]
    asked = tuple(Field(f"statement {n}", "one", _TRUE_OR_FALSE)
                  for n in range(1, len(claims) + 1))
    key = {field.name: "true" if claim["holds"] else "false"
           for field, claim in zip(asked, claims, strict=True)}
    because = tuple(f"Statement {n} is {'true' if claim['holds'] else 'false'}. {claim['why']}"
                    for n, claim in enumerate(claims, start=1))
    cited = dict.fromkeys(_cited(_fact(question, name)).rstrip(".") for name in names)
    because = (*because, f"Source: {'; '.join(cited)}.")
    whys = {field.name: Reasons({"true": claim["why"], "false": claim["why"]}, claim["why"])
            for field, claim in zip(asked, claims, strict=True)}
    rows = "\n".join(f"{n}. {claim['text']}" for n, claim in enumerate(claims, start=1))
    return _exercise(question, "grid", asked, key, {}, because=because, whys=whys,
                     statements=rows)


def _fact(question: Question, name: str) -> Mapping[str, Any]:
    if name not in facts():
        raise UnitError(f"{question.id}: there is no fact {name!r}. There are: "
                        f"{', '.join(facts())}.")
    return facts()[name]


def _source(fact: Mapping[str, Any]) -> str:
    return f"Source: {_cited(fact)}"


def _cited(fact: Mapping[str, Any]) -> str:
    known = SOURCES.get(fact["source"])
    return known.citation if known else str(fact["source"])


def _listed(choices: tuple[Choice, ...]) -> str:
    return "\n".join(f"- {choice.shown}" for choice in choices)
