"""The file in which a learner's practice is kept: one line an answer, for that learner alone."""
from __future__ import annotations

import json
import os
import stat
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path
from typing import Any, Final

from acidbase_lib.teaching.whole_file import read_whole

from .sure import SURE

FILE: Final = "my_practice.jsonl"
FORMAT: Final = 1
LARGEST: Final = 20_000_000  # of a record that is read [bytes]
HEAD: Final = {"practice record": FORMAT,
               "note": "What you practiced, for you alone. Nothing sends it anywhere. "
                       "You may read or delete this file."}
_ASIDE: Final = "my_practice.damaged*.jsonl"
_NOT_OPEN: Final = ("Your practice record cannot be opened, so nothing is kept now. "
                    "Ask whoever looks after this computer.")
_NEWER: Final = ("Your practice record was written by a newer version of this course. It is left "
                 "as it is, and nothing is added to it. Ask for the newer version.")
_NOT_KEPT: Final = ("This answer could not be kept in your practice record: the disk may be full, "
                    "or the folder may be locked. You can go on.")


@dataclass(frozen=True, slots=True)
class Answer:
    """One answer given in practice.

    Attributes
    ----------
    when : datetime
        In UTC.
    skill : str
        What was asked for: "compensation: a partially compensated disorder".
    right : bool
        Whether every line of it was right.
    sure : str
        One of `SURE`; "" where it was not said.
    hinted : bool
        Whether it came after a hint, or after the reasons were shown.
    step : int
        The step of practice, from 0.
    answered, key : str
        The word chosen, and the right one.
    missed : tuple of str
        Which lines of a whole gas were wrong.
    holds : tuple of float
        How the skill is held after this answer: stability [days] and difficulty; may be empty.
    seconds : int
        From the case being shown to the answer [s]; 0 where nobody knows, or after a pause.
    """

    when: datetime
    skill: str
    right: bool
    sure: str = ""
    hinted: bool = False
    step: int = 0
    answered: str = ""
    key: str = ""
    missed: tuple[str, ...] = ()
    holds: tuple[float, ...] = ()
    seconds: int = 0


class Record:
    """A learner's file, read as it grows and added to a line at a time.

    Two windows may add to one file: each line is written in one piece at its end. A line that was
    cut off by a stop is passed over. What cannot be read is kept aside and said.

    Parameters
    ----------
    folder : Path
        Where the learner's units lie.

    Attributes
    ----------
    answers : list of Answer
        All that is kept, in the order of the file.
    said : str
        What a learner should know of the file: damage, no room; "" where all is well.
    """

    def __init__(self, folder: Path) -> None:
        self.path = folder / FILE
        self.answers: list[Answer] = []
        self.said = ""
        self._file: tuple[int, int] = (0, 0)  # which file was read
        self._read = 0  # how far [bytes]
        self._closed = False

    def refresh(self) -> list[Answer]:
        """Read what was added since, by this window or by another; return those answers."""
        try:
            known = self.path.stat()
        except FileNotFoundError:
            self._begin_anew((0, 0))
            self._closed = False
            return []
        except OSError:
            return self._cannot_open()
        if not stat.S_ISREG(known.st_mode):
            return self._cannot_open()
        file = (known.st_dev, known.st_ino)
        if file != self._file or known.st_size < self._read:
            self._begin_anew(file)
        if known.st_size == self._read:
            return []
        try:
            data = read_whole(self.path, LARGEST)
        except OSError:
            return self._cannot_open()
        if data is None:
            return self._keep_aside([])
        whole = data.rfind(b"\n") + 1  # the rest is being written, or was cut off
        found, damaged = _answers_in(data[self._read:whole])
        if found is None:
            self._closed, self.said = True, _NEWER
            return []
        self._closed = False
        if damaged:
            every, _ = _answers_in(data[:whole])
            return self._keep_aside(every or [])
        self._read = whole
        self.answers += found
        return found

    def add(self, answer: Answer) -> bool:
        """Add one answer; False where it could not be kept, and `said` says why."""
        if self._closed:
            return False
        try:
            _append(self.path, _line_of(answer))
        except OSError:
            self.said = _NOT_KEPT
            return False
        if self.said == _NOT_KEPT:
            self.said = ""
        return True

    def erase(self) -> bool:
        """Delete the file and whatever was kept aside of it; False where that failed."""
        try:
            for path in (self.path, *self.path.parent.glob(_ASIDE)):
                path.unlink(missing_ok=True)
        except OSError:
            self.said = f"Your practice record could not be deleted. Delete {FILE} yourself."
            return False
        self._begin_anew((0, 0))
        self._closed, self.said = False, ""
        return True

    def _begin_anew(self, file: tuple[int, int]) -> None:
        self.answers, self._read, self._file = [], 0, file

    def _cannot_open(self) -> list[Answer]:
        self._closed, self.said = True, _NOT_OPEN
        return []

    def _keep_aside(self, good: list[Answer]) -> list[Answer]:
        """Move a damaged file out of the way, and go on with the answers that could be read."""
        aside = next(path for number in range(1, 1000) if not os.path.lexists(
            path := self.path.with_name(f"my_practice.damaged{number}.jsonl")))
        draft = self.path.with_name(f".{FILE}.{os.getpid()}.part")
        try:
            draft.write_bytes(_HEAD_LINE + b"".join(map(_line_of, good)))
            os.replace(self.path, aside)
            os.replace(draft, self.path)
            known = self.path.stat()
        except OSError:
            draft.unlink(missing_ok=True)
            return self._cannot_open()
        self._begin_anew((known.st_dev, known.st_ino))
        self._read, self.answers, self._closed = known.st_size, good, False
        kept = f"The {len(good)} answers that could be read are" if good else "A new record is"
        self.said = (f"Part of your practice record was damaged. The old file is kept as "
                     f"{aside.name}. {kept} in use.")
        return good


