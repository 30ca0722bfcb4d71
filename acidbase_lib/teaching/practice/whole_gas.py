"""Practice of the whole gas: seven lines, no ranges, locked before anything is told."""
from __future__ import annotations

from collections.abc import Collection, Mapping
from contextlib import suppress
from math import prod
from typing import TYPE_CHECKING, Any, Final

from acidbase_lib.caution import CAUTION
from acidbase_lib.reading.disorders import (
    DISORDERS,
    FULL,
    METABOLIC_ACIDOSIS,
    METABOLIC_ALKALOSIS,
    MIXED_ACIDOSIS,
    MIXED_ALKALOSIS,
    NORMAL,
    PARTIAL,
    RESPIRATORY_ACIDOSIS,
    RESPIRATORY_ALKALOSIS,
    UNCOMPENSATED,
)
from acidbase_lib.teaching.explanations.printed_numbers import THREE, number_text
from acidbase_lib.teaching.misconceptions.catalog import SOUND
from acidbase_lib.teaching.patients.cases import Case, CaseRequestError, draw_case
from acidbase_lib.teaching.recipes.whole_chart import CHART_FIELDS, chart_told, charted
from acidbase_lib.teaching.seeded_random import SeededRandom

from .run import NOTHING_KEPT, PracticeScreen, Run
from .topic import PracticeStep

if TYPE_CHECKING:
    from acidbase_lib.teaching.memory.remembered import Remembered

WHOLE_GAS: Final = "the whole gas"


def _wish(disorder: str, compensation: str | None = None, **more: Any) -> Mapping[str, Any]:
    return {"disorder": disorder, **({"compensation": compensation} if compensation else {}),
            **more}


STEPS: Final = (
    PracticeStep("One disorder each time, or none.", (
        _wish(NORMAL), *(_wish(name, UNCOMPENSATED) for name in DISORDERS),
        *(_wish(name, PARTIAL) for name in DISORDERS))),
    PracticeStep("Both values may push the same way, and a pH may be back in its range.", (
        _wish(MIXED_ACIDOSIS), _wish(MIXED_ALKALOSIS), _wish(METABOLIC_ALKALOSIS, FULL),
        _wish(RESPIRATORY_ACIDOSIS, FULL, chronic=True),
        _wish(RESPIRATORY_ALKALOSIS, FULL, chronic=True), _wish(METABOLIC_ACIDOSIS, PARTIAL))),
    PracticeStep("A second disorder may hide, and numbers may lie at the edge of a range.", (
        _wish(METABOLIC_ACIDOSIS, UNCOMPENSATED, second=RESPIRATORY_ACIDOSIS),
        _wish(METABOLIC_ACIDOSIS, PARTIAL, second=RESPIRATORY_ALKALOSIS),
        _wish(METABOLIC_ACIDOSIS, PARTIAL, severity="severe"), _wish(NORMAL),
        _wish(METABOLIC_ALKALOSIS, PARTIAL, borderline=True), _wish(MIXED_ALKALOSIS),
        _wish(RESPIRATORY_ALKALOSIS, UNCOMPENSATED, borderline=True), _wish(MIXED_ACIDOSIS),
        _wish(RESPIRATORY_ACIDOSIS, FULL, borderline=True))),
)


