"""Practice at the bedside: a scene at every press, what comes first and why, no points."""
from __future__ import annotations

import secrets
import tomllib
from collections import Counter, deque
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from typing import Any, Final

import traitlets

from acidbase_lib.caution import CAUTION
from acidbase_lib.reading.priority.first_action import FirstAction, first_action
from acidbase_lib.reading.priority.scene import Option, Scene
from acidbase_lib.teaching.content import content_text
from acidbase_lib.teaching.feedback.named_idea import the_one_idea
from acidbase_lib.teaching.misconceptions.catalog import MISCONCEPTIONS
from acidbase_lib.teaching.patients.people import draw_person, filled
from acidbase_lib.teaching.seeded_random import SeededRandom
from acidbase_lib.teaching.widgets.placed_widget import PlacedWidget

from .endless import DOWN, UP, Practice

CLINICAL_PRIORITY: Final = "clinical priority"


@dataclass(frozen=True, slots=True)
class DrawnScene:
    """A scene with its person and numbers drawn, its options dealt, and what comes first.

    `why` says of each option why it does not come first, or why it does.
    """

    id: str
    text: str
    scene: Scene
    options: Mapping[str, Option]
    found: FirstAction
    why: Mapping[str, str]

    @property
    def key(self) -> str:
        """The short word of the option that comes first."""
        return next(word for word, option in self.options.items() if option == self.found.best)


class SceneRun:
    """One learner's practice at the bedside.

    Parameters
    ----------
    seed : str, optional
        The same seed brings the same scenes; left out, each run is a new one.
    """

    def __init__(self, seed: str | None = None) -> None:
        self.seed = seed or secrets.token_hex(8)
        self.step = self.read = 0
        self.moved = ""
        self.chosen = ""
        self.right = self.wrong = 0
        self._missed: Counter[str] = Counter()
        self._told: deque[str] = deque(maxlen=3)
        self._row = 0  # right answers in a row, counted below zero where they are wrong
        self.case = self._draw()

    @property
    def answered(self) -> bool:
        """Whether this scene has been answered."""
        return bool(self.chosen)

    def answer(self, word: str) -> bool:
        """Take an answer, once a scene; return whether it comes first.

        Raises
        ------
        ValueError
            If the answer is none of the choices.
        """
        if word not in self.case.options:
            raise ValueError(f"{word!r} is not offered here. The choices are: "
                             f"{', '.join(self.case.options)}.")
        if not self.chosen:
            self.chosen = word
            right = word == self.case.key
            self.right, self.wrong = self.right + right, self.wrong + (not right)
            self._missed[self.case.id] = 0 if right else self._missed[self.case.id] + 1
            self._move(right)
        return self.chosen == self.case.key

    def next(self) -> None:
        """Bring the next scene."""
        self.read += 1
        self.chosen = self.moved = ""
        self.case = self._draw()

    def _draw(self) -> DrawnScene:
        """Draw a scene; what was missed comes back more often, the last ones do not."""
        scenes = _steps()[self.step]["scene"]
        for attempt in range(20):
            draw = SeededRandom(
                f"{self.seed}|{CLINICAL_PRIORITY}|{self.step}|{self.read}|{attempt}"
            )
            row = draw.pick([one for one in scenes
                             for _ in range(1 + min(2, self._missed[one["id"]]))])
            if row["id"] not in self._told:
                break
        self._told.append(row["id"])
        return draw_scene(row, draw)

    def _move(self, right: bool) -> None:
        self._row = max(self._row, 0) + 1 if right else min(self._row, 0) - 1
        if self._row >= UP and self.step < len(_steps()) - 1:
            self.step, self._row = self.step + 1, 0
            self.moved = f"Two right in a row: step {self.step + 1} comes next."
        elif self._row <= -DOWN and self.step > 0:
            self.step, self._row = self.step - 1, 0
            self.moved = f"Step {self.step + 1} comes next, to find firm ground again."


