"""Questions asked one after another beside the lesson's own: answered, told, no points."""
from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import traitlets

from acidbase_lib.caution import CAUTION
from acidbase_lib.reading.wording import ended
from acidbase_lib.teaching.feedback.feedback_on_answer import Feedback, feedback_on
from acidbase_lib.teaching.questions.answer_text import parse_chart
from acidbase_lib.teaching.questions.exercise import Exercise, shown
from acidbase_lib.teaching.questions.fields import Field
from acidbase_lib.teaching.theme import CSS
from acidbase_lib.teaching.widgets.assets import asset
from acidbase_lib.teaching.widgets.placed_widget import PlacedWidget

from .prompt_blocks import blocks_of, without_options


@dataclass(frozen=True, slots=True)
class AskedQuestion:
    """One place in the row of questions.

    Parameters
    ----------
    heading : str
        Where the question comes from.
    note : str
        What is told before it; empty where nothing is.
    draw : callable
        From the number of the turn to an exercise: each turn brings another patient.
    again : bool
        Whether another patient may be asked for.
    more_note : callable
        From the number of the turn to what is told beside the note.
    """

    heading: str
    note: str
    draw: Callable[[int], Exercise]
    again: bool = False
    more_note: Callable[[int], str] = lambda turn: ""


class Asking:
    """One learner's way through a row of questions.

    Parameters
    ----------
    asked : sequence of AskedQuestion
        In order; empty where there is nothing to ask.
    """

    def __init__(self, asked: Sequence[AskedQuestion]) -> None:
        self.asked = tuple(asked)
        self.at = self.turn = 0
        self.feedback: Feedback | None = None
        self.problem = ""
        self.exercise = self.asked[0].draw(0) if self.asked else None

    @property
    def ended(self) -> bool:
        """Whether every question has been gone through."""
        return self.at >= len(self.asked)

    def answer(self, values: Mapping[str, str]) -> None:
        """Take an answer, a text for each field; an incomplete one is told, not counted."""
        if self.exercise is None or self.feedback is not None:
            return
        text = "\n".join(f"{field.name}: {values.get(field.name, '')}"
                         for field in self.exercise.fields)
        given = parse_chart(text, self.exercise.fields)
        if not given.complete:
            said = [problem.sentence for problem in given.problems]
            if given.missing:
                said.append(f"Still to answer: {', '.join(given.missing)}.")
            self.problem = " ".join(said)
            return
        self.problem = ""
        self.feedback = feedback_on(self.exercise, given)

    def go_on(self) -> None:
        """Bring the next question."""
        self.at, self.turn = self.at + 1, 0
        self._bring()

    def another(self) -> None:
        """Bring another patient to the same question."""
        self.turn += 1
        self._bring()

    def _bring(self) -> None:
        self.feedback, self.problem = None, ""
        self.exercise = None if self.ended else self.asked[self.at].draw(self.turn)


class AskedWidget(PlacedWidget):
    """The screen of an `Asking`.

    Parameters
    ----------
    title : str
        Names the whole.
    asking : Asking
        The row of questions.
    nothing : str
        What is said where there is nothing to ask.
    ended : str
        What is said at the end.
    before : str
        What is said before the first question, which then waits for a press; empty: it stands open.
    level : int
        Of its heading in the page: it stands under a section, or is one.
    """

    _esm = asset("placed.js", "asked.js")
    _css = CSS + asset("chart_form.css", "practice.css")

    view = traitlets.Dict().tag(sync=True)

    def __init__(self, title: str, asking: Asking, nothing: str, ended: str,
                 before: str = "", level: int = 3) -> None:
        self.asking, self.title, self._level = asking, title, level
        self._nothing, self._ended, self._before = nothing, ended, before
        super().__init__(view=self._view())
        self.on_msg(self._told)

    def _told(self, _widget: object, message: dict[str, Any], _buffers: object) -> None:
        want, values = message.get("want"), message.get("values")
        if want == "begin":
            self._before = ""
        if want == "answer" and isinstance(values, dict):
            self.asking.answer({str(name): str(value) for name, value in values.items()})
        elif want == "next" and not self.asking.ended:
            self.asking.go_on()
        elif want == "another" and self.asking.exercise is not None:
            self.asking.another()
        self.view = self._view()

    def _view(self) -> dict[str, Any]:
        return view_of(self.asking, self.title, self._nothing, self._ended, self._before,
                       self._level)

    @property
    def reopened(self) -> str:  # type: ignore[override]
        """What stands in a saved notebook until the cell is run again."""
        return f"Run this cell to show: {self.title}. {CAUTION}"

    def __repr__(self) -> str:
        return self.reopened


def view_of(asking: Asking, title: str, nothing: str = "", ended: str = "",
            before: str = "", level: int = 3) -> dict[str, Any]:
    """Everything that the screen shows, as plain data; no key before the answer."""
    base: dict[str, Any] = {
        "title": title, "caution": CAUTION, "level": level, "ended": asking.exercise is None,
        "says": ended if asking.asked else nothing, "turn": f"{asking.at}|{asking.turn}",
        "before": before if asking.asked else ""}
    if asking.exercise is None or base["before"]:
        return base
    place, exercise, says = asking.asked[asking.at], asking.exercise, asking.feedback
    offered = tuple(choice.shown for field in exercise.fields for choice in field.choices)
    return base | {
        "count": f"{asking.at + 1} of {len(asking.asked)}",
        "heading": place.heading,
        "note": " ".join(filter(None, (place.note, place.more_note(asking.turn)))),
        "blocks": without_options(blocks_of(exercise.prompt), offered),
        "fields": [{"name": field.name, "kind": field.kind, "unit": field.unit or "",
                    "choices": [{"word": choice.word, "shown": choice.shown}
                                for choice in field.choices]} for field in exercise.fields],
        "problem": asking.problem,
        "answered": says is not None,
        "verdict": says.verdict if says else "",
        "lines": _lines(exercise, says),
        "reading": list(says.reading) if says else [],
        "again": place.again,
        "last": asking.at + 1 == len(asking.asked),
    }


def _lines(exercise: Exercise, says: Feedback | None) -> list[str]:
    """What was written beside what is right, a line each."""
    if says is None:
        return []
    return [" ".join(filter(None, (
        f"{line.field}: you {'chose' if asked.kind in ('one', 'many') else 'wrote'} "
        f"{ended(line.given or 'nothing')}", "Right." if line.right else _answer(exercise, asked),
        line.why))) for asked, line in zip(exercise.fields, says.lines, strict=True)]


def _answer(exercise: Exercise, asked: Field) -> str:
    right = shown(exercise, asked.name, (exercise.key or {}).get(asked.name))
    lettered = asked.kind in ("many", "order") or any(choice.text for choice in asked.choices)
    return f"Not right. {'The answer is' if lettered else 'It is'} {ended(right)}"
