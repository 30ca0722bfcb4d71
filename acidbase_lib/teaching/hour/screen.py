"""An hour at the bedside: decisions, the minutes between them, and what to keep of it."""
from __future__ import annotations

import secrets
from collections import Counter
from collections.abc import Collection
from typing import Any, Final, cast

from acidbase_lib.caution import CAUTION
from acidbase_lib.reading.telling.filled import filled as by_settings
from acidbase_lib.teaching.feedback.named_idea import LEAST_TELLING
from acidbase_lib.teaching.patients.people import filled
from acidbase_lib.teaching.practice.run import PracticeScreen
from acidbase_lib.teaching.seeded_random import SeededRandom

from .body import HourNumbers
from .case import HourCase, varied
from .cases import HOURS
from .hardness import hardness
from .ideas import suggested
from .numbers_told import cited, heading, printed
from .path import HOUR, Judged, Moment, after, begin, best, follow, judge, offered, over

BEDSIDE_HOUR: Final = "an hour at the bedside"
_LOOKS_SHOWN: Final = 3


class HourRun:
    """One learner's hours: a case, the moments of it so far, and the choice just made.

    Parameters
    ----------
    seed : str, optional
        The same seed brings the same hours; left out, each run is a new one.
    """

    def __init__(self, seed: str | None = None) -> None:
        self.name = BEDSIDE_HOUR
        self.seed = seed or secrets.token_hex(8)
        self.hour = 0
        self.left: list[HourCase] = []
        self.level = 0.0
        self._begin()

    def _begin(self) -> None:
        if not self.left:
            draw = SeededRandom(f"{self.seed}|{self.hour // len(HOURS)}")
            self.left = sorted(draw.shuffled(HOURS), key=hardness)
        drawn = self.left.pop(self._next_place())
        self.case, self.words = varied(drawn, SeededRandom(f"{self.seed}|{self.hour}"))
        self.moments: list[Moment] = [begin(self.case)]
        self.taken: list[str] = []
        self.firsts: list[str] = []
        self.chosen = ""

    def _next_place(self) -> int:
        """Where the next hour stands among those left, from the easiest to the hardest."""
        return round(self.level * (len(self.left) - 1))

    @property
    def now(self) -> Moment:
        """The moment at hand."""
        return self.moments[-1]

    @property
    def judged(self) -> Judged:
        """What comes first at this moment, and why."""
        return judge(self.case, self.now)

    @property
    def ended(self) -> bool:
        """Whether the hour is over."""
        return over(self.case, self.moments)

    @property
    def answered(self) -> bool:
        """Whether this decision has been taken, or none is left."""
        return bool(self.chosen) or self.ended

    @property
    def share(self) -> float:
        """The share of the decisions so far in which what came first was taken."""
        pairs = list(zip(self.taken, self.firsts, strict=True))
        return sum(one == first for one, first in pairs) / len(pairs) if pairs else 0.0

    @property
    def choices(self) -> Collection[str]:
        """The steps offered now."""
        return () if self.ended else offered(self.case, self.now)

    def answer(self, choice: str) -> bool:
        """Take a decision, once; return whether it is what comes first.

        Raises
        ------
        ValueError
            If the step is not offered.
        """
        if choice not in self.choices:
            raise ValueError(f"{choice!r} is not offered here. The choices are: "
                             f"{', '.join(self.choices)}.")
        self.chosen = self.chosen or choice
        return self.chosen == self.judged.first

    def next(self) -> None:
        """Let the minutes of the decision pass; after the end, begin another hour."""
        if self.ended:
            self.level = (self.level + self.share) / 2
            self.hour += 1
            self._begin()
        elif self.chosen:
            self.taken.append(self.chosen)
            self.firsts.append(self.judged.first)
            self.moments.append(after(self.case, self.now, self.chosen))
            self.chosen = ""

    def told(self, text: str) -> str:
        """A text of the case with its person and the school's targets put in."""
        return filled(by_settings(text), self.words)


class HourPractice(PracticeScreen):
    """The screen of a `HourRun`."""

    def __init__(self, seed: str | None = None) -> None:
        super().__init__(cast(Any, HourRun(seed)))

    def view_of_run(self) -> dict[str, Any]:
        """Everything that the screen shows, as plain data."""
        run = cast(HourRun, self.run)
        return end_of(run) if run.ended else view_of(run)


