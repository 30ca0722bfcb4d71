"""Practice at the bedside: a scene at every press, what comes first and why, no points."""
from __future__ import annotations

import tomllib
from collections import Counter
from collections.abc import Callable, Collection, Mapping
from functools import cache, partial
from typing import TYPE_CHECKING, Any, Final, TypeAlias

from acidbase_lib.caution import CAUTION
from acidbase_lib.reading.priority.scene import Scene
from acidbase_lib.reading.telling.filled import ends_in
from acidbase_lib.teaching.content import content_text
from acidbase_lib.teaching.patients.people import draw_he_or_she, filled
from acidbase_lib.teaching.seeded_random import SeededRandom

from .drawn_scene import DrawnScene, judged, option_of
from .made_scenes import draw_made, pairs, story_id
from .run import NOTHING_KEPT, PracticeScreen, Run

if TYPE_CHECKING:
    from acidbase_lib.teaching.memory.remembered import Remembered

CLINICAL_PRIORITY: Final = "clinical priority"
#: A scene that can be told: its name, what is found, in whom, and how it is drawn.
Told: TypeAlias = "tuple[str, str, str, Callable[[SeededRandom], DrawnScene]]"


class SceneRun(Run[DrawnScene]):
    """One learner's practice at the bedside.

    Parameters
    ----------
    seed : str, optional
        The same seed brings the same scenes; left out, each run is a new one.
    """

    def __init__(self, seed: str | None = None) -> None:
        self._kinds: Counter[str] = Counter()  # how often each kind of finding has been told
        self._people: Counter[str] = Counter()
        super().__init__(CLINICAL_PRIORITY, len(_steps()), _fewest_options(), seed)

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
        """What is found, whoever the person is."""
        return self.case.kind

    @property
    def kind(self) -> str:
        """The step: a scene itself is not to be remembered, but how to choose in such scenes."""
        return f"step {self._step_of_case + 1}"

    @property
    def stream(self) -> str:
        """One for each step: each has scenes of its own."""
        return f"{CLINICAL_PRIORITY}|{self.step}"

    def draw(self, draw: SeededRandom, told: Collection[str]) -> DrawnScene | None:
        """Draw a scene of this step, then of the nearest; a finding that was missed comes sooner.

        The findings take turns, and so do the people in whom they are met.
        """
        for step in sorted(range(len(_steps())), key=lambda other: abs(other - self.step)):
            left = [one for one in _scenes(step) if one[0] not in told]
            if left:
                self._step_of_case = step
                _, kind, person, make = self._next_of(left, draw)
                self._kinds[kind] += 1
                self._people[person] += 1
                return make(draw)
        return None

    def _next_of(self, left: list[Told], draw: SeededRandom) -> Told:
        """One of the findings told least so far, in one of the people met least so far."""
        def turn(kind: str) -> int:
            return self._kinds[kind] - max(0, min(2, self.wrong[kind] - self.right[kind]))

        last = self.case.kind if self.read else ""  # not the same finding twice in a row
        others = [one for one in left if one[1] != last] or left
        least = min(turn(kind) for _, kind, _, _ in others)
        kind = draw.pick(list(dict.fromkeys(
            kind for _, kind, _, _ in others if turn(kind) == least)))
        here = [one for one in others if one[1] == kind]
        fewest = min(self._people[person] for _, _, person, _ in here)
        return draw.pick([one for one in here if self._people[one[2]] == fewest])

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
    """Return a written scene with a person and numbers of its own, and what comes first in it."""
    person = draw_he_or_she(draw, row["age"])
    numbers = {name: draw.whole(*map(int, ends_in(span)))
               for name, span in row.get("between", {}).items()}
    scene = Scene.from_mapping({**row["gives"], **numbers})
    words = {**person.words, **numbers}
    dealt = {word: (option_of(entry, filled(entry["text"], words)), entry.get("why", ""))
             for word, entry in draw.shuffled(row["options"].items())}
    return judged(scene, dealt, words, id=row["id"], kind=row["id"],
                  text=filled(row["text"], words))


class ScenePractice(PracticeScreen):
    """The screen of a `SceneRun`."""

    run: SceneRun

    def __init__(self, seed: str | None = None, memory: Remembered | None = None) -> None:
        super().__init__(SceneRun(seed), memory)

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
        "patient": case.text, "caption": "Observations", "columns": list(case.columns),
        "rows": [list(row) for row in case.rows], "long": True,
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
    return [*filter(None, (case.because, case.found.reason)), *others, f"Source: {sources}."]


def progress_of(run: SceneRun) -> str:
    """Say how the run went so far."""
    right = run.right.total()
    count = right + run.wrong.total()
    if not count:
        return NOTHING_KEPT
    scenes = "scene" if count == 1 else "scenes"
    return f"So far: {count} {scenes}, {right} answered right."


def scenes_by_step() -> list[tuple[Told, ...]]:
    """Every scene, written or made, step by step."""
    return [_scenes(step) for step in range(len(_steps()))]


@cache
def _fewest_options() -> int:
    return min(len(scene["options"]) for step in _steps() for scene in step["scene"])


def _scenes(step: int) -> tuple[Told, ...]:
    """Every scene of a step, the written and the made ones."""
    written = [(row["id"], row["id"], row["id"], partial(draw_scene, row))
               for row in _steps()[step]["scene"]]
    made = [(story_id(state, person), state["id"], person["id"],
             partial(draw_made, state, person)) for state, person in pairs(step + 1)]
    return (*written, *made)


def _steps() -> list[dict[str, Any]]:
    return _steps_in(content_text("patients", "scenes_practice.toml"))


@cache
def _steps_in(text: str) -> list[dict[str, Any]]:
    table = tomllib.loads(text)
    steps: list[dict[str, Any]] = table["step"]
    return steps


SCENE_STEPS: Final = len(_steps())
