"""One learner's practice: cases, answers, and the step that follows from them; and its screen."""
from __future__ import annotations

import secrets
from abc import ABC, abstractmethod
from collections import Counter, deque
from collections.abc import Collection, Iterator
from itertools import count
from typing import TYPE_CHECKING, Any, Final, Generic, TypeVar

import traitlets

from acidbase_lib.caution import CAUTION
from acidbase_lib.teaching.memory.sure import SURE
from acidbase_lib.teaching.seeded_random import SeededRandom
from acidbase_lib.teaching.theme import CSS
from acidbase_lib.teaching.widgets.assets import asset
from acidbase_lib.teaching.widgets.placed_widget import PlacedWidget

from .looked_at import LookedAt
from .stepping import moved, rights_needed

_OF_A_KIND: Final = 12  # cases looked at on each step for one of a kind
_ROUNDS: Final = 20  # of looking for a patient, each with other numbers and ever fewer left out
LATELY: Final = 4  # stories that do not come again at once when a new round begins

if TYPE_CHECKING:
    from acidbase_lib.teaching.memory.remembered import Remembered

NOTHING_KEPT: Final = "Nothing is marked or kept. Stop whenever you like."
_NUMBERS: Final = ("", "", "Two", "Three", "Four", "Five", "Six", "Seven", "Eight", "Nine")

Drawn = TypeVar("Drawn")


class Run(ABC, Generic[Drawn]):
    """One learner's practice of one thing: no story again before all of its step have been told.

    Parameters
    ----------
    name : str
        What is practiced, as typed.
    steps : int
        How many steps lead from clear to hard.
    choices : int
        How many answers are offered, at the least: it says how often a guess is right.
    seed : str, optional
        The same seed brings the same cases; left out, each run is a new one.
    """

    def __init__(self, name: str, steps: int, choices: int, seed: str | None = None) -> None:
        self.name = name
        self.needed = rights_needed(1 / choices, steps)
        self.seed = seed or secrets.token_hex(8)
        self.step = self.read = 0
        self.moved = self.chosen = ""
        self.right: Counter[str] = Counter()
        self.wrong: Counter[str] = Counter()
        self._last_step = steps - 1
        self._step_of_case = 0
        self._lately: deque[str] = deque(maxlen=LATELY)
        self._told: Counter[str] = Counter()
        self._rounds: Counter[int] = Counter()  # how often all stories of a step have been told
        self._words_in_row: set[str] = set()  # right answers given since the last wrong one
        self._row = 0  # right answers in a row, counted below zero where they are wrong
        self.case = self._next_case()

    @property
    @abstractmethod
    def choices(self) -> Collection[str]:
        """The answers offered to the case at hand."""

    @property
    @abstractmethod
    def key(self) -> str:
        """The answer that is right."""

    @property
    @abstractmethod
    def stream(self) -> str:
        """Which cases the seed brings; each stream has its own."""

    @property
    def about(self) -> str:
        """What an answer to this case is counted under."""
        return self.key

    @abstractmethod
    def draw(self, draw: SeededRandom, told: Collection[str]) -> Drawn | None:
        """Draw a case of none of the stories told; what was missed comes back more often.

        None where the step has no other story.
        """

    @abstractmethod
    def story_of(self, case: Drawn) -> str:
        """What is not to be told again before the others."""

    def said_at(self, step: int, of: int) -> str:
        """Say at a step what it brings, to a case of step `of`; the first is 0."""
        return f"Step {step + 1}."

    def step_in_words(self) -> str:
        """Say which step this is and what it brings, or of which step this case is."""
        return self.said_at(self.step, self._step_of_case)

    @property
    def answered(self) -> bool:
        """Whether the case at hand has been answered."""
        return bool(self.chosen)

    def answer(self, choice: str) -> bool:
        """Take an answer, once a case, and move the step; return whether it is right.

        Raises
        ------
        ValueError
            If the answer is none of the choices.
        """
        if choice not in self.choices:
            raise ValueError(f"{choice!r} is not offered here. The choices are: "
                             f"{', '.join(self.choices)}.")
        if not self.chosen:
            self._take(choice)
        return self.chosen == self.key

    def _take(self, chosen: str) -> None:
        self.chosen = chosen
        right = chosen == self.key
        (self.right if right else self.wrong)[self.about] += 1
        self._move(right)

    def next(self) -> Drawn:
        """Bring the next case."""
        self.read += 1
        self.chosen = self.moved = ""
        self.case = self._next_case()
        return self.case

    def show(self, case: Drawn, step: int) -> None:
        """Bring this very case, as one of this step, not answered yet."""
        self.case, self.step, self._step_of_case = case, step, step
        self.chosen = self.moved = ""

    def next_about(self, kind: str) -> bool:
        """Bring a case of a kind, at this step or at the nearest that has one; False if none is."""
        self.read += 1
        self.chosen = self.moved = ""
        step, steps = self.step, range(self._last_step + 1)
        for self.step in sorted(steps, key=lambda other: abs(other - step)):
            for tried in range(_OF_A_KIND):
                self.case = self._drawn(f"|{kind}|{self.step}|{tried}")
                if self.kind == kind:
                    break
            else:
                continue
            break
        self._tell(self.case)
        found, self.step = self.kind == kind, step
        return found

    @property
    def kind(self) -> str:
        """Which kind of case this is, as it is remembered: a topic's kinds are its skills."""
        return self.about

    def begin_at(self, step: int) -> None:
        """Go on at the step where an earlier sitting ended."""
        self.step = max(0, min(step, self._last_step))

    def given(self) -> dict[str, Any]:
        """What a record keeps of the answer, beside its kind and whether it is right."""
        return {"answered": self.chosen, "key": self.key, "step": self.step}

    def _next_case(self) -> Drawn:
        case = self._drawn()
        self._tell(case)
        return case

    def _drawn(self, more: str = "") -> Drawn:
        stream = f"{self.seed}|{self.stream}|{self.read}{more}"
        draws = (SeededRandom(f"{stream}|{tried}" if tried else stream) for tried in count())
        case = next((found for draw, told in zip(draws, self._not_again(), strict=False)
                     if (found := self.draw(draw, told)) is not None), None)
        if case is None:
            raise RuntimeError(f"No patient was found for practice on {self.name}. Choose another "
                               "topic, and tell whoever looks after this course.")
        return case

    def _tell(self, case: Drawn) -> None:
        self._told[self.story_of(case)] += 1
        self._lately.append(self.story_of(case))

    def _not_again(self) -> Iterator[frozenset[str]]:
        """Yield what is left out: all told in this round of the step, then ever less of it."""
        for _ in range(_ROUNDS):
            told = {story for story, times in self._told.items()
                    if times > self._rounds[self.step]}
            left_out = [frozenset(told | {*list(self._lately)[len(self._lately) - near:]})
                        for near in range(len(self._lately), -1, -1)]
            yield from dict.fromkeys(left_out)
            self._rounds[self.step] += 1

    def _move(self, right: bool) -> None:
        before = self.step
        self._words_in_row = self._words_in_row | {self.chosen} if right else set()
        if right and len(self._words_in_row) < 2:  # the same word to everybody is no reading
            self._row = min(self._row, self.needed - 2)
        self.step, self._row = moved(self.step, self._row, right, self.needed, self._last_step)
        if self.step > before:
            self._words_in_row = set()
            self.moved = self.step_up(self.step)
        elif self.step < before:
            self.moved = self.step_down(self.step)

    def step_up(self, step: int) -> str:
        """Say that a harder step comes next; the first is 0."""
        return f"{_NUMBERS[self.needed]} right in a row: step {step + 1} comes next."

    def step_down(self, step: int) -> str:
        """Say that an easier step comes next; the first is 0."""
        return f"Step {step + 1} comes next, to find firm ground again."


