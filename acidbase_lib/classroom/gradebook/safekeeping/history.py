"""The history: hand-ins and changes of marks, one line each, chained so that tampering shows.

``grading/history/log.jsonl`` only grows. Each line holds what happened (``told``), the digest of
that, and a chain value made of the line before and this one's digest. Who alters, removes or puts
in a line must make every later one anew, and still disagrees with the gradebook (which keeps how
far the log had come), with backups, and with the receipts that learners hold. Who can write to all
of these can forge all of these: the chain shows tampering, it does not prevent it.

What is erased of a person leaves its digest behind, so that the chain still holds; a line says
which lines were erased, and when. A random ``salt`` is part of each digest, so that nobody can
guess an erased line from it.
"""
from __future__ import annotations

import datetime
import errno
import hashlib
import json
import os
import re
import secrets
from collections.abc import Collection, Iterator, Mapping, Sequence
from contextlib import suppress
from dataclasses import dataclass
from pathlib import Path
from typing import Any, BinaryIO

from acidbase_lib.classroom.atomic_write import write_whole
from acidbase_lib.classroom.folder_lock import one_at_a_time
from acidbase_lib.classroom.phrases import printable

BEGUN, HANDED_IN, MARKED, BY_HAND = "history begun", "handed in", "marked", "marked by hand"
BACKED_UP, RESTORED, WROTE = "backed up", "restored", "pages written"
ERASED, MAY_RETURN = "erased", "may return"
UNFIT = "did not fit the gradebook"
_FIRST = "0" * 64
_OR_NONE = (float, int, type(None))
# what each kind of line tells at least, and of which kind that is: more may stand there
_TELLS: Mapping[str, Mapping[str, type | tuple[type, ...]]] = {
    HANDED_IN: {"unit": str, "learner": str, "file": str},
    MARKED: {"unit": str, "learner": str, "file": str, "source": str, "cells": dict},
    BY_HAND: {"unit": str, "learner": str, "cell": str, "from": _OR_NONE, "to": _OR_NONE,
              "change": (int, type(None))},
    WROTE: {"unit": str, "out": str}, RESTORED: {"change": int}, MAY_RETURN: {"print": str},
    ERASED: {"key": str, "print": str, "lines": list}, UNFIT: {"lines": int, "chain": str},
}


class HistoryError(RuntimeError):
    """The history cannot be used; the text says why and what to do."""


@dataclass(frozen=True, slots=True)
class Line:
    """One line of the history; ``told`` is None where it was erased."""

    number: int
    at: str
    what: str
    details: Mapping[str, Any] | None
    digest: str
    chain: str

    def chained_to(self, before: str) -> str:
        """Return the chain value that this line must have after another one's."""
        return _sha(f"{before}\n{self.number}\n{self.at}\n{self.what}\n{self.digest}")


