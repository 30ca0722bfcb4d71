"""Written answers marked on one screen: tick, comment, keep, next; names hidden, by keyboard."""
from __future__ import annotations

from collections import Counter
from collections.abc import Mapping
from pathlib import Path
from typing import Any

import traitlets

from acidbase_lib.caution import CAUTION
from acidbase_lib.classroom.gradebook.by_hand.give_marks import give_marks
from acidbase_lib.classroom.gradebook.course_folder import CourseFolder
from acidbase_lib.classroom.gradebook.gradebook_error import GradebookError
from acidbase_lib.classroom.gradebook.safekeeping.history import HistoryError
from acidbase_lib.classroom.gradebook.safekeeping.private_course import keeping_private
from acidbase_lib.classroom.phrases import number_of, prose
from acidbase_lib.classroom.report.class_pages import unit_of_sitting
from acidbase_lib.teaching.questions.exercise import points_in_words
from acidbase_lib.teaching.theme import TOKENS
from acidbase_lib.teaching.widgets.assets import asset
from acidbase_lib.teaching.widgets.placed_widget import PlacedWidget

from .written_answers import (
    FOUND,
    NOT_FOUND,
    WrittenAnswer,
    WrittenAnswersError,
    mark_of,
    print_of,
    written_answers,
)

_MOST_COMMENTS = 12  # that are offered again
_HERE = Path(__file__).parent


class MarkingScreen(PlacedWidget):
    """One written answer after another, each kept in the gradebook as it is left.

    Parameters
    ----------
    folder : CourseFolder
        The course.
    unit : str
        The sitting.
    exercises : mapping
        Its exercises: prompts and rubrics.
    """

    _esm = asset("placed.js") + "\n" + (_HERE / "marking.js").read_text("utf-8")
    _css = TOKENS + (_HERE / "marking.css").read_text("utf-8")

    shown = traitlets.Dict().tag(sync=True)
    wish = traitlets.Dict().tag(sync=True)
    reopened = "Run this cell to go on marking."

    def __init__(self, folder: CourseFolder, unit: str, exercises: Mapping[str, Any]) -> None:
        self._folder, self._unit, self._exercises = folder, unit, exercises
        self._by_person = False
        self._answers: tuple[WrittenAnswer, ...] = ()
        self._at = 0
        self._read()
        self._at = self._next_waiting(-1)
        super().__init__(shown=self._view(""))
        self.observe(self._heard, "wish")

    def _heard(self, change: Any) -> None:
        """Do what was pressed; ``n`` makes two equal wishes differ, and what is shown after."""
        said, wish = "", change["new"]
        match wish:
            case {"kind": "keep", "row": str(row)}:
                said = self._keep(row, wish)
            case {"kind": "go", "by": int(by)}:
                self._at = max(0, min(len(self._answers) - 1, self._at + by))
            case {"kind": "next waiting"}:
                self._at = self._next_waiting(self._at)
            case {"kind": "order", "by person": bool(by_person)}:
                self._by_person = by_person
                self._read()
        self.shown = self._view(said) | {"n": wish.get("n")}

    def _keep(self, row: str, cells: Mapping[str, Any]) -> str:
        """Keep what was given for the answer that was shown, and go to the next that waits."""
        self._read()
        one = next((one for one in self._answers if one.row == row), None)
        if one is None:
            return "Not kept: this answer was handed in anew meanwhile. Look at it again."
        row_of = {name: str(cells.get(name, "")) for name in (
            "ticks", "points", "comment", "points so far", "comment so far")}
        if not row_of["ticks"] and not one.waits:  # what was ticked stays as it was
            told = [line for line in one.comment.splitlines() if _is_of_ticks(line)]
            row_of["comment"] = "\n".join(filter(None, [row_of["comment"].strip(), *told]))
        try:
            mark = mark_of(one, row_of, clears=True)
            if one.waits and mark is None:
                return "Nothing is kept yet: tick what you find, or write the points, 0 for none."
            if mark is not None:
                with keeping_private(self._folder):
                    give_marks(self._folder, self._unit, [mark], "the marking screen")
        except (WrittenAnswersError, GradebookError, HistoryError, OSError) as error:
            return f"Not kept: {error}"
        self._read()
        at = next(place for place, other in enumerate(self._answers) if other.row == row)
        self._at = self._next_waiting(at)
        return f"{'Kept' if mark else 'Nothing new to keep'}: {one.person}, question " \
            f"{number_of(one.question)}."

    def _read(self) -> None:
        """Read the answers anew, in the order that was chosen, and stay at the one shown."""
        here = self._answers[self._at].row if self._answers else ""
        answers = written_answers(self._folder, self._unit, self._exercises)
        if not answers:
            raise WrittenAnswersError(f"{self._unit} holds no written answers to mark")
        self._answers = tuple(sorted(answers, key=lambda one: one.person)) if self._by_person \
            else answers
        self._at = next((place for place, one in enumerate(self._answers) if one.row == here), 0)

    def _next_waiting(self, after: int) -> int:
        """The next answer that waits, from the start again behind the last; else the next one."""
        places = [*range(after + 1, len(self._answers)), *range(max(0, after + 1))]
        return next((place for place in places if self._answers[place].waits),
                    min(after + 1, len(self._answers) - 1))

    def _view(self, said: str) -> dict[str, Any]:
        """Everything that the screen shows, as plain data; no name and no id."""
        one = self._answers[self._at]
        waiting = sum(other.waits for other in self._answers)
        return {
            "row": one.row, "heading": f"Question {number_of(one.question)}, {one.person}",
            "place": f"Answer {self._at + 1} of {len(self._answers)}. "
                     + (f"{waiting} wait for you." if waiting else "All are marked."),
            "state": _state_of(one),
            "prompt": str(prose(one.prompt)) if one.prompt else "",
            "text": one.text, "ticks": list(one.ticks), "ticked": ticked_in(one),
            "points": "" if one.points is None or one.waits else f"{one.points:g}",
            "most": one.most, "comment": own_words(one.comment), "used": self._used(one),
            "points so far": "" if one.points is None else f"{one.points:g}",
            "comment so far": print_of(one.comment), "by person": self._by_person, "said": said,
            "caution": CAUTION}

    def _used(self, one: WrittenAnswer) -> list[str]:
        """Comments written before, to the same question first, the most used before others."""
        counted = Counter((other.question != one.question, words) for other in self._answers
                          if other.row != one.row and (words := own_words(other.comment)))
        order = sorted(counted, key=lambda it: (it[0], -counted[it], it[1]))
        return list(dict.fromkeys(words for _, words in order))[:_MOST_COMMENTS]