def view_of(run: HourRun) -> dict[str, Any]:
    """A decision, and once it is taken what came first and why."""
    options = offered(run.case, run.now)
    judged = run.judged
    first = run.told(options[judged.first].text)
    right = run.chosen == judged.first
    return {
        "title": f"Minute {run.now.state.minute}", "next": "Let the minutes pass",
        "step": f"An hour at the bedside, decision {len(run.moments)}.{_since(run)}",
        "patient": _story(run), "caption": "What you have seen", "long": True, **_looks(run),
        "question": "What comes first now?",
        "choices": [{"word": name, "text": run.told(option.text),
                     "said": _said(run, name, judged.first)} for name, option in options.items()],
        "chosen": run.chosen, "answered": run.answered,
        "verdict": "" if not run.answered else
                   f"Right: {first}." if right else f"Not first here. First: {first}.",
        "notes": [] if right or not run.answered else
                 [f"Why it does not come first: {run.told(judged.why[run.chosen])}"],
        "why": [judged.reason, f"Source: {cited(judged)}."] if run.answered else [],
        "progress": "Nothing is marked or kept. What you choose happens, also where it is not "
                    "first.", "caution": CAUTION,
    }


def end_of(run: HourRun) -> dict[str, Any]:
    """The hour looked back on: each decision beside what came first, and what to keep."""
    mine = follow(run.case, run.taken)
    names, road = best(run.case)
    line = [f"Minute {moment.state.minute}: {_step(run, taken)}. " + (
            "It came first." if taken == first else f"By the rules first: {_step(run, first)}.")
            for moment, taken, first in zip(run.moments, run.taken, run.firsts, strict=False)]
    return {
        "title": "The hour is over", "next": "Another hour",
        "step": f"It was about {run.case.name}.",
        "patient": f"{_end(run)} {_compared(mine.safe_after, road.safe_after)}",
        "caption": "", "columns": [], "rows": [], "long": True,
        "question": "Looking back", "choices": [], "chosen": "",
        "answered": True, "verdict": "What to keep",
        "notes": [run.told(keep) for keep in run.case.keep],
        "why": [*line, *_ideas(run),
                f"The road by the rules: {'; '.join(_step(run, one) for one in names)}."],
        "progress": "Nothing is marked or kept. The minutes are a teaching model, no forecast.",
        "caution": CAUTION,
    }


def _end(run: HourRun) -> str:
    last = follow(run.case, run.taken).last
    who = run.told("{name}")
    return (f"The team has taken over at the bedside of {who}. Treatment and watching go on."
            if last.helped else f"No team has come to {who} in this hour: help is needed now."
            if last.threatened >= HOUR else
            f"{who} is looked after by the ward, and is seen again soon.")


def _ideas(run: HourRun) -> list[str]:
    """The idea that two wrong decisions or more suggest, in its own words: one may be a slip."""
    said = Counter(words for moment, taken, first in
                   zip(run.moments, run.taken, run.firsts, strict=False) if taken != first
                   for words in suggested(run.case, moment, taken))
    words, times = said.most_common(1)[0] if said else ("", 0)
    return [f"Of {times} decisions: {words.replace('This answer fits', 'they fit', 1)}"
            ] if times >= LEAST_TELLING else []


def _compared(mine: int, best_road: int) -> str:
    if mine >= HOUR:
        there = (f"the greatest danger had passed by minute {best_road}" if best_road < HOUR
                 else "it would as well")
        return ("What threatened still threatens as the hour ends. On the road by the rules "
                f"{there}.")
    if mine <= best_road:
        return (f"The greatest danger in this model had passed by minute {mine}, as early as it "
                "can be here. That does not mean that all is well.")
    return (f"The greatest danger in this model had passed by minute {mine}; on the road by the "
            f"rules by minute {best_road}. A late rescue does not give these minutes back. That "
            "it has passed does not mean that all is well.")


def _story(run: HourRun) -> str:
    story = run.told(f"{{name}}, {{age}}, is in {run.case.ward}. {run.case.story}")
    if not run.taken:
        return story
    team = (" The team is at the bedside and treats: what gets better is its work."
            if run.now.state.helped else "")
    return f"{story} Then: {run.told(run.case.steps[run.taken[-1]].says)}{team}"


def _since(run: HourRun) -> str:
    """What is not looked at is not known."""
    known, now = run.now.known.minute, run.now.state.minute
    if run.now.fresh or now == known:
        return ""
    return f" The numbers are those of minute {known}; nobody has looked since."


def _looks(run: HourRun) -> dict[str, Any]:
    """The last looks side by side."""
    looks: list[HourNumbers] = []
    for moment in run.moments:
        if not looks or moment.known.minute != looks[-1].minute:
            looks.append(moment.known)
    looks = looks[-_LOOKS_SHOWN:]
    return {"columns": ["observation", *(f"minute {look.minute}" for look in looks)],
            "rows": [[heading(name), *(printed(name, look) for look in looks)]
                     for name in run.case.shows]}


def _said(run: HourRun, name: str, first: str) -> str:
    if not run.answered:
        return ""
    if name == first:
        return "right" if run.chosen == name else "this comes first"
    return "your choice" if name == run.chosen else ""


def _step(run: HourRun, name: str) -> str:
    return run.told(run.case.steps[name].option.text)