class History:
    """The history of one course.

    Parameters
    ----------
    folder : Path
        Where it lies, ``grading/history``; made with the first line.
    """

    def __init__(self, folder: Path) -> None:
        self.path = folder / "log.jsonl"

    def each(self) -> Iterator[Line]:
        """Yield all lines, one at a time; a last line that was cut off by a stop is none.

        Raises
        ------
        HistoryError
            If a line is none of ours.
        """
        try:
            with self._opened() as file:
                for place, text in enumerate(file, 1):
                    if text.endswith(b"\n"):
                        yield _parsed(self.path, place, text)
        except FileNotFoundError:
            return
        except OSError as error:
            raise HistoryError(f"The history {self.path} cannot be read ({error.strerror}).") \
                from error

    def lines(self) -> list[Line]:
        """Return all lines, see `each`."""
        return list(self.each())

    def last(self) -> Line | None:
        """Return the last line, without reading all before it."""
        return self._end()[1]

    def readable(self) -> Iterator[Line]:
        """Yield the lines that can be read, in a damaged history as well."""
        if self.path.is_file():
            for place, text in enumerate(self.path.read_bytes().split(b"\n")[:-1], 1):
                with suppress(HistoryError):
                    yield _parsed(self.path, place, text)

    def marks_were_kept(self) -> bool:
        """True where marks were kept since the gradebook was last begun again."""
        return self._since_begun_again() is True

    def was_begun_again(self) -> bool:
        """True where somebody chose to begin again, and no mark was kept since."""
        return self._since_begun_again() is False

    def _since_begun_again(self) -> bool | None:
        """Whether marks were kept since somebody chose to begin again; None if neither was."""
        kept: bool | None = None
        try:
            for line in self.each():
                if line.what in {MARKED, BY_HAND}:
                    kept = True
                elif line.what == RESTORED and (line.details or {}).get("begin again"):
                    kept = False
        except HistoryError:
            return True  # nothing is known: rather too careful
        return kept

    def add(self, what: str, *details: Mapping[str, Any], at: str = "") -> list[Line]:
        """Add a line for each thing told, safely on the disk before this returns.

        Raises
        ------
        HistoryError
            If the history cannot be read or written; it is as it was then.
        """
        return self.add_all([(what, one, at) for one in details])

    def add_all(self, entries: Sequence[tuple[str, Mapping[str, Any], str]]) -> list[Line]:
        """Add lines of several kinds: what, told, and when (now where left empty)."""
        if not entries:
            return []
        with one_at_a_time(self.path.parent):
            size, last = self._end()
            if last is None:
                entries = [(BEGUN, {}, ""), *entries]
            number, chain = (last.number, last.chain) if last else (0, _FIRST)
            new: list[Line] = []
            for what, details, at in entries:
                number += 1
                body = {**details, "salt": secrets.token_hex(8)}
                line = Line(number, at or now(), what, body, _digest(body), "")
                chain = line.chained_to(chain)
                new.append(Line(number, line.at, what, body, line.digest, chain))
            self._append(size, "".join(_written(line) for line in new).encode())
        return new

    def erase(self, lines: Collection[int], tombstone: Mapping[str, Any]) -> None:
        """Take what some lines tell away, leaving their digests, and say so in a line."""
        with one_at_a_time(self.path.parent):
            kept = [Line(one.number, one.at, one.what, None if one.number in lines else one.details,
                         one.digest, one.chain) for one in self.lines()]
            body = {**tombstone, "lines": sorted(lines), "salt": secrets.token_hex(8)}
            number, chain = (kept[-1].number, kept[-1].chain) if kept else (0, _FIRST)
            line = Line(number + 1, now(), ERASED, body, _digest(body), "")
            kept.append(Line(line.number, line.at, line.what, body, line.digest,
                             line.chained_to(chain)))
            write_whole(self.path, "".join(map(_written, kept)).encode())

    def faults(self) -> Iterator[str]:
        """Yield what is wrong with the chain, a sentence each."""
        try:
            lines = self.lines()
        except HistoryError as error:
            yield str(error)
            return
        chain, erased = _FIRST, set()
        for place, line in enumerate(lines, 1):
            if line.number != place:
                yield f"The history lacks a line, or has one too many, at line {place}."
                return
            if line.chain != line.chained_to(chain) or (
                    line.details is not None and line.digest != _digest(line.details)):
                yield (f"Line {place} of the history ({line.what}, {line.at}) is not what was "
                       "written, or a line before it was taken out.")
                return
            chain = line.chain
            if line.what == ERASED and line.details is not None:
                erased |= set(line.details["lines"])
        if blank := [line.number for line in lines if line.details is None
                     and line.number not in erased]:
            yield (f"What line {blank[0]} of the history told was taken away without `acidbase "
                   "erase`.")

    def _end(self) -> tuple[int, Line | None]:
        """Where the last whole line ends, and that line."""
        try:
            with self._opened() as file:
                at, tail = file.seek(0, os.SEEK_END), b""
                while at and tail.rstrip(b"\n").count(b"\n") < 2:
                    step = min(at, 65_536)
                    at = file.seek(at - step)
                    tail = file.read(step) + tail
                    file.seek(at)
        except FileNotFoundError:
            return 0, None
        except OSError as error:
            raise HistoryError(f"The history {self.path} cannot be read ({error.strerror}).") \
                from error
        whole = tail[:tail.rfind(b"\n") + 1]
        if not whole:
            return at, None
        return at + len(whole), _parsed(self.path, 0, whole[:-1].rpartition(b"\n")[2])

    def _opened(self) -> BinaryIO:
        if self.path.exists() and not self.path.is_file():  # a pipe would be waited at for ever
            raise OSError(errno.EINVAL, "it is no file")
        return open(self.path, "rb")

    def _append(self, size: int, new: bytes) -> None:
        try:
            self.path.touch()
            with open(self.path, "r+b") as file:
                file.truncate(size)  # a last line without its end was cut off by a stop
                file.seek(size)
                try:
                    file.write(new)
                    file.flush()
                    os.fsync(file.fileno())
                except OSError:
                    file.truncate(size)
                    raise
        except OSError as error:
            raise HistoryError(f"The history {self.path} could not be written ({error.strerror}): "
                               "make room, see that it may be written to, and run this again. "
                               "Marks are kept; the next run adds what is missing here.") from error


def now() -> str:
    """Return the time as the history writes it, UTC."""
    return f"{datetime.datetime.now(datetime.UTC):%Y-%m-%dT%H:%M:%SZ}"


def _parsed(path: Path, place: int, text: bytes) -> Line:
    try:
        one = json.loads(text)
        details = one["told"]
        if not (isinstance(one["n"], int) and isinstance(details, dict | None) and all(
                isinstance(one[name], str) for name in ("at", "what", "digest", "chain"))):
            raise ValueError(place)
        if details is not None and not _is_whole(one["what"], details):
            raise ValueError(place)
        return Line(one["n"], one["at"], one["what"], details, one["digest"], one["chain"])
    except (ValueError, KeyError, TypeError, RecursionError):
        raise HistoryError(
            f"{f'Line {place}' if place else 'The last line'} of the history {path} is none of "
            "this kit's: the file was changed or is damaged. Marks are in the gradebook and are "
            "not touched by that. Put the file back from your own backup of the folder, or move it "
            "away: a new one is begun then, and says so.") from None


def _is_whole(what: str, details: Mapping[str, Any]) -> bool:
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


def _written(line: Line) -> str:
    return json.dumps({"n": line.number, "at": line.at, "what": line.what, "told": line.details,
                       "digest": line.digest, "chain": line.chain},
                      separators=(",", ":")) + "\n"


def _digest(details: Mapping[str, Any]) -> str:
    return _sha(json.dumps(details, sort_keys=True, ensure_ascii=True, separators=(",", ":")))


def _sha(text: str) -> str:
    return hashlib.sha256(text.encode()).hexdigest()
