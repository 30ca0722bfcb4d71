"""Whether a file came late: by the platform's mark, a time in its name, or its own time."""
from __future__ import annotations

import datetime
import re
from collections.abc import Iterable
from contextlib import suppress
from dataclasses import dataclass

from .roster import IntakeError, RosterLine, words_of

IN_TIME = "in time"
SPREAD = datetime.timedelta(minutes=10)  # files whose times lie nearer were downloaded together
_MARK = "late"
_TIME = re.compile(r"(?<!\d)(20\d\d)[-_.]?([01]\d)[-_.]?([0-3]\d)[-_T .]{0,3}(?:at[-_ ])?"
                   r"([0-2]\d)[-_.:h]?([0-5]\d)(?:[-_.:]?([0-5]\d))?(?!\d)")


@dataclass(frozen=True, slots=True)
class Deadline:
    """When files were due, and whether the files' own times tell when they were handed in.

    Parameters
    ----------
    due : datetime or None
        In this computer's own time; None where nobody said.
    by_files : bool
        Whether the times of the bundle's files may be used: not where all are alike, which is the
        time of the download.
    """

    due: datetime.datetime | None = None
    by_files: bool = False

    def told(self, name: str, written: datetime.datetime | None,
             owner: RosterLine | None = None) -> str:
        """Say whether a file is late and by what; "in time"; nothing where that is not known."""
        words = words_of(name.removesuffix(".ipynb"))
        own = {*owner.by_id, *owner.by_name, *sum(owner.also, ())} if owner else set()
        if words.count(_MARK) > (_MARK in own):  # somebody may be called so
            return "late, by the mark in the file's name"
        if self.due is None:
            return ""
        at, by = _time_in(name), "the time in the file's name"
        if at is None and self.by_files:
            at, by = written, "the file's own time"
        if at is None:
            return ""
        return (f"late: {at:%Y-%m-%d %H:%M} by {by}, due {self.due:%Y-%m-%d %H:%M}"
                if at > self.due else IN_TIME)


def deadline_of(due: datetime.datetime | None,
                times: Iterable[datetime.datetime | None]) -> Deadline:
    """Return the deadline of a bundle, whose files' own times are looked at together."""
    known = [one for one in times if one is not None]
    return Deadline(due, bool(known) and max(known) - min(known) > SPREAD)


def due_at(text: str) -> datetime.datetime:
    """Read when files are due, in this computer's own time unless another is told.

    Raises
    ------
    IntakeError
        If it is no time.
    """
    try:
        due = datetime.datetime.fromisoformat(text.strip())
    except ValueError:
        raise IntakeError(f"--due {text[:40]!r} is no time; write it as 2026-12-01T12:00.") \
            from None
    return due if due.tzinfo is None else due.astimezone().replace(tzinfo=None)


def _time_in(name: str) -> datetime.datetime | None:
    """The last time that stands in a file's name, with hour and minute."""
    found = None
    for match in _TIME.finditer(name):
        year, month, day, hour, minute, second = (int(part or 0) for part in match.groups())
        with suppress(ValueError):  # a number that looks like a time
            found = datetime.datetime(year, month, day, hour, minute, second)
    return found
