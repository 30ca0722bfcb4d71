"""What is said of one line of an answer: a reason an option, and the step that settles it."""
from __future__ import annotations

from collections.abc import Iterable, Mapping
from types import MappingProxyType
from typing import Any, NamedTuple


class Told(NamedTuple):
    """A reason for each option, and the step of this gas or scene that decides between them.

    `claims` says for each option, in one form of words, what whoever chooses it takes for true.
    `limits` is the range of a number that is low, normal or high, as printed: "35–45 mmHg".
    """

    why: Mapping[str, str]
    settles: str = ""
    claims: Mapping[str, str] = MappingProxyType({})
    limits: str = ""


def several(lines: Mapping[str, Told]) -> dict[str, Any]:
    """What is told of each field, as an exercise keeps it: `why`, `settles` and the like."""
    return {"why": {name: told.why for name, told in lines.items()},
            "limits": {name: told.limits for name, told in lines.items() if told.limits},
            "settles": {name: told.settles for name, told in lines.items() if told.settles},
            "claims": {name: told.claims for name, told in lines.items() if told.claims}}


def listed(words: Iterable[str]) -> str:
    """Words as people say them: "A, B and C"."""
    *first, last = words
    return f"{', '.join(first)} and {last}" if first else last
