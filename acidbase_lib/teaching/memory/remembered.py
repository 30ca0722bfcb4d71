"""A learner who is remembered: the record and how each skill is held, read together."""
from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from pathlib import Path

from .record import Answer, Record
from .schedule import Held, after

SITTING_ENDS = timedelta(minutes=30)  # a pause as long begins another sitting


class Remembered:
    """What a learner has practiced, and how it is held.

    Parameters
    ----------
    folder : Path
        Where the learner's units lie.
    clock : callable, optional
        Tells the time.

    Attributes
    ----------
    held : dict of str to Held
        By skill.
    """

    def __init__(self, folder: Path, clock: Callable[[], datetime] = lambda: datetime.now(UTC)
                 ) -> None:
        self.record = Record(folder)
        self.now = clock
        self.held: dict[str, Held] = {}
        self._counted = 0

    def refresh(self) -> Remembered:
        """Read what was added since."""
        fresh = self.record.refresh()
        if len(fresh) != len(self.record.answers) - self._counted:  # another file, or none
            self.held, fresh = {}, self.record.answers
        self._counted = len(self.record.answers)
        for skill, answers in _by_skill(fresh).items():
            known, rest = _last_state(self.held.get(skill), answers)
            for answer in rest:
                known = after(known, answer)
            if known is not None:
                self.held[skill] = known
        return self

    def keep(self, skill: str, right: bool, **more: object) -> None:
        """Keep one answer, given now; `more` as in `Answer`."""
        self.refresh()
        answer = Answer(self.now(), skill, right, **more)  # type: ignore[arg-type]
        holds = after(self.held.get(skill), answer)
        self.record.add(replace(answer, holds=(holds.stability, holds.difficulty)))
        self.refresh()

    def erase(self) -> bool:
        """Delete all that is kept; False where that failed."""
        done = self.record.erase()
        self.refresh()
        return done

    def due(self, skills: Iterable[str]) -> list[str]:
        """Those of these skills that are due now, the longest not met first.

        In the benchmark this left more at a term's end than the most faded first, which spends a
        short sitting on what is hardest.
        """
        now = self.now()
        return sorted((skill for skill in skills
                       if skill in self.held and self.held[skill].due <= now),
                      key=lambda skill: self.held[skill].last)

    def sittings(self) -> list[tuple[datetime, datetime]]:
        """When each sitting began and ended."""
        found: list[tuple[datetime, datetime]] = []
        for when in sorted(answer.when for answer in self.record.answers):
            if found and when - found[-1][1] <= SITTING_ENDS:
                found[-1] = (found[-1][0], when)
            else:
                found.append((when, when))
        return found


def _by_skill(answers: Iterable[Answer]) -> dict[str, list[Answer]]:
    found: dict[str, list[Answer]] = {}
    for answer in answers:
        found.setdefault(answer.skill, []).append(answer)
    return found


def _last_state(held: Held | None, answers: list[Answer]) -> tuple[Held | None, list[Answer]]:
    """The last state that the file itself tells, and the answers after it."""
    for place in range(len(answers) - 1, -1, -1):
        if answers[place].holds:
            one = answers[place]
            stability, difficulty = one.holds
            return Held(stability, difficulty, one.when, one.right), answers[place + 1:]
    return held, answers
