"""Practice at the bedside: a scene at every press, what comes first and why, no points."""
from __future__ import annotations

import tomllib
from collections.abc import Collection, Mapping
from dataclasses import dataclass
from functools import cache
from typing import Any, Final

from acidbase_lib.caution import CAUTION
from acidbase_lib.reading.priority.first_action import FirstAction, first_action
from acidbase_lib.reading.priority.scene import Option, Scene
from acidbase_lib.teaching.content import content_text
from acidbase_lib.teaching.patients.people import draw_he_or_she, filled
from acidbase_lib.teaching.seeded_random import SeededRandom

from .run import PracticeScreen, Run

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


class SceneRun(Run[DrawnScene]):
    """One learner's practice at the bedside.

    Parameters
    ----------
    seed : str, optional
        The same seed brings the same scenes; left out, each run is a new one.
    """

    def __init__(self, seed: str | None = None) -> None:
        super().__init__(CLINICAL_PRIORITY, len(_steps()), seed=seed)

    @property
    def choices(self) -> Collection[str]:
        """The short words of the options."""
        return self.case.options

    @property
    def key(self) -> str:
        """The short word of the option that comes first."""
        return self.case.key

    @property
    def about(self) -> str:
        """The scene."""
        return self.case.id

    @property
    def stream(self) -> str:
        """One for each step: each has scenes of its own."""
        return f"{CLINICAL_PRIORITY}|{self.step}"

    def draw(self, draw: SeededRandom, told: Collection[str]) -> DrawnScene | None:
        """Draw a scene of this step, then of the nearest; one that was missed comes sooner."""
        for step in sorted(range(len(_steps())), key=lambda other: abs(other - self.step)):
            left = [one for one in _steps()[step]["scene"] if one["id"] not in told for _ in range(
                1 + max(0, min(2, self.wrong[one["id"]] - self.right[one["id"]])))]
            if left:
                self._step_of_case = step
                return draw_scene(draw.pick(left), draw)
        return None

    def said_at(self, step: int, of: int) -> str:
        """Say which step this is and what it brings, or of which step this scene is."""
        steps = _steps()
        said = f"Step {step + 1} of {len(steps)}. "
        if of == step:
            return f"{said}{steps[step]['says']}"
        return (f"{said}You have seen all its scenes. This one is of step "
                f"{of + 1}. {steps[of]['says']}")

    def story_of(self, case: DrawnScene) -> str:
        """The scene."""
        return case.id


def draw_scene(row: Mapping[str, Any], draw: SeededRandom) -> DrawnScene:
    """Return a scene with a person and numbers of its own, and what comes first in it."""
    person = draw_he_or_she(draw, row["age"])
    numbers = {name: draw.whole(*span) for name, span in row.get("between", {}).items()}
    scene = Scene.from_mapping({**row["gives"], **numbers})
    words = {**person.words, **numbers}
    dealt = draw.shuffled(row["options"].items())
    options = {word: Option(**{**{name: entry[name] for name in entry if name != "why"},
                               "text": filled(entry["text"], words)}) for word, entry in dealt}
    found = first_action(scene, options.values())
    computed = {row.option.text: row.because for row in found.why_not}
    why = {word: filled(entry["why"], words) if "why" in entry else
           computed.get(options[word].text, found.reason) for word, entry in dealt}
    return DrawnScene(row["id"], filled(row["text"], words), scene, options, found, why)


class ScenePractice(PracticeScreen):
    """The screen of a `SceneRun`."""

    run: SceneRun

    def __init__(self, seed: str | None = None) -> None:
        super().__init__(SceneRun(seed))

    def view_of_run(self) -> dict[str, Any]:
        """Everything that the screen shows, as plain data."""
        return view_of(self.run)


def view_of(run: SceneRun) -> dict[str, Any]:
    """Everything that the screen shows, as plain data."""
    case = run.case
    best = case.options[case.key].text
    right = run.chosen == case.key
    return {
        "title": f"Scene {run.read + 1}", "next": "Next scene",
        "step": run.moved or run.step_in_words(),
        "patient": case.text, "caption": "", "columns": [], "rows": [], "long": True,
        "question": "What comes first?",
        "choices": [{"word": word, "text": option.text, "said": _said(run, word)}
                    for word, option in case.options.items()],
        "chosen": run.chosen, "answered": run.answered,
        "verdict": "" if not run.answered else
                   f"Right: {best}." if right else f"Not this time. First: {best}.",
        "notes": [] if right or not run.answered else _notes(run),
        "why": _why(case, run.chosen) if run.answered else [],
        "progress": progress_of(run), "caution": CAUTION,
    }


def _said(run: SceneRun, word: str) -> str:
    if not run.answered:
        return ""
    if word == run.case.key:
        return "right" if run.chosen == word else "this comes first"
    return "your answer" if word == run.chosen else ""


def _notes(run: SceneRun) -> list[str]:
    """Why the chosen option is not first; one press names no idea."""
    return [f"Why it does not come first: {run.case.why[run.chosen]}"]


def _why(case: DrawnScene, chosen: str) -> list[str]:
    """Why the first comes first, and why the others do not; the chosen one's stands above."""
    others = [f"{option.text}: {case.why[word]}" for word, option in case.options.items()
              if word not in (case.key, chosen)]
    sources = "; ".join(one.rstrip(".").replace(". (", " (") for one in case.found.citations)
    return [case.found.reason, *others, f"Source: {sources}."]


def progress_of(run: SceneRun) -> str:
    """Say how the run went so far."""
    right = run.right.total()
    count = right + run.wrong.total()
    if not count:
        return "Nothing is marked or kept. Stop whenever you like."
    scenes = "scene" if count == 1 else "scenes"
    return f"So far: {count} {scenes}, {right} answered right."


def scenes_by_step() -> list[list[Mapping[str, Any]]]:
    """Every scene as data, step by step."""
    return [list(step["scene"]) for step in _steps()]


@cache
def _steps() -> list[dict[str, Any]]:
    table = tomllib.loads(content_text("patients", "scenes_practice.toml"))
    steps: list[dict[str, Any]] = table["step"]
    return steps