class PracticeScreen(PlacedWidget):
    """The screen of a `Run`: radio buttons, reasons, the next case.

    Parameters
    ----------
    run : Run
        What is practiced.
    memory : Remembered, optional
        Keeps what is answered; then the learner is asked how sure they are as well.
    """

    _esm = asset("placed.js", "practice.js")
    # One look for every form: practice wears the chart cell's.
    _css = CSS + asset("chart_form.css", "practice.css")

    view = traitlets.Dict().tag(sync=True)

    def __init__(self, run: Run[Any], memory: Remembered | None = None) -> None:
        self.run = run
        self.memory = memory
        self._looked = LookedAt()
        super().__init__(view=self._shown())
        self.on_msg(self._heard)

    def view_of_run(self) -> dict[str, Any]:
        """Everything that the screen shows, as plain data."""
        raise NotImplementedError

    def bring_next(self) -> None:
        """Bring the next case."""
        self.run.next()

    def go_on(self) -> None:
        """Go on after the end, where a screen has one."""

    def was_answered(self) -> None:
        """Hear that the case at hand has just been answered."""

    def _shown(self) -> dict[str, Any]:
        shown = self.view_of_run()
        if self.memory is None:
            return shown
        kept = shown["progress"].replace(NOTHING_KEPT, "Nothing is marked. Stop whenever you like.")
        return {**shown, "sure": list(SURE), "progress": kept,
                "warning": self.memory.record.said}

    def _heard(self, _widget: object, message: dict[str, Any], _buffers: object) -> None:
        if self.view.get("ended"):
            if message.get("want") == "next":
                self.go_on()
                self.view = self._shown()
            return
        if message.get("want") == "answer" and not self.run.answered:
            try:
                right = self.run.answer(message.get("lines") or message["choice"])
            except (ValueError, TypeError, KeyError):
                return  # no press of this screen
            if self.memory is not None:
                sure = message.get("sure")
                self.memory.keep(f"{self.run.name}: {self.run.kind}", right,
                                 sure=sure if sure in SURE else "", seconds=self._looked.seconds(),
                                 **self.run.given())
            self.was_answered()
        elif message.get("want") == "next" and self.run.answered:
            self.bring_next()
            self._looked.begin()
        self.view = self._shown()

    @property
    def reopened(self) -> str:  # type: ignore[override]
        """What stands in a saved notebook until the cell is run again."""
        return f"Run this cell to practice: {self.run.name}. {CAUTION}"

    def __repr__(self) -> str:
        return self.reopened
