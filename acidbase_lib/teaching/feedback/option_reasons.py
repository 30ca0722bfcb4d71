"""What is said of one line of an answer: a reason an option, and the step that settles it."""
from __future__ import annotations

from collections.abc import Iterable, Mapping
from types import MappingProxyType
from typing import Any, NamedTuple


class Reasons(NamedTuple):
    """A reason for each option, and the step of this gas or scene that decides between them.

    `claims` says for each option, in one form of words, what whoever chooses it takes for true.
    `limits` is the range of a number that is low, normal or high, as printed: "35–45 mmHg".
    """

    why: Mapping[str, str]
    settles: str = ""
    claims: Mapping[str, str] = MappingProxyType({})
    limits: str = ""


def several(lines: Mapping[str, Reasons]) -> dict[str, Any]:
    """What is told of each field, as an exercise keeps it: `why`, `settles` and the like."""
    return {"why": {name: text.why for name, text in lines.items()},
            "limits": {name: text.limits for name, text in lines.items() if text.limits},
            "settles": {name: text.settles for name, text in lines.items() if text.settles},
            "claims": {name: text.claims for name, text in lines.items() if text.claims}}


def listed(words: Iterable[str]) -> str:
    """Words as people say them: "A, B and C"."""
    *first, last = words
    return f"{', '.join(first)} and {last}" if first else last
