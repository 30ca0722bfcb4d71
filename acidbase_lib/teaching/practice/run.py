"""One learner's practice: cases, answers, and the step that follows from them; and its screen."""
from __future__ import annotations

import secrets
from abc import ABC, abstractmethod
from collections import Counter, deque
from collections.abc import Collection
from typing import Any, Final, Generic, TypeVar

import traitlets

from acidbase_lib.caution import CAUTION
from acidbase_lib.teaching.seeded_random import SeededRandom
from acidbase_lib.teaching.theme import CSS
from acidbase_lib.teaching.widgets.assets import asset
from acidbase_lib.teaching.widgets.placed_widget import PlacedWidget

UP, DOWN = 2, 2  # right answers in a row that raise the step, wrong ones that lower it
_REDRAWS: Final = 20  # for a case that was not told of late

Drawn = TypeVar("Drawn")


class Run(ABC, Generic[Drawn]):
    """One learner's practice of one thing.

    Parameters
    ----------
    name : str
        What is practiced, as typed.
    steps : int
        How many steps lead from clear to hard.
    remembers : int
        How many cases are remembered, so as not to be told again at once.
    seed : str, optional
        The same seed brings the same cases; left out, each run is a new one.
    """

    def __init__(self, name: str, steps: int, remembers: int, seed: str | None = None) -> None:
        self.name = name
        self.seed = seed or secrets.token_hex(8)
        self.step = self.read = 0
        self.moved = self.chosen = ""
        self.right: Counter[str] = Counter()
        self.wrong: Counter[str] = Counter()
        self._last_step = steps - 1
        self._lately: deque[str] = deque(maxlen=remembers)
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
    def draw(self, draw: SeededRandom) -> Drawn:
        """Draw a case; what was missed comes back more often."""

    @abstractmethod
    def story_of(self, case: Drawn) -> str:
        """What is not to be told again at once."""

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

    def _next_case(self) -> Drawn:
        for attempt in range(_REDRAWS):
            case = self.draw(SeededRandom(f"{self.seed}|{self.stream}|{self.read}|{attempt}"))
            if self.story_of(case) not in self._lately:
                break
        self._lately.append(self.story_of(case))
        return case

    def _move(self, right: bool) -> None:
        self._row = max(self._row, 0) + 1 if right else min(self._row, 0) - 1
        if self._row >= UP and self.step < self._last_step:
            self.step, self._row = self.step + 1, 0
            self.moved = f"Two right in a row: step {self.step + 1} comes next."
        elif self._row <= -DOWN and self.step > 0:
            self.step, self._row = self.step - 1, 0
            self.moved = f"Step {self.step + 1} comes next, to find firm ground again."


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