class WholeGasRun(Run[Case]):
    """One learner's practice of whole gases.

    Parameters
    ----------
    seed : str, optional
        The same seed brings the same patients; left out, each run is a new one.
    """

    def __init__(self, seed: str | None = None) -> None:
        self.lines: dict[str, str] = {}
        super().__init__(WHOLE_GAS, len(STEPS), prod(len(field.words) for field in CHART_FIELDS),
                         seed)

    @property
    def keys(self) -> dict[str, str]:
        """What the library's own reading writes into the seven lines."""
        return charted(SOUND.read(self.case.gas))

    @property
    def choices(self) -> Collection[str]:
        """The lines' names; each has words of its own."""
        return tuple(field.name for field in CHART_FIELDS)

    @property
    def key(self) -> str:
        """All seven lines in one."""
        return in_one(self.keys)

    @property
    def about(self) -> str:
        """The name that the gas has, if it has one."""
        return self.keys["disorder"]

    @property
    def stream(self) -> str:
        """One for all steps."""
        return WHOLE_GAS

    def answer(self, choice: str | Mapping[str, str]) -> bool:
        """Lock all seven lines, once a patient; return whether all are right.

        Raises
        ------
        ValueError
            If a line is missing, or holds a word that is not offered for it.
        """
        lines = dict(choice) if isinstance(choice, Mapping) else {}
        for field in CHART_FIELDS:
            if lines.get(field.name) not in field.words:
                raise ValueError(f"{field.name}: {lines.get(field.name)!r} is not offered here. "
                                 f"The choices are: {', '.join(field.words)}.")
        if not self.answered:
            self.lines = {field.name: lines[field.name] for field in CHART_FIELDS}
            self._take(in_one(self.lines))
        return self.chosen == self.key

    @property
    def missed(self) -> tuple[str, ...]:
        """The lines that were wrong."""
        keys = self.keys
        return tuple(name for name, word in self.lines.items() if word != keys[name])

    def given(self) -> dict[str, Any]:
        """What a record keeps: the lines that were wrong, and what was written there."""
        keys = self.keys
        return {"answered": in_one({name: self.lines[name] for name in self.missed}),
                "key": in_one({name: keys[name] for name in self.missed}),
                "missed": self.missed, "step": self.step}

    def draw(self, draw: SeededRandom, told: Collection[str]) -> Case | None:
        """Draw a patient of this step; what was missed comes back more often."""
        wishes = [wish for wish in STEPS[self.step].wishes
                  for _ in range(1 + min(2, self.wrong[wish["disorder"]]))]
        for wish in draw.shuffled(wishes):
            with suppress(CaseRequestError):  # every story of this kind has been told
                return draw_case(**wish, seed=draw.seed, avoid=told)
        return None

    def said_at(self, step: int, of: int) -> str:
        """Say which step this is and what it brings."""
        return f"Step {step + 1} of {len(STEPS)}. {STEPS[step].says}"

    def story_of(self, case: Case) -> str:
        """The history."""
        return case.story


def in_one(lines: Mapping[str, str]) -> str:
    """All lines as one text: ``pH: low; bicarbonate: normal``."""
    return "; ".join(f"{name}: {word}" for name, word in lines.items())


class WholeGasPractice(PracticeScreen):
    """The screen of a `WholeGasRun`.

    Parameters
    ----------
    seed : str, optional
        The same seed brings the same patients.
    memory : Remembered, optional
        Keeps what is answered.
    """

    run: WholeGasRun

    def __init__(self, seed: str | None = None, memory: Remembered | None = None) -> None:
        super().__init__(WholeGasRun(seed), memory)

    def view_of_run(self) -> dict[str, Any]:
        """Everything that the screen shows, as plain data."""
        return view_of(self.run)


def view_of(run: WholeGasRun) -> dict[str, Any]:
    """Everything that the screen shows, as plain data."""
    right = run.answered and not run.missed
    wrong = len(run.missed)
    return {
        "title": f"Patient {run.read + 1}", "next": "Next patient",
        "step": run.moved or run.step_in_words(),
        "patient": run.case.vignette, "caption": "Arterial blood gas",
        "columns": ["number", "result"],
        "rows": [[name, number_text(run.case.gas, name)] for name in THREE],
        "question": "Read the whole gas. No range is printed: recall it.", "choices": [],
        "lines": [{"name": field.name, "words": list(field.words),
                   "chosen": run.lines.get(field.name, "") if run.answered else ""}
                  for field in CHART_FIELDS],
        "go": "Lock my answer", "chosen": run.chosen, "answered": run.answered,
        "verdict": "" if not run.answered else "All seven lines are right." if right else
                   f"{7 - wrong} of 7 lines are right.",
        "notes": [], "why": [], "marked": _marked(run) if run.answered else [],
        "progress": _progress(run), "caution": CAUTION,
    }


def _marked(run: WholeGasRun) -> list[dict[str, Any]]:
    """Line by line: yours, the right word, the step that settles it, and why yours falls."""
    told, keys = chart_told(run.case), run.keys
    rows = []
    for name, word in run.lines.items():
        right = word == keys[name]
        why = told[name].why.get(word, "")
        rows.append({"line": name, "yours": word, "key": keys[name], "right": right,
                     "rule": told[name].settles or told[name].why.get(keys[name], ""),
                     "falls": "" if right or why == told[name].settles else why})
    return rows


def _progress(run: WholeGasRun) -> str:
    right = run.right.total()
    count = right + run.wrong.total()
    if not count:
        return NOTHING_KEPT
    return f"So far: {count} {'gas' if count == 1 else 'gases'} read, {right} wholly right."
