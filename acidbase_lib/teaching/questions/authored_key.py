"""An author's key put into a question whose answer no physiology decides."""
from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace
from types import MappingProxyType
from typing import Any

from .exercise import Answers, Exercise
from .fields import Field, Value
from .question_file import UnitError

Suggests = Mapping[str, str | Sequence[str]]


def with_key(exercise: Exercise, key: Any,
             suggests: Suggests | None = None) -> Exercise:
    """Return an exercise that knows its author's key, and what the wrong choices suggest.

    The author names options by their nickname, which stays the same in every form while the
    letters are dealt out anew: ``key="venturi"``, ``suggests={"no oxygen": "oxygen withheld"}``.

    Parameters
    ----------
    exercise : Exercise
        One without a key, or whose key is a judgment: then the school's own wins. An exercise
        whose key physiology gives comes back as it is.
    key : str, sequence of str or mapping
        The right option or options; a mapping of field to these where there are several fields.
        Where a question draws one of several scenes, the words of all of them stand here.
    suggests : mapping, optional
        The nickname of a wrong option, and the misconception, or several, that would choose it.

    Raises
    ------
    UnitError
        The key fits none of a field's options, or more than one.
    """
    if exercise.key is not None and not exercise.judged:
        return exercise
    keys = key if isinstance(key, Mapping) else {exercise.fields[0].name: key}
    right = {field.name: _right(exercise.id, field, _for(field, keys, exercise.id))
             for field in exercise.fields}
    if right == exercise.key:
        return exercise
    if exercise.judged:  # what the kit says of its own key does not fit another
        exercise = replace(exercise, why={}, settles={}, claims={}, judged=False,
                           because=("Your school has decided this one: ask why.",))
    return replace(exercise, key=MappingProxyType(right),
                   predicted=MappingProxyType(_predicted(exercise, right, suggests or {})))


def _for(field: Field, keys: Mapping[str, Any], question: str) -> tuple[Any, ...]:
    for name in (field.name, field.nickname, *field.also):
        if name and name in keys:
            value = keys[name]
            return tuple(value) if isinstance(value, list | tuple | set) else (value,)
    raise UnitError(f"{question}: the author's key says nothing of {field.name!r}"
                    + (f" ({field.nickname})." if field.nickname else "."))


def _right(question: str, field: Field, words: Sequence[Any]) -> Value:
    if field.kind == "number":
        return float(words[0])
    spelled = dict(_spelled(field))
    found = [spelled[word] for word in words if word in spelled]
    if field.kind == "many":
        return tuple(word for word in field.words if word in found)
    if field.kind == "order" and len(found) == len(field.words):
        return tuple(found)
    if field.kind == "order" or len(set(found)) != 1:
        raise UnitError(f"{question}: of the author's key {list(words)!r} {len(set(found))} fit "
                        f"the options of {field.name!r}, which are "
                        f"{_named(field)}.")
    return found[0]


def _predicted(exercise: Exercise, right: Answers,
               suggests: Suggests) -> dict[str, Answers]:
    """What each misconception answers; a field it says nothing of is answered rightly."""
    predicted: dict[str, dict[str, Value]] = {}
    for field in exercise.fields:
        spelled = dict(_spelled(field))
        for option, idea in _pairs(suggests):
            word = spelled.get(option)
            if word is None:
                continue
            answers = predicted.setdefault(idea, dict(right))
            if field.kind == "many":
                held = answers[field.name]
                chosen = {*(held if isinstance(held, tuple) else ()), word}
                answers[field.name] = tuple(w for w in field.words if w in chosen)
            elif word != right[field.name] and answers[field.name] == right[field.name]:
                answers[field.name] = word
    return {idea: MappingProxyType(answers) for idea, answers in predicted.items()
            if answers != right}


def _pairs(suggests: Suggests) -> Iterator[tuple[str, str]]:
    for option, ideas in suggests.items():
        for idea in (ideas,) if isinstance(ideas, str) else ideas:
            yield option, idea


def _spelled(field: Field) -> Iterator[tuple[str, str]]:
    for choice in field.choices:
        for spelling in (choice.word, choice.nickname, *choice.also):
            if spelling:
                yield spelling, choice.word


def _named(field: Field) -> str:
    return ", ".join(choice.nickname or choice.word for choice in field.choices)
