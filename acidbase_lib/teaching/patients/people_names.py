"""Give every patient of a form a name of their own: no given and no family name twice."""
from __future__ import annotations

import re
import tomllib
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from functools import cache, lru_cache
from types import MappingProxyType
from typing import Final

from acidbase_lib.reading.settings_in_force import in_force
from acidbase_lib.teaching.content import content_text
from acidbase_lib.teaching.questions.exercise import Exercise
from acidbase_lib.teaching.questions.question_file import UnitError
from acidbase_lib.teaching.seeded_random import SeededRandom

GROUPS: Final = ("he", "she", "any")


@dataclass(frozen=True, slots=True)
class NamePool:
    """The names that one question of a form may use."""

    given: Mapping[str, tuple[str, ...]]
    family: tuple[str, ...]


def names() -> Mapping[str, tuple[str, ...]]:
    """Given names by pronoun, and invented family names, as the data file lists them."""
    return _names(in_force().laid_over)


@cache
def _names(laid_over: str) -> Mapping[str, tuple[str, ...]]:
    table = tomllib.loads(content_text("patients", "names.toml"))
    return MappingProxyType({key: tuple(value) for key, value in table.items()})


def deal_names(questions: Iterable[str], form: str) -> Mapping[str, NamePool]:
    """Share the names out among the questions of a form.

    Parameters
    ----------
    questions : iterable of str
        The ids of the questions, in order.
    form : str
        The plan and the form: the same text deals the same names.

    Returns
    -------
    mapping of str to NamePool
        For each question its own names; no two pools share one.
    """
    return _dealt(tuple(questions), form, in_force().laid_over)


@lru_cache(maxsize=64)
def _dealt(asked: tuple[str, ...], form: str, laid_over: str) -> Mapping[str, NamePool]:
    draw = SeededRandom(f"{form}|names")
    mixed = {group: draw.shuffled(names()[group]) for group in (*GROUPS, "family")}
    mixed["family"] += draw.shuffled(names()["more_family"])  # the shares keep what they had
    return MappingProxyType({question: NamePool(
        MappingProxyType({group: tuple(mixed[group][n::len(asked)]) for group in GROUPS}),
        tuple(mixed["family"][n::len(asked)])) for n, question in enumerate(asked)})


def people_in(exercise: Exercise) -> tuple[tuple[str, str], ...]:
    """Given and family name of everybody whom an exercise tells of, as they come."""
    names_here = _full_names(in_force().laid_over)
    return tuple(dict.fromkeys(names_here.findall("\n".join(_texts(exercise)))))


def namesakes(exercise: Exercise) -> bool:
    """Whether two people of one exercise share a given or a family name."""
    people = people_in(exercise)
    return any(len({name[part] for name in people}) < len(people) for part in (0, 1))


def recast(exercise: Exercise, pool: NamePool) -> Exercise:
    """Return the exercise with its people named from a pool; nothing else is changed.

    Raises
    ------
    UnitError
        The exercise tells of more people than the pool has names for.
    """
    people = people_in(exercise)
    if not people:
        return exercise
    group_of = {name: group for group in GROUPS for name in names()[group]}
    left = {group: list(pool.given[group]) for group in GROUPS}
    new: dict[str, str] = {}
    for (given, family), own in zip(people, pool.family, strict=False):
        free = left[group_of[given]] or left["any"] or left["he"] or left["she"]
        if not free:
            break
        new[given], new[family] = free.pop(0), own
    if len(new) < 2 * len(people):
        raise UnitError(f"{exercise.id} tells of {len(people)} people, and its share of the names "
                        "does not reach. Add names to more_family in patients/names.toml.")
    pattern = re.compile(rf"\b(?:{'|'.join(map(re.escape, new))})\b")

    def renamed(text: str) -> str:
        return pattern.sub(lambda found: new[found[0]], text)

    fields = tuple(replace(field, says=renamed(field.says), choices=tuple(
        replace(choice, text=renamed(choice.text)) for choice in field.choices))
        for field in exercise.fields)
    return replace(exercise, prompt=renamed(exercise.prompt), fields=fields,
                   because=tuple(renamed(line) for line in exercise.because),
                   why={name: {word: renamed(reason) for word, reason in reasons.items()}
                        for name, reasons in exercise.why.items()},
                   claims={name: {word: renamed(claim) for word, claim in claims.items()}
                           for name, claims in exercise.claims.items()},
                   settles={name: renamed(step) for name, step in exercise.settles.items()},
                   model_call=tuple(renamed(line) for line in exercise.model_call))


@cache
def _full_names(laid_over: str) -> re.Pattern[str]:
    given = "|".join(name for group in GROUPS for name in names()[group])
    family = "|".join((*names()["family"], *names()["more_family"]))
    return re.compile(rf"\b({given}) ({family})\b")


def _texts(exercise: Exercise) -> Iterable[str]:
    yield exercise.prompt
    for field in exercise.fields:
        yield from (choice.text for choice in field.choices)
    yield from exercise.because
