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
import os
import secrets
from collections.abc import Collection, Iterator, Mapping, Sequence
from contextlib import suppress
from pathlib import Path
from typing import Any, BinaryIO

from acidbase_lib.classroom.atomic_write import write_whole
from acidbase_lib.classroom.folder_lock import one_at_a_time

from .history_line import (
    ADJUSTED,
    BACKED_UP,
    BEGUN,
    BY_HAND,
    ERASED,
    FIRST,
    HANDED_IN,
    MARKED,
    MAY_RETURN,
    OFFERED,
    RESTORED,
    SAME_PERSON,
    UNDONE,
    UNFIT,
    WROTE,
    HistoryError,
    Line,
    digest_of,
    is_whole,
    parsed,
    written,
)

__all__ = ["ADJUSTED", "BACKED_UP", "BEGUN", "BY_HAND", "ERASED", "HANDED_IN", "MARKED",
           "MAY_RETURN", "OFFERED", "RESTORED", "SAME_PERSON", "UNDONE", "UNFIT", "WROTE",
           "History", "HistoryError", "Line"]


class History:
    """The history of one course.

    Parameters
    ----------
    folder : Path
        Where it lies, ``grading/history``; made with the first line.
    """

    def __init__(self, folder: Path) -> None:
        self.path = folder / "log.jsonl"

    def each(self, *only: str) -> Iterator[Line]:
        """Yield all lines, or those of some kinds; a last line that was cut off is none.

        Of other kinds than those asked for no line is read: a long history costs little.

        Raises
        ------
        HistoryError
            If a line is none of ours.
        """
        try:
            with self._opened() as file:
                wanted = [f'"what":"{kind}"'.encode() for kind in only]
                for place, text in enumerate(file, 1):
                    if wanted and not any(one in text for one in wanted):
                        continue
                    if text.endswith(b"\n") or is_whole(self.path, text):
                        yield parsed(self.path, place, text)
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

    def cut_off(self) -> int:
        """Return how many bytes stand behind the last whole line; the next line replaces them."""
        size = self._end()[0]
        return max(0, self.path.stat().st_size - size) if self.path.is_file() else 0

    def readable(self) -> Iterator[Line]:
        """Yield the lines that can be read, in a damaged history as well."""
        if self.path.is_file():
            for place, text in enumerate(self.path.read_bytes().split(b"\n"), 1):
                with suppress(HistoryError):
                    yield parsed(self.path, place, text)

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
            number, chain = (last.number, last.chain) if last else (0, FIRST)
            new: list[Line] = []
            for what, details, at in entries:
                number += 1
                body = {**details, "salt": secrets.token_hex(8)}
                line = Line(number, at or now(), what, body, digest_of(body), "")
                chain = line.chained_to(chain)
                new.append(Line(number, line.at, what, body, line.digest, chain))
            self._append(size, "".join(written(line) for line in new).encode())
        return new

    def erase(self, lines: Collection[int], tombstone: Mapping[str, Any]) -> None:
        """Take what some lines tell away, leaving their digests, and say so in a line."""
        with one_at_a_time(self.path.parent):
            kept = [Line(one.number, one.at, one.what, None if one.number in lines else one.details,
                         one.digest, one.chain) for one in self.lines()]
            body = {**tombstone, "lines": sorted(lines), "salt": secrets.token_hex(8)}
            number, chain = (kept[-1].number, kept[-1].chain) if kept else (0, FIRST)
            line = Line(number + 1, now(), ERASED, body, digest_of(body), "")
            kept.append(Line(line.number, line.at, line.what, body, line.digest,
                             line.chained_to(chain)))
            write_whole(self.path, "".join(map(written, kept)).encode())

    def faults(self) -> Iterator[str]:
        """Yield what is wrong with the chain, a sentence each."""
        try:
            lines = self.lines()
        except HistoryError as error:
            yield str(error)
            return
        chain, erased = FIRST, set()
        for place, line in enumerate(lines, 1):
            if line.number != place:
                yield f"The history lacks a line, or has one too many, at line {place}."
                return
            if line.chain != line.chained_to(chain) or (
                    line.details is not None and line.digest != digest_of(line.details)):
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
                at, tail, step = file.seek(0, os.SEEK_END), b"", 65_536
                while at and tail.rstrip(b"\n").count(b"\n") < 2:
                    step = min(at, 2 * step)  # twice as much each time: a long line costs no more
                    at = file.seek(at - step)
                    tail = file.read(step) + tail
                    file.seek(at)
        except FileNotFoundError:
            return 0, None
        except OSError as error:
            raise HistoryError(f"The history {self.path} cannot be read ({error.strerror}).") \
                from error
        whole = tail[:tail.rfind(b"\n") + 1]
        if is_whole(self.path, rest := tail[len(whole):]):  # but for the end of its line
            return at + len(tail), parsed(self.path, 0, rest)
        if not whole:
            return at, None
        return at + len(whole), parsed(self.path, 0, whole[:-1].rpartition(b"\n")[2])

    def _opened(self) -> BinaryIO:
        if self.path.exists() and not self.path.is_file():  # a pipe would be waited at for ever
            raise OSError(errno.EINVAL, "it is no file")
        return open(self.path, "rb")

    def _append(self, size: int, new: bytes) -> None:
        try:
            self.path.touch()
            with open(self.path, "r+b") as file:
                file.seek(max(0, size - 1))
                ended = file.read(1) in {b"\n", b""}
                file.truncate(size)  # a last line without its end was cut off by a stop
                file.seek(size)
                try:
                    file.write(new if ended else b"\n" + new)
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
