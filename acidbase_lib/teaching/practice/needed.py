"""Which skill comes next for one learner, why now, and when to come back."""
from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass
from datetime import datetime
from typing import Final

from acidbase_lib.teaching.memory.remembered import Remembered

from .skills import split

NEW_A_SITTING: Final = 8  # kinds that a learner has never practiced
APART: Final = 3  # other cases at least before a missed kind comes again, while there are any
TRIES: Final = 3  # of one kind in a sitting


@dataclass(frozen=True, slots=True)
class Need:
    """A skill to be asked now, and the reason, which does not give its answer away."""

    skill: str
    why: str


class Sitting:
    """One sitting of "practice what I need": due first, then missed, new and weak ones, mixed.

    Parameters
    ----------
    memory : Remembered
        What the learner has practiced.
    skills : collection of str
        Those that are open to this learner.
    """

    def __init__(self, memory: Remembered, skills: Collection[str]) -> None:
        self.memory = memory
        self.skills = tuple(skills)
        self.asked: list[str] = []
        self._missed: dict[str, int] = {}  # skill: how many were asked when it was missed
        self._new = 0

    def choose(self) -> Need | None:
        """What to ask next; None where nothing is due."""
        self.memory.refresh()
        again = [skill for skill in self._missed if self.asked.count(skill) < TRIES]
        ripe = [skill for skill in again if len(self.asked) - self._missed[skill] >= APART]
        if ripe:
            return self._ask(ripe[0], "You missed a patient of this kind a moment ago. Here is "
                                      "another one.")
        left = [skill for skill in self.skills if skill not in self.asked]
        held = self.memory.held
        if due := self.memory.due(left):
            skill = self._other_topic(due)
            return self._ask(skill, f"{_capital(split(skill)[0])} is due: you last met this kind "
                                    f"{_ago(held[skill].last, self.memory.now())}.")
        if weak := [skill for skill in left if skill in held and not held[skill].right]:
            return self._ask(self._other_topic(weak), "It was not right when this kind last came.")
        new = [skill for skill in left if skill not in held]
        if new and self._new < NEW_A_SITTING:
            self._new += 1
            return self._ask(self._other_topic(new), "You have not practiced this kind yet.")
        return self._ask(again[0], "You missed a patient of this kind in this sitting. Here is "
                                   "another one.") if again else None

    def heard(self, right: bool) -> None:
        """Hear how the case that was asked last went."""
        skill = self.asked[-1]
        if right:
            self._missed.pop(skill, None)
        else:
            self._missed[skill] = len(self.asked)

    def when_to_come_back(self) -> str:
        """Say when something is due again, as a sentence."""
        if not self.skills:
            return ("Answer a question in a unit first, or practice a topic. What you have met "
                    "there comes back here at the right time.")
        new = sum(skill not in self.memory.held for skill in self.skills)
        days = sorted(self.memory.held[skill].due.astimezone() for skill in self.skills
                      if skill in self.memory.held)
        if not days:
            return "Come back tomorrow."
        first = days[0]
        count = sum(day.date() <= first.date() for day in days)
        kinds = "1 kind of case is" if count == 1 else f"{count} kinds of case are"
        said = f"Come back on {first:%A}, {first:%B} {first.day}. Then {kinds} due."
        return said + (f" {new} kinds are new to you, and come in later sittings." if new else "")

    def _ask(self, skill: str, why: str) -> Need:
        self.asked.append(skill)
        return Need(skill, f"Why this now: {why}")

    def _other_topic(self, skills: list[str]) -> str:
        """The first that is of another topic than the last one, if there is one."""
        last = split(self.asked[-1])[0] if self.asked else ""
        return next((skill for skill in skills if split(skill)[0] != last), skills[0])


def _ago(when: datetime, now: datetime) -> str:
    days = (now - when).days
    return "today" if days < 1 else "yesterday" if days == 1 else f"{days} days ago"


def _capital(text: str) -> str:
    return text[:1].upper() + text[1:]
