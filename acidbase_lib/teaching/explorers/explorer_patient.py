"""The patient over time: three choices at each point, numbers worked out anew, and a way back."""
from __future__ import annotations

from collections.abc import Mapping
from typing import Any

import traitlets

from acidbase_lib.caution import CAUTION
from acidbase_lib.reading.telling.filled import filled
from acidbase_lib.teaching.theme import CSS
from acidbase_lib.teaching.widgets.assets import asset
from acidbase_lib.teaching.widgets.placed_widget import PlacedWidget

from .figures_patient import clock, patient_figure
from .patient_cases import COURSES
from .patient_course import Course, follow, offered

HOW = ("The numbers follow from the breathing and the oxygen: PaCO2 from the ventilation (a fall "
       "takes time, as the body's stores empty; a rise is shown as already complete), oxygen from "
       "the alveolar gas equation, pH from the equilibrium. How far a choice moves the breathing "
       "is made up for teaching; a real patient may do otherwise.")


class PatientExplorer(PlacedWidget):
    """Buttons over a case that runs on: choose, see what follows, go back, choose again.

    Attributes
    ----------
    turn : dict
        Which case, and the path of choices so far: ``{"case": 0, "path": [0, 2]}``.
    """

    _esm = asset("placed.js", "explorer_patient.js")
    _css = CSS + asset("explorers.css", "explorer_patient.css")

    title = traitlets.Unicode("The patient over time").tag(sync=True)
    turn = traitlets.Dict().tag(sync=True)
    shown = traitlets.Dict().tag(sync=True)

    def __init__(self, courses: tuple[Course, ...] = COURSES) -> None:
        self._courses = courses
        super().__init__(turn={"case": 0, "path": []})
        self.observe(self._redraw, "turn")
        self._redraw()

    def _redraw(self, _change: object = None) -> None:
        course, path = _turn(self._courses, self.turn)
        self.shown = view(self._courses, course, path, self.place)

    @property
    def sentence(self) -> str:
        """What the picture shows now."""
        return str(self.shown.get("sentence", ""))

    @property
    def reopened(self) -> str:  # type: ignore[override]
        """What stands in a saved notebook until the cell is run again."""
        return f"Run this cell to show: {self.title}. {CAUTION}"

    def __repr__(self) -> str:
        return self.reopened


def view(courses: tuple[Course, ...], course: Course, path: tuple[int, ...],
         uid: str) -> dict[str, Any]:
    """Everything that the screen shows of a case so far, as plain data."""
    states = follow(course, path)
    figure = patient_figure(course, states, uid=uid)
    taken = [dict(zip(("label", "says"), map(filled, offered(point, state)[choice].on(
                      state.device)), strict=True), time=clock(course, state))
             for state, point, choice in zip(states, course.points, path, strict=False)]
    ended = len(path) >= len(course.points)
    return {
        "svg": figure.svg, "sentence": figure.sentence, "story": filled(course.story),
        "cases": [one.name for one in courses], "case": courses.index(course),
        "path": list(path), "taken": taken,
        "choices": [] if ended else [
            filled(choice.on(states[-1].device)[0])
            for choice in offered(course.points[len(path)], states[-1])],
        "asks": "The case ends here. Go back a step and choose otherwise: what changes?" if ended
                else f"{clock(course, states[-1])}: what do you do?",
        "how": HOW, "caution": CAUTION,
    }


def _turn(courses: tuple[Course, ...], asked: Mapping[str, Any]) -> tuple[Course, tuple[int, ...]]:
    """The case and path that a page asked for; whatever cannot be walked is left out."""
    case, path = asked.get("case"), asked.get("path")
    at = case if isinstance(case, int) and 0 <= case < len(courses) else 0
    walked: list[int] = []
    steps = path if isinstance(path, list | tuple) else ()
    for point, choice in zip(courses[at].points, steps, strict=False):
        if not isinstance(choice, int) or not 0 <= choice < len(point):
            break
        walked.append(choice)
    return courses[at], tuple(walked)


def explore_patient() -> PatientExplorer:
    """Follow a patient over time: at each point choose one of three actions and see what follows.

    Every choice can be taken back. For teaching, not for care.
    """
    return PatientExplorer()