def _state_of(one: WrittenAnswer) -> str:
    if one.points is None:
        return "" if one.waits else "Marked."
    earned = points_in_words(one.points)
    return f"Handed in anew since it earned {earned}." if one.waits else f"Marked: {earned}."


def own_words(comment: str) -> str:
    """Return a comment without the lines that the ticks put into it."""
    return "\n".join(line for line in comment.splitlines()
                     if not _is_of_ticks(line))


def _is_of_ticks(line: str) -> bool:
    return line.startswith((FOUND, NOT_FOUND))


def ticked_in(one: WrittenAnswer) -> list[int]:
    """Return the numbers of the ticks that a comment tells of; none while the answer waits."""
    found = next((line for line in one.comment.splitlines() if line.startswith(FOUND)), "")
    return [] if one.waits else [number for number, tick in enumerate(one.ticks, 1)
                                 if found and tick in found]


def open_marking(unit: str, course: str | Path = "..") -> MarkingScreen:
    """Show the written answers of a sitting, one after another.

    Parameters
    ----------
    unit : str
        Such as "07_clinical_priority".
    course : path
        The folder of the course.

    Raises
    ------
    WrittenAnswersError
        If nobody wrote anything.
    CourseFolderError, SourceError, GradebookError
        If the course or its gradebook cannot be used.
    """
    folder = CourseFolder.find(course)
    return MarkingScreen(folder, unit, unit_of_sitting(folder, unit).exercises)


def screen_notebook(unit: str) -> dict[str, Any]:
    """Return the notebook that shows the screen, to lie in the course's grading folder.

    It does not start by itself as a lesson does: it reads the course's settings, which are code.
    """
    texts = (
        ("markdown", f"# Written answers of {unit}\n\nRun the cell below (Shift+Enter). Then: "
         "tick what you find, add a comment, and press Ctrl+Enter to keep it and go on. Each "
         "answer is kept as you leave it; you may stop at any time and run the cell again."),
        ("code", "from acidbase_lib.classroom.report.by_hand.marking_screen import open_marking\n"
         f'open_marking("{unit}", "..")'))
    cells: list[dict[str, Any]] = [
        {"cell_type": kind, "id": f"marking-{number}", "metadata": {}, "source": text}
        | ({"outputs": [], "execution_count": None} if kind == "code" else {})
        for number, (kind, text) in enumerate(texts)]
    return {"cells": cells, "nbformat": 4, "nbformat_minor": 5, "metadata": {
        "kernelspec": {"name": "python3", "display_name": "Python 3", "language": "python"}}}
