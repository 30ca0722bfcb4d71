"""What is said of one line of an answer: a reason an option, and the step that settles it."""
from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import Any, NamedTuple


class Told(NamedTuple):
    """A reason for each option, and the step of this gas or scene that decides between them."""

    why: Mapping[str, str]
    settles: str = ""


def several(lines: Mapping[str, Told]) -> dict[str, Any]:
    """What is told of each field, as an exercise keeps it: `why` and `settles`."""
    return {"why": {name: told.why for name, told in lines.items()},
            "settles": {name: told.settles for name, told in lines.items() if told.settles}}


def listed(words: Iterable[str]) -> str:
    """Words as people say them: "A, B and C"."""
    *first, last = words
    return f"{', '.join(first)} and {last}" if first else last