def draw_scene(row: Mapping[str, Any], draw: SeededRandom) -> DrawnScene:
    """Return a scene with a person and numbers of its own, and what comes first in it."""
    person = draw_person(draw, row["age"])
    numbers = {name: draw.whole(*span) for name, span in row.get("between", {}).items()}
    scene = Scene.from_mapping({**row["gives"], **numbers})
    words = {**person, **numbers}
    dealt = draw.shuffled(row["options"].items())
    options = {word: Option(**{**{name: told[name] for name in told if name != "why"},
                               "text": filled(told["text"], words)}) for word, told in dealt}
    found = first_action(scene, options.values())
    computed = {row.option.text: row.because for row in found.why_not}
    why = {word: filled(told["why"], words) if "why" in told else
           computed.get(options[word].text, found.reason) for word, told in dealt}
    return DrawnScene(row["id"], filled(row["text"], words), scene, options, found, why)


class ScenePractice(PlacedWidget):
    """The screen of a `SceneRun`; it looks and works as `Practice` does."""

    _esm = Practice._esm
    _css = Practice._css

    view = traitlets.Dict().tag(sync=True)

    def __init__(self, seed: str | None = None) -> None:
        self.run = SceneRun(seed)
        super().__init__(view=view_of(self.run))
        self.on_msg(self._told)

    def _told(self, _widget: object, message: dict[str, Any], _buffers: object) -> None:
        choice = message.get("choice")
        if message.get("want") == "answer" and choice in self.run.case.options:
            self.run.answer(str(choice))
        elif message.get("want") == "next" and self.run.answered:
            self.run.next()
        self.view = view_of(self.run)

    @property
    def reopened(self) -> str:  # type: ignore[override]
        """What stands in a saved notebook until the cell is run again."""
        return f"Run this cell to practice: {CLINICAL_PRIORITY}. {CAUTION}"

    def __repr__(self) -> str:
        return self.reopened


def view_of(run: SceneRun) -> dict[str, Any]:
    """Everything that the screen shows, as plain data."""
    case, steps = run.case, _steps()
    best = case.options[case.key].text
    right = run.chosen == case.key
    return {
        "title": f"Scene {run.read + 1}",
        "step": run.moved or (f"Step {run.step + 1} of {len(steps)}. {steps[run.step]['says']}"),
        "patient": case.text, "caption": "", "columns": [], "rows": [], "long": True,
        "question": "What comes first?",
        "choices": [{"word": word, "text": option.text, "said": _said(run, word)}
                    for word, option in case.options.items()],
        "chosen": run.chosen, "answered": run.answered,
        "verdict": "" if not run.answered else
                   f"Right: {best}." if right else f"Not this time. First: {best}.",
        "notes": [] if right or not run.answered else _notes(run),
        "why": _why(case, run.chosen) if run.answered else [],
        "progress": _progress(run), "caution": CAUTION,
    }


def _said(run: SceneRun, word: str) -> str:
    if not run.answered:
        return ""
    if word == run.case.key:
        return "right" if run.chosen == word else "this comes first"
    return "your answer" if word == run.chosen else ""


def _notes(run: SceneRun) -> list[str]:
    """Why the chosen option is not first, and what choosing it suggests."""
    case, chosen = run.case, run.case.options[run.chosen]
    options = tuple(case.options.values())
    idea = the_one_idea(case.found.best.text if case.found.best else "", chosen.text, {
        name: held.text for name, m in MISCONCEPTIONS.items()
        if m.choice is not None and (held := m.choose(case.scene, options)) is not None})
    return [f"Why it does not come first: {case.why[run.chosen]}",
            *([MISCONCEPTIONS[idea].suggests] if idea else [])]


def _why(case: DrawnScene, chosen: str) -> list[str]:
    """Why the first comes first, and why the others do not; the chosen one's stands above."""
    others = [f"{option.text}: {case.why[word]}" for word, option in case.options.items()
              if word not in (case.key, chosen)]
    sources = "; ".join(one.rstrip(".").replace(". (", " (") for one in case.found.citations)
    return [case.found.reason, *others, f"Source: {sources}."]


def _progress(run: SceneRun) -> str:
    count = run.right + run.wrong
    if not count:
        return "Nothing is marked or kept. Stop whenever you like."
    scenes = "scene" if count == 1 else "scenes"
    return f"So far: {count} {scenes}, {run.right} answered right."


@cache
def _steps() -> list[dict[str, Any]]:
    table = tomllib.loads(content_text("patients", "scenes_practice.toml"))
    steps: list[dict[str, Any]] = table["step"]
    return steps
