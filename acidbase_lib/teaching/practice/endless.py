"""Practice without end: a fresh patient at every press, the reasons at once, no points."""
from __future__ import annotations

import secrets
from collections import Counter, deque
from dataclasses import dataclass
from typing import Any

import traitlets

from acidbase_lib.caution import CAUTION
from acidbase_lib.reading.lab_settings import DEFAULT_SETTINGS
from acidbase_lib.teaching.explanations.gas_table import more_rows
from acidbase_lib.teaching.explanations.printed_numbers import THREE, number_text, range_text
from acidbase_lib.teaching.feedback.named_idea import the_one_idea
from acidbase_lib.teaching.misconceptions.catalog import MISCONCEPTIONS, SOUND
from acidbase_lib.teaching.patients.cases import Case
from acidbase_lib.teaching.seeded_random import SeededRandom
from acidbase_lib.teaching.theme import CSS
from acidbase_lib.teaching.widgets.assets import asset
from acidbase_lib.teaching.widgets.placed_widget import PlacedWidget

from .topic import Topic
from .topics import TOPICS

UP, DOWN = 2, 2  # right answers in a row that raise the step, wrong ones that lower it


@dataclass(frozen=True, slots=True)
class Outcome:
    """What one answer came to.

    Attributes
    ----------
    right : bool
        Whether the answer is the library's own reading.
    key : str
        The library's own reading.
    falls : str
        Why a wrong answer is struck out.
    suggests : str
        What a wrong answer suggests; empty where no single idea explains it.
    why : tuple of str
        The steps that lead to the reading.
    """

    choice: str
    right: bool
    key: str
    falls: str
    suggests: str
    why: tuple[str, ...]


class Run:
    """One learner's practice: patients, answers, and the step that follows from them.

    Parameters
    ----------
    topic : Topic
        What is practiced.
    seed : str, optional
        The same seed brings the same patients; left out, each run is a new one.
    """

    def __init__(self, topic: Topic, seed: str | None = None) -> None:
        self.topic = topic
        self.seed = seed or secrets.token_hex(8)
        self.step = 0
        self.moved = ""
        self.read = 0
        self.outcome: Outcome | None = None
        self.right: Counter[str] = Counter()
        self.wrong: Counter[str] = Counter()
        self._told: deque[str] = deque(maxlen=4)  # stories told of late, not to be told again
        self._row = 0  # right answers in a row, counted below zero where they are wrong
        self.case = self._draw()

    def answer(self, choice: str) -> Outcome:
        """Take an answer, once a patient; moves the step.

        Raises
        ------
        ValueError
            If the answer is none of the choices.
        """
        if choice not in self.topic.choices:
            raise ValueError(f"{choice!r} is not offered here. The choices are: "
                             f"{', '.join(self.topic.choices)}.")
        if self.outcome is not None:
            return self.outcome
        key = self.key
        right = choice == key
        (self.right if right else self.wrong)[key] += 1
        self._move(right)
        gas = self.case.gas
        self.outcome = Outcome(choice, right, key, "" if right else self.topic.falls(gas, choice),
                               "" if right else self._suggests(choice), self.topic.explain(gas))
        return self.outcome

    def next(self) -> Case:
        """Bring the next patient."""
        self.read += 1
        self.outcome, self.moved = None, ""
        self.case = self._draw()
        return self.case

    @property
    def shown(self) -> str:
        """The unit in which this step prints its pressures."""
        return self.topic.steps[self._step_of_case].shown

    @property
    def key(self) -> str:
        """The library's own reading of the patient at hand."""
        return str(self.topic.believe(SOUND.read(self.case.gas, self.shown)))

    def step_in_words(self) -> str:
        """Say which step this is and what it brings."""
        steps = self.topic.steps
        return f"Step {self.step + 1} of {len(steps)}. {steps[self.step].says}"

    def progress_in_words(self) -> str:
        """Say how the run went so far, and what to look at again."""
        right, wrong = sum(self.right.values()), sum(self.wrong.values())
        if not right + wrong:
            return "Nothing is marked or kept. Stop whenever you like."
        said = f"So far: {_patients(right + wrong)} read"
        said += f", {right} named right." if right else "."
        met = {name for name in self.topic.choices if self.right[name] or self.wrong[name]}
        missed = [name for name, times in self.wrong.most_common() if times > self.right[name]]
        if missed:
            said += f" Worth another look: {missed[0]}."
        elif len(met) < len(self.topic.choices):
            rest = [name for name in self.topic.choices if name not in met]
            said += f" Not met yet: {', '.join(rest)}."
        return said

    def _draw(self) -> Case:
        """Draw a patient; what was missed comes back more often, the last stories do not."""
        self._step_of_case = self.step
        for attempt in range(20):
            draw = SeededRandom(f"{self.seed}|{self.topic.name}|{self.read}|{attempt}")
            wishes = [wish for wish in self.topic.steps[self.step].wishes
                      for _ in range(1 + min(2, self.wrong[wish.get("disorder", "")]))]
            case = self.topic.bring(**draw.pick(wishes), seed=draw.seed)
            if case.cause not in self._told:
                break
        self._told.append(case.cause)
        return case

    def _suggests(self, choice: str) -> str:
        idea = the_one_idea(self.key, choice, {
            name: self.topic.believe(m.read(self.case.gas, self.shown))
            for name, m in MISCONCEPTIONS.items()})
        return MISCONCEPTIONS[idea].suggests if idea else ""

    def _move(self, right: bool) -> None:
        self._row = max(self._row, 0) + 1 if right else min(self._row, 0) - 1
        last = len(self.topic.steps) - 1
        if self._row >= UP and self.step < last:
            self.step, self._row = self.step + 1, 0
            self.moved = f"Two right in a row: step {self.step + 1} comes next."
        elif self._row <= -DOWN and self.step > 0:
            self.step, self._row = self.step - 1, 0
            self.moved = f"Step {self.step + 1} comes next, to find firm ground again."


