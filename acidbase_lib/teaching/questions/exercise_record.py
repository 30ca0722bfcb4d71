"""An exercise as plain data and back: kept beside a notebook, it needs no patient drawn again."""
from __future__ import annotations

from collections.abc import Mapping
from dataclasses import fields as fields_of
from types import MappingProxyType
from typing import Any

from .exercise import Exercise
from .fields import STANDARD_FIELDS, Choice, Field, ToldBy

_EMPTY = Exercise("", "text", 0.0, "", (), None)  # type: ignore[arg-type]  # of its defaults alone
_MARKED_BY = ("id", "kind", "points", "prompt", "fields", "key", "predicted", "within", "recipe",
              "origin", "drivers", "judged")
_TOLD_WITH = tuple(one.name for one in fields_of(Exercise) if one.name not in _MARKED_BY)


def record_of(exercise: Exercise) -> dict[str, Any]:
    """Return an exercise as what JSON can hold; what it does not say is left out."""
    return {name: _plain(value) for name in (*_MARKED_BY, *_TOLD_WITH)
            if (value := getattr(exercise, name)) != getattr(_EMPTY, name)}


def exercise_of(record: Mapping[str, Any]) -> Exercise:
    """Return the exercise of a record.

    Raises
    ------
    KeyError, TypeError, ValueError
        If it is none that ``record_of`` has written.
    """
    given = {name: _frozen(record[name]) for name in (*_MARKED_BY, *_TOLD_WITH) if name in record}
    given["fields"] = tuple(map(_field, record["fields"]))
    given["points"] = float(record["points"])
    return Exercise(**{"key": None, **given})


def _plain(value: Any) -> Any:
    if isinstance(value, Mapping):
        return {str(name): _plain(one) for name, one in value.items()}
    if isinstance(value, tuple | list):
        return [_plain(one) for one in value]
    if isinstance(value, Field):
        if STANDARD_FIELDS.get(value.name) == value:
            return value.name
        return {one.name: _plain(held) for one in fields_of(Field)
                if (held := getattr(value, one.name)) not in ("", (), None, False)}
    if isinstance(value, Choice):
        return {one.name: _plain(held) for one in fields_of(Choice)
                if (held := getattr(value, one.name)) not in ("", ())}
    if isinstance(value, ToldBy):
        return {one.name: _plain(getattr(value, one.name)) for one in fields_of(ToldBy)}
    return value


def _frozen(value: Any) -> Any:
    if isinstance(value, dict):
        return MappingProxyType({name: _frozen(one) for name, one in value.items()})
    if isinstance(value, list):
        return tuple(map(_frozen, value))
    return value


def _field(record: str | Mapping[str, Any]) -> Field:
    if isinstance(record, str):
        return STANDARD_FIELDS[record]
    given = {name: _frozen(value) for name, value in record.items()}
    for name in ("choices", "boxes"):
        if name in record:
            given[name] = tuple(Choice(**_frozen(one)) for one in record[name])
    if "told_by" in record:
        given["told_by"] = ToldBy(**_frozen(record["told_by"]))
    return Field(**given)
