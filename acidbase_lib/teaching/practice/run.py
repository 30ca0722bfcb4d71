"""One learner's practice: cases, answers, and the step that follows from them; and its screen."""
from __future__ import annotations

import secrets
from abc import ABC, abstractmethod
from collections import Counter, deque
from collections.abc import Collection, Iterator
from typing import Any, Final, Generic, TypeVar

import traitlets

from acidbase_lib.caution import CAUTION
from acidbase_lib.teaching.seeded_random import SeededRandom
from acidbase_lib.teaching.theme import CSS
from acidbase_lib.teaching.widgets.assets import asset
from acidbase_lib.teaching.widgets.placed_widget import PlacedWidget

UP, DOWN = 2, 2  # right answers in a row that raise the step, wrong ones that lower it
LATELY: Final = 4  # stories that do not come again at once when a new round begins

Drawn = TypeVar("Drawn")


class Run(ABC, Generic[Drawn]):
    """One learner's practice of one thing: no story again before all of its step have been told.

    Parameters
    ----------
    name : str
        What is practiced, as typed.
    steps : int
        How many steps lead from clear to hard.
    seed : str, optional
        The same seed brings the same cases; left out, each run is a new one.
    """

    def __init__(self, name: str, steps: int, seed: str | None = None) -> None:
        self.name = name
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

    @abstractmethod
    def said_at(self, step: int, of: int) -> str:
        """Say at a step what it brings, to a case of step `of`; the first is 0."""

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
            self.chosen = choice
            right = choice == self.key
            (self.right if right else self.wrong)[self.about] += 1
            self._move(right)
        return self.chosen == self.key

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

    def _next_case(self) -> Drawn:
        draw = SeededRandom(f"{self.seed}|{self.stream}|{self.read}")
        case = next(found for told in self._not_again()
                    if (found := self.draw(draw, told)) is not None)
        self._told[self.story_of(case)] += 1
        self._lately.append(self.story_of(case))
        return case

    def _not_again(self) -> Iterator[frozenset[str]]:
        """Yield what is left out: all told in this round of the step, then ever less of it."""
        while True:
            told = {story for story, times in self._told.items()
                    if times > self._rounds[self.step]}
            left_out = [frozenset(told | {*list(self._lately)[len(self._lately) - near:]})
                        for near in range(len(self._lately), -1, -1)]
            yield from dict.fromkeys(left_out)
            self._rounds[self.step] += 1

    def _move(self, right: bool) -> None:
        self._row = max(self._row, 0) + 1 if right else min(self._row, 0) - 1
        if self._row >= UP and self.step < self._last_step:
            self.step, self._row = self.step + 1, 0
            self.moved = step_up(self.step)
        elif self._row <= -DOWN and self.step > 0:
            self.step, self._row = self.step - 1, 0
            self.moved = step_down(self.step)


def step_up(step: int) -> str:
    """Say that a harder step comes next; the first is 0."""
    return f"Two right in a row: step {step + 1} comes next."


def step_down(step: int) -> str:
    """Say that an easier step comes next; the first is 0."""
    return f"Step {step + 1} comes next, to find firm ground again."


class PracticeScreen(PlacedWidget):
    """The screen of a `Run`: radio buttons, reasons, the next case.

    Parameters
    ----------
    run : Run
        What is practiced.
    """

    _esm = asset("placed.js", "practice.js")
    # One look for every form: practice wears the chart cell's.
    _css = CSS + asset("chart_form.css", "practice.css")

    view = traitlets.Dict().tag(sync=True)

    def __init__(self, run: Run[Any]) -> None:
        self.run = run
        super().__init__(view=self.view_of_run())
        self.on_msg(self._heard)

    def view_of_run(self) -> dict[str, Any]:
        """Everything that the screen shows, as plain data."""
        raise NotImplementedError

    def _heard(self, _widget: object, message: dict[str, Any], _buffers: object) -> None:
        choice = message.get("choice")
        if message.get("want") == "answer" and choice in self.run.choices:
            self.run.answer(str(choice))
        elif message.get("want") == "next" and self.run.answered:
            self.run.next()
        self.view = self.view_of_run()

    @property
    def reopened(self) -> str:  # type: ignore[override]
        """What stands in a saved notebook until the cell is run again."""
        return f"Run this cell to practice: {self.run.name}. {CAUTION}"

    def __repr__(self) -> str:
        return self.reopened