class Practice(PlacedWidget):
    """The screen of a `Run`: radio buttons, reasons, the next patient.

    Parameters
    ----------
    topic : str
        A name in ``TOPICS``.
    seed : str, optional
        The same seed brings the same patients.

    Raises
    ------
    ValueError
        If there is no such topic; the message lists those there are.
    """

    _esm = asset("placed.js", "practice.js")
    # One look for every form: practice wears the chart cell's.
    _css = CSS + asset("chart_form.css", "practice.css")

    view = traitlets.Dict().tag(sync=True)

    def __init__(self, topic: str = "primary disorder", seed: str | None = None) -> None:
        if topic not in TOPICS:
            raise ValueError(f"There is no practice on {topic!r}. There is: {', '.join(TOPICS)}.")
        self.run = Run(TOPICS[topic], seed)
        super().__init__(view=view_of(self.run))
        self.on_msg(self._told)

    def _told(self, _widget: object, message: dict[str, Any], _buffers: object) -> None:
        choice = message.get("choice")
        if message.get("want") == "answer" and choice in self.run.topic.choices:
            self.run.answer(choice)
        elif message.get("want") == "next" and self.run.outcome is not None:
            self.run.next()
        self.view = view_of(self.run)

    @property
    def reopened(self) -> str:  # type: ignore[override]
        """What stands in a saved notebook until the cell is run again."""
        return f"Run this cell to practice: {self.run.topic.name}. {CAUTION}"

    def __repr__(self) -> str:
        return self.reopened


def view_of(run: Run) -> dict[str, Any]:
    """Everything that the screen shows, as plain data."""
    outcome = run.outcome
    return {
        "title": f"Patient {run.read + 1}",
        "step": run.moved or run.step_in_words(),
        "patient": run.case.vignette,
        "caption": "Arterial blood gas",
        "columns": ["number", "result", "range"] if run.topic.ranges else ["number", "result"],
        "rows": _rows(run),
        "question": run.topic.question,
        "choices": [{"word": word, "text": word, "said": _said(word, outcome)}
                    for word in run.topic.choices],
        "chosen": outcome.choice if outcome else "",
        "answered": outcome is not None,
        "verdict": _verdict(outcome),
        "notes": _notes(outcome),
        "why": list(outcome.why) if outcome else [],
        "progress": run.progress_in_words(),
        "caution": CAUTION,
    }


def _rows(run: Run) -> list[list[str]]:
    """The report, without its ranges where they are what is practiced."""
    rows = [[number, number_text(run.case.gas, number, run.shown)] for number in THREE]
    if run.topic.ranges:
        rows = [[*row, range_text(row[0], DEFAULT_SETTINGS, run.shown)] for row in rows]
    return rows + more_rows(run.case.gas, run.topic.more, run.topic.ranges)


def _said(word: str, outcome: Outcome | None) -> str:
    if outcome is None:
        return ""
    if word == outcome.key:
        return "right" if outcome.right else "this fits"
    return "your answer" if word == outcome.choice else ""


def _verdict(outcome: Outcome | None) -> str:
    if outcome is None:
        return ""
    return (f"Right: {outcome.key}." if outcome.right else
            f"Not this time. The gas shows {outcome.key}.")


def _notes(outcome: Outcome | None) -> list[str]:
    if outcome is None or outcome.right:
        return []
    falls = f"Why {outcome.choice} falls: {outcome.falls}"
    return [falls, outcome.suggests] if outcome.suggests else [falls]


def _patients(count: int) -> str:
    return f"{count} patient" if count == 1 else f"{count} patients"
