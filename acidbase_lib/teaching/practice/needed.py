"""Which skill comes next for one learner, why now, and when to come back."""
from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass
from datetime import datetime
from typing import Final

from acidbase_lib.teaching.memory.remembered import Remembered

from .skills import split

NEW_A_SITTING: Final = 8  # kinds that a learner has never practiced
APART: Final = 3  # other cases before a kind comes again, for whoever goes on
# in English on every computer
_DAYS: Final = ("Monday", "Tuesday", "Wednesday", "Thursday", "Friday", "Saturday", "Sunday")
_MONTHS: Final = ("January", "February", "March", "April", "May", "June", "July", "August",
                  "September", "October", "November", "December")
TRIES: Final = 2  # of one kind in a sitting, as long as anything is due


@dataclass(frozen=True, slots=True)
class Need:
    """A skill to be asked now, and the reason, which does not give its answer away."""

    skill: str
    why: str


class Sitting:
    """One sitting of "practice what I need": due and new ones by turns, then weak and missed ones.

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
        self._due_was_last = False

    def choose(self, more: bool = False) -> Need | None:
        """What to ask next; None where nothing is due.

        Parameters
        ----------
        more : bool
            Whether to go on where nothing is due, with what is weakest.

        Notes
        -----
        A kind that is new takes turns with those due: a learner who has fallen behind would else
        not meet the newest unit for weeks. What was missed waits until all that is due was asked:
        coming back at once it would take the place of something due, and in the benchmark less
        was remembered at the term's end.
        """
        self.memory.refresh()
        left = [skill for skill in self.skills if skill not in self.asked]
        held = self.memory.held
        new = [skill for skill in left if skill not in held]
        if self._new == NEW_A_SITTING:
            new = []
        due = self.memory.due(left)
        if due and not (new and self._due_was_last):
            skill = self._other_topic(due)
            self._due_was_last = True
            return self._ask(skill, f"{_capital(split(skill)[0])} is due: you last met this kind "
                                    f"{_ago(held[skill].last, self.memory.now())}.")
        self._due_was_last = False
        if new:
            self._new += 1
            return self._ask(self._other_topic(new), "You have not practiced this kind yet.")
        if weak := [skill for skill in left if skill in held and not held[skill].right]:
            return self._ask(self._other_topic(weak), "It was not right when this kind last came.")
        if again := [skill for skill in self._missed if self.asked.count(skill) < TRIES]:
            return self._ask(again[0], "You missed a patient of this kind in this sitting. Here is "
                                       "another one.")
        return self._more() if more else None

    def _more(self) -> Need | None:
        """The weakest of those that did not come just now."""
        now, held = self.memory.now(), self.memory.held
        known = [skill for skill in self.skills if skill in held]
        rested = [skill for skill in known if skill not in self.asked[-APART:]] or known
        if not rested:
            return None
        weakest = sorted(rested, key=lambda skill: (self.asked.count(skill),
                                                    held[skill].chance(now)))
        return self._ask(self._other_topic(weakest[:APART]),
                         "Nothing is due, and this is one of the kinds that you hold least firmly.")

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
        day = f"{_DAYS[first.weekday()]}, {_MONTHS[first.month - 1]} {first.day}"
        said = f"Come back on {day}. Then {kinds} due."
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
