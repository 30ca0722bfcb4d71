"""Practice without end: a fresh patient at every press, the reasons at once, no points."""
from __future__ import annotations

from collections.abc import Collection
from contextlib import suppress
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from acidbase_lib.caution import CAUTION
from acidbase_lib.reading.settings_in_force import in_force
from acidbase_lib.teaching.explanations.gas_table import more_rows
from acidbase_lib.teaching.explanations.printed_numbers import THREE, number_text, range_text
from acidbase_lib.teaching.misconceptions.catalog import SOUND
from acidbase_lib.teaching.patients.cases import Case, CaseRequestError
from acidbase_lib.teaching.seeded_random import SeededRandom

from .run import NOTHING_KEPT, PracticeScreen, Run
from .topic import Topic
from .topics import TOPICS

if TYPE_CHECKING:
    from acidbase_lib.teaching.memory.remembered import Remembered


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
    why : tuple of str
        The steps that lead to the reading.
    """

    choice: str
    right: bool
    key: str
    falls: str
    why: tuple[str, ...]


class PatientRun(Run[Case]):
    """One learner's practice of a topic, patient after patient.

    Parameters
    ----------
    topic : Topic
        What is practiced.
    seed : str, optional
        The same seed brings the same patients; left out, each run is a new one.
    """

    def __init__(self, topic: Topic, seed: str | None = None) -> None:
        self.topic = topic
        super().__init__(topic.name, len(topic.steps), len(topic.choices), seed)

    @property
    def choices(self) -> tuple[str, ...]:
        """The answers offered, always in the same order."""
        return self.topic.choices

    @property
    def stream(self) -> str:
        """One for each topic."""
        return self.topic.name

    @property
    def outcome(self) -> Outcome | None:
        """What the answer came to; None before it."""
        if not self.answered:
            return None
        right, gas = self.chosen == self.key, self.case.gas
        return Outcome(self.chosen, right, self.key,
                       "" if right else self.topic.falls(gas, self.chosen),
                       self.topic.explain(gas))

    @property
    def shown(self) -> str:
        """The unit in which this step prints its pressures."""
        return self.topic.steps[self._step_of_case].shown

    @property
    def key(self) -> str:
        """The library's own reading of the patient at hand."""
        return str(self.topic.believe(SOUND.read(self.case.gas, self.shown)))

    def said_at(self, step: int, of: int) -> str:
        """Say which step this is and what it brings."""
        steps = self.topic.steps
        return f"Step {step + 1} of {len(steps)}. {steps[step].says}"

    def progress_in_words(self) -> str:
        """Say how the run went so far, and what to look at again."""
        right, wrong = sum(self.right.values()), sum(self.wrong.values())
        if not right + wrong:
            return NOTHING_KEPT
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

    def draw(self, draw: SeededRandom, told: Collection[str]) -> Case | None:
        """Draw a patient; a disorder that was missed comes back more often."""
        steps = range(len(self.topic.steps))
        # a step none of whose patients can be found hands over to the nearest
        for step in (self.step,) if told else sorted(steps, key=lambda s: abs(s - self.step)):
            wishes = [wish for wish in self.topic.steps[step].wishes
                      for _ in range(1 + min(2, self.wrong[wish.get("disorder", "")]))]
            for wish in draw.shuffled(wishes):
                with suppress(CaseRequestError):  # every story of this kind has been told
                    case = self.topic.bring(**wish, seed=draw.seed, avoid=told)
                    self._step_of_case = step
                    return case
        return None

    def story_of(self, case: Case) -> str:
        """The history."""
        return case.story


class Practice(PracticeScreen):
    """The screen of a `PatientRun`.

    Parameters
    ----------
    topic : str
        A name in ``TOPICS``.
    seed : str, optional
        The same seed brings the same patients.
    memory : Remembered, optional
        Keeps what is answered.

    Raises
    ------
    ValueError
        If there is no such topic; the message lists those there are.
    """

    run: PatientRun

    def __init__(self, topic: str = "primary disorder", seed: str | None = None,
                 memory: Remembered | None = None) -> None:
        if topic not in TOPICS:
            raise ValueError(f"There is no practice on {topic!r}. There is: {', '.join(TOPICS)}.")
        super().__init__(PatientRun(TOPICS[topic], seed), memory)

    def view_of_run(self) -> dict[str, Any]:
        """Everything that the screen shows, as plain data."""
        return view_of(self.run)


def view_of(run: PatientRun) -> dict[str, Any]:
    """Everything that the screen shows, as plain data."""
    outcome = run.outcome
    return {
        "title": f"Patient {run.read + 1}",
        "next": "Next patient",
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


def _rows(run: PatientRun) -> list[list[str]]:
    """The report, without its ranges where they are what is practiced."""
    rows = [[number, number_text(run.case.gas, number, run.shown)] for number in THREE]
    if run.topic.ranges:
        rows = [[*row, range_text(row[0], in_force(), run.shown)] for row in rows]
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
    return [f"Why not {outcome.choice}: {outcome.falls}"]  # one press names no idea


def _patients(count: int) -> str:
    return f"{count} patient" if count == 1 else f"{count} patients"