def _append(path: Path, line: bytes) -> None:
    """Write a line in one piece at a file's end; where the last one was cut off, below it."""
    handle = os.open(path, os.O_RDWR | os.O_CREAT | os.O_APPEND | getattr(os, "O_BINARY", 0),
                     0o600)
    try:
        size = os.fstat(handle).st_size
        if not size:
            line = _HEAD_LINE + line
        else:
            os.lseek(handle, -1, os.SEEK_END)
            if os.read(handle, 1) != b"\n":
                line = b"\n" + line
        if os.write(handle, line) != len(line):
            os.ftruncate(handle, size)
            raise OSError("no room")
    finally:
        os.close(handle)


def _answers_in(data: bytes) -> tuple[list[Answer] | None, int]:
    """The answers in some lines and how many lines are damaged; None where a newer kit wrote."""
    found, damaged = [], 0
    for line in data.splitlines():
        if not line.strip():
            continue
        try:
            row = json.loads(line)
            if "practice record" in row:
                if row["practice record"] > FORMAT:
                    return None, 0
                continue
            found.append(_answer_of(row))
        except (ValueError, TypeError, KeyError, OverflowError, RecursionError):
            damaged += not _was_cut_off(line)
    return found, damaged


def _was_cut_off(line: bytes) -> bool:
    """True for the beginning of a line of ours: a stop came while it was written."""
    return line.startswith(b'{"when":"') and not line.endswith(b"}") and b"\0" not in line


def _answer_of(row: dict[str, Any]) -> Answer:
    """An answer from its line; what an older version did not write is left out."""
    when = datetime.fromisoformat(row["when"])
    holds = tuple(float(part) for part in row.get("holds", ()))
    if len(holds) not in (0, 2) or not all(0 < part < 1e6 for part in holds):
        raise ValueError("no such state")
    if not isinstance(row["skill"], str) or not isinstance(row["right"], bool):
        raise TypeError("no answer of ours")
    sure = row.get("sure", "")
    return Answer(when if when.tzinfo else when.replace(tzinfo=UTC), row["skill"], row["right"],
                  sure if sure in SURE else "", bool(row.get("hinted")), int(row.get("step", 0)),
                  str(row.get("answered", "")), str(row.get("key", "")),
                  tuple(map(str, row.get("missed", ()))), holds, int(row.get("seconds", 0)))


def _line_of(answer: Answer) -> bytes:
    """An answer as one line; what is empty is left out."""
    row: dict[str, Any] = {
        "when": f"{answer.when.astimezone(UTC):%Y-%m-%dT%H:%M:%SZ}",
        "skill": answer.skill, "right": answer.right, "sure": answer.sure,
        "hinted": answer.hinted, "step": answer.step,
        "answered": "" if answer.right else answer.answered,
        "key": "" if answer.right else answer.key, "missed": answer.missed,
        "holds": [round(part, 3) for part in answer.holds], "seconds": answer.seconds}
    kept = {name: value for name, value in row.items()
            if value or name in ("when", "skill", "right")}
    return json.dumps(kept, ensure_ascii=False, separators=(",", ":")).encode() + b"\n"


_HEAD_LINE: Final = json.dumps(HEAD).encode() + b"\n"
