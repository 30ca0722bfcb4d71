"""An hour as boxes to turn to: each choice leads to a box of its own, on paper or on a page."""
from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any, Final

from acidbase_lib.reading.telling.filled import filled as by_settings
from acidbase_lib.teaching.patients.people import filled
from acidbase_lib.teaching.seeded_random import SeededRandom

from .case import HourCase, varied
from .cases import HOURS
from .numbers_told import cited, in_a_line
from .path import HOUR, Moment, after, begin, best, follow, judge, offered, over

CHOICES: Final = 3
LONGEST: Final = 4  # decisions on the road by the rules that are printed


@dataclass(frozen=True, slots=True)
class Box:
    """One box: where it stands in the hour, what is told, and which box each choice leads to.

    `first` is the place of the choice that comes first, `reason` why, with its source; both are
    for the key. A box without choices is an end.
    """

    number: int
    minute: int
    told: str
    choices: tuple[tuple[str, int], ...] = ()
    first: int = 0
    reason: str = ""


@dataclass(frozen=True, slots=True)
class BoxedHour:
    """An hour on paper: its story, its boxes from box 1 on, and what to keep of it."""

    name: str
    story: str
    boxes: tuple[Box, ...]
    keep: tuple[str, ...]


def boxed(name: str, seed: str) -> BoxedHour:
    """An hour in boxes, drawn by a seed.

    On the road by the rules every box has its wrong turns; after a wrong turn one more decision is
    asked, then an end tells what the way cost. So a page stays a page, and no end is the last
    word on a person.

    Parameters
    ----------
    name : str
        Of the hour, as in `HOURS`.
    seed : str
        Another seed brings another person, other numbers and another order of boxes.

    Raises
    ------
    ValueError
        There is no such hour.
    """
    known = {case.name: case for case in HOURS}
    if name not in known:
        raise ValueError(f"There is no hour {name[:60]!r}. The hours are: {', '.join(known)}.")
    draw = SeededRandom(f"boxes|{name}|{seed}")
    case, words = varied(known[name], draw.branch("person"))
    made = _Maker(case, words, draw)
    made.box((), wrong=False)
    return BoxedHour(case.name, made.told(f"{{name}}, {{age}}, is in {case.ward}. {case.story}"),
                     made.in_order(), tuple(made.told(one) for one in case.keep))


class _Maker:
    """Makes the boxes of one hour, each way through it once."""

    def __init__(self, case: HourCase, words: Mapping[str, Any], draw: SeededRandom) -> None:
        self.case, self.words, self.draw = case, words, draw
        self.best = best(case)[1].safe_after
        self.boxes: list[Box] = []
        self.ends: dict[str, int] = {}

    def told(self, text: str) -> str:
        return filled(by_settings(text), self.words)

    def box(self, path: Sequence[str], wrong: bool) -> int:
        """The number of the box at the end of a path, made with all that it leads to."""
        moments = self._along(path)
        if over(self.case, moments) or len(path) >= LONGEST + wrong:
            return self._end(path, wrong)
        now = moments[-1]
        judged = judge(self.case, now)
        steps = self._three(now, judged.first)
        if wrong and len({self._cost((*path, step)) for step in steps}) == 1:
            return self._end(path, wrong)  # nothing hangs on it any more
        number = len(self.boxes) + 1
        self.boxes.append(Box(number, now.state.minute, self._seen(path, now)))
        choices = []
        for step in steps:
            off = step != judged.first
            further = (*path, step)
            there = self._end(further, wrong) if wrong else self.box(further, wrong=off)
            choices.append((self.told(offered(self.case, now)[step].text), there))
        self.boxes[number - 1] = replace(
            self.boxes[number - 1], choices=tuple(choices), first=steps.index(judged.first),
            reason=f"{judged.reason} Source: {cited(judged)}.")
        return number

    def in_order(self) -> tuple[Box, ...]:
        """The boxes numbered anew by chance, but the first: a number tells nothing of the way."""
        dealt = dict(zip((box.number for box in self.boxes[1:]),
                         self.draw.shuffled(range(2, len(self.boxes) + 1)), strict=True)) | {1: 1}
        return tuple(sorted((replace(box, number=dealt[box.number], choices=tuple(
            (text, dealt[there]) for text, there in box.choices)) for box in self.boxes),
            key=lambda box: box.number))

    def _along(self, path: Sequence[str]) -> list[Moment]:
        moments = [begin(self.case)]
        for name in path:
            moments.append(after(self.case, moments[-1], name))
        return moments

    def _three(self, now: Moment, first: str) -> list[str]:
        others = [step for step in offered(self.case, now) if step != first]
        return self.draw.shuffled([first, *self.draw.shuffled(others)[:CHOICES - 1]])

    def _seen(self, path: Sequence[str], now: Moment) -> str:
        done = self.told(self.case.steps[path[-1]].says) + " " if path else ""
        team = "The team is at the bedside and treats. " if now.state.helped else ""
        known = now.known.minute
        when = ("You see" if known == now.state.minute else
                f"Nobody has looked since minute {known}; seen then")
        return f"{done}{team}{when}: {in_a_line(self.case.shows, now.known)}."

    def _end(self, path: Sequence[str], wrong: bool) -> int:
        """The box that tells what a way cost."""
        told = self._cost(path) + (" Not every step on this way came first." if wrong else "")
        if told not in self.ends:
            self.boxes.append(Box(len(self.boxes) + 1, HOUR, told))
            self.ends[told] = len(self.boxes)
        return self.ends[told]

    def _cost(self, path: Sequence[str]) -> str:
        """What a way cost, once the rest has gone by the rules."""
        moments, names = self._along(path), list(path)
        while not over(self.case, moments):
            names.append(judge(self.case, moments[-1]).first)
            moments.append(after(self.case, moments[-1], names[-1]))
        safe = follow(self.case, names).safe_after
        if safe >= HOUR:
            return ("What threatens goes on to the end of the hour. By the rules from the start "
                    f"the greatest danger has passed by minute {self.best}.")
        late = ("as early as it can be in this model" if safe <= self.best else
                f"by the rules from the start it is minute {self.best}. A late rescue does not "
                "give these minutes back")
        return ("From here on the hour goes by the rules. The greatest danger has passed by "
                f"minute {safe}; {late}.")
