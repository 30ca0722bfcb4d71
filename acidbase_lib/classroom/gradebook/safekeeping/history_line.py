"""One line of the history: what it tells at least, its digest, and its place in the chain."""
from __future__ import annotations

import hashlib
import json
import re
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from acidbase_lib.classroom.phrases import printable

BEGUN, HANDED_IN, MARKED, BY_HAND = "history begun", "handed in", "marked", "marked by hand"
BACKED_UP, RESTORED, WROTE = "backed up", "restored", "pages written"
ERASED, MAY_RETURN = "erased", "may return"
ADJUSTED, UNDONE = "marks adjusted", "adjustment undone"
OFFERED, SAME_PERSON = "file offered", "same person"
UNFIT = "did not fit the gradebook"
FIRST = "0" * 64
_OR_NONE = (float, int, type(None))
# what each kind of line tells at least, and of which kind that is: more may stand there
_TELLS: Mapping[str, Mapping[str, type | tuple[type, ...]]] = {
    HANDED_IN: {"unit": str, "learner": str, "file": str},
    MARKED: {"unit": str, "learner": str, "file": str, "source": str, "cells": dict},
    BY_HAND: {"unit": str, "learner": str, "cell": str, "from": _OR_NONE, "to": _OR_NONE,
              "change": (int, type(None))},
    OFFERED: {"unit": str, "from": str, "bundle": str, "became": str, "learner": str,
              "may be": list, "why": str, "file": str, "about": int, "late": str},
    SAME_PERSON: {"from": str, "learner": str, "same": bool},
    WROTE: {"unit": str, "out": str}, RESTORED: {"change": int}, MAY_RETURN: {"print": str},
    ERASED: {"key": str, "print": str, "lines": list}, UNFIT: {"lines": int, "chain": str},
    ADJUSTED: {"unit": str, "kind": str, "question": str, "learner": str, "reason": str, "by": str},
    UNDONE: {"unit": str, "number": int, "reason": str, "by": str},
}


class HistoryError(RuntimeError):
    """The history cannot be used; the text says why and what to do."""


@dataclass(frozen=True, slots=True)
class Line:
    """One line of the history; ``details`` is None where it was erased."""

    number: int
    at: str
    what: str
    details: Mapping[str, Any] | None
    digest: str
    chain: str

    def chained_to(self, before: str) -> str:
        """Return the chain value that this line must have after another one's."""
        return sha_of(f"{before}\n{self.number}\n{self.at}\n{self.what}\n{self.digest}")


def parsed(path: Path, place: int, text: bytes) -> Line:
    """Read a line.

    Raises
    ------
    HistoryError
        If it is none of ours.
    """
    try:
        one = json.loads(text)
        details = one["told"]
        if not (isinstance(one["n"], int) and isinstance(details, dict | None) and all(
                isinstance(one[name], str) for name in ("at", "what", "digest", "chain"))):
            raise ValueError(place)
        if details is not None and not _is_told_whole(one["what"], details):
            raise ValueError(place)
        return Line(one["n"], one["at"], one["what"], details, one["digest"], one["chain"])
    except (ValueError, KeyError, TypeError, RecursionError):
        raise HistoryError(
            f"{f'Line {place}' if place else 'The last line'} of the history {path} is none of "
            "this kit's: the file was changed or is damaged. Marks are in the gradebook and are "
            "not touched by that. Put the file back from your own backup of the folder, or move it "
            "away: a new one is begun then, and says so.") from None


def is_whole(path: Path, text: bytes) -> bool:
    """True for a line that lacks nothing but its end, as an editor leaves the last one."""
    try:
        line = parsed(path, 0, text)
    except HistoryError:
        return False
    return line.details is None or line.digest == digest_of(line.details)


def _is_told_whole(what: str, details: Mapping[str, Any]) -> bool:
    """True where a line tells all that its kind tells, and nothing that moves a cursor."""
    for name, kind in _TELLS.get(what, {}).items():
        one = details.get(name, ...)
        if not isinstance(one, kind) or (isinstance(one, str) and printable(one) != one):
            return False
    if what == MARKED:
        return all(
            isinstance(pair, list)
            and len(pair) == 2
            and all(isinstance(one, _OR_NONE) for one in pair)
            for pair in details["cells"].values()
        )
    if what == ERASED:
        return (all(isinstance(one, int) for one in details["lines"])
                and re.fullmatch("(?:[0-9a-f]{2})+", details["key"]) is not None)
    return True


def written(line: Line) -> str:
    """Return a line as it stands in the file."""
    return json.dumps({"n": line.number, "at": line.at, "what": line.what, "told": line.details,
                       "digest": line.digest, "chain": line.chain},
                      separators=(",", ":")) + "\n"


def digest_of(details: Mapping[str, Any]) -> str:
    """Return the digest of what a line tells."""
    return sha_of(json.dumps(details, sort_keys=True, ensure_ascii=True, separators=(",", ":")))


def sha_of(text: str) -> str:
    """Return a text's SHA-256."""
    return hashlib.sha256(text.encode()).hexdigest()
