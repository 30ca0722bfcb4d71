"""A unit as a notebook holds it: ask, keep answers, check, mark, review, practice."""
from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from gc import collect
from pathlib import Path
from types import MappingProxyType
from typing import TYPE_CHECKING, Any

from acidbase_lib.caution import CAUTION
from acidbase_lib.reading.lab_settings import LabSettings
from acidbase_lib.reading.settings_in_force import by_settings, in_force, stay_with
from acidbase_lib.teaching.feedback.review import fared, review_lines
from acidbase_lib.teaching.own_questions.called import plan_called
from acidbase_lib.teaching.questions.answer_text import ChartAnswer, parse_chart
from acidbase_lib.teaching.questions.authored_key import Suggests, with_key
from acidbase_lib.teaching.questions.carried_settings import settings_of, whole
from acidbase_lib.teaching.questions.exercise import Exercise, Mark
from acidbase_lib.teaching.questions.first_try import place_of, read_answer
from acidbase_lib.teaching.questions.own_copy import OTHER_PATIENT, OwnCopy
from acidbase_lib.teaching.questions.prompt import titled
from acidbase_lib.teaching.questions.question_file import UnitError, UnitPlan, parts_of
from acidbase_lib.teaching.questions.which_try import COUNTS, MENDED_HALF, mark_tries
from acidbase_lib.teaching.recipes.book import cook
from acidbase_lib.teaching.recipes.deal import deal

from .in_notebook import Bundle, folded, said
from .in_notebook import running_shell as _shell
from .in_notebook import show as _show
from .review import status

if TYPE_CHECKING:
    from acidbase_lib.teaching.lesson.asking import AskedWidget
    from acidbase_lib.teaching.practice.run import PracticeScreen
    from acidbase_lib.teaching.widgets.chart_cell import ChartCells

MARK_MIME = "application/vnd.acidbase.mark+json"
CHANGED_SINCE = "Your answer has changed since this was shown. Run this cell again to see it anew."


class Unit:
    """A unit's questions for one form, and the answers given to them so far.

    Attributes
    ----------
    exercises : mapping of str to Exercise
        By question id, in the order of the notebook.
    plan : UnitPlan
        The questions as this form asks them.
    order : str
        Which of the unit's questions stands in each place of this form; empty in a lesson.
    origins : mapping of str to str
        The unit's question that stands in each place.
    stems : mapping of str to str
        What each place asks, before a patient is put in.
    counts : str
        Which try earns the points; see ``which_try``.
    sitting : bool
        Whether nothing is said of an answer before the whole is handed in; it counts as it stands.
    settings, show : LabSettings, callable
        By which it is drawn and told; what takes a MIME bundle, where a marker puts its own.
    """

    def __init__(self, plan: UnitPlan, form: int, picks: str = "", order: str = "",
                 show: Callable[[Bundle], None] | None = None,
                 counts: str = MENDED_HALF, settings: LabSettings | None = None) -> None:
        self.settings = settings = settings or in_force()
        if order:
            plan = deal(plan, form, order)
        self.plan = plan
        self.id = plan.id
        self.title = plan.title
        self.form = form
        self.picks = picks
        self.order = order
        self.counts = counts
        self.sitting = bool(order) or plan.sitting
        self.origins: Mapping[str, str] = MappingProxyType({
            question.id: question.origin or question.id for question in plan.questions})
        self.stems: Mapping[str, str] = MappingProxyType({q.id: q.stem for q in plan.questions})
        self.topic = plan.practice
        self._taught_in = {q.id: q.more.get("taught_in", plan.id) for q in plan.questions}
        with by_settings(settings):
            self.exercises: Mapping[str, Exercise] = MappingProxyType(
                {exercise.id: exercise for exercise in cook(plan, form, picks)})
        #: what a lesson asks beside its questions, for no points; a form asks nothing beside
        self.unmarked: Mapping[str, Exercise] = MappingProxyType(
            {} if order else {exercise.id: exercise for exercise in plan.unmarked})
        self.show = show or _show
        self.cells: ChartCells | None = None
        self._answers: dict[str, ChartAnswer] = {}
        self._said: dict[str, Mapping[str, Any]] = {}
        self._copy = OwnCopy(plan.id, form, order)

    @property
    def named(self) -> str:
        """The title, with the form's number where a form has an order of its own."""
        return f"{self.title}, form {self.form}" if self.order else self.title

    def __repr__(self) -> str:
        return (f"{self.title}: {len(self.exercises)} questions, form {self.form}. {CAUTION}")

    def __iter__(self) -> Iterator[Exercise]:
        return iter(self.exercises.values())

    def exercise(self, question_id: str) -> Exercise:
        """Return one question.

        Raises
        ------
        UnitError
            This unit has no such question; the message lists those it has.
        """
        if question_id in self.unmarked:
            return self.unmarked[question_id]
        if question_id not in self.exercises:
            raise UnitError(f"This unit has no question {str(question_id)[:40]!r}. "
                            f"It has {', '.join(self.exercises)}.")
        return self.exercises[question_id]

    def parts(self) -> Mapping[str, str]:
        """The part of each question: its unit's title in a sitting laid out so, but the last."""
        return parts_of(self._taught_in, bool(self.order))

    def record(self, question_id: str, text: str) -> ChartAnswer:
        """Keep what a chart cell says, and return how it was understood."""
        fields = self.exercise(question_id).fields
        answer = (parse_chart(text, fields) if self.sitting else
                  read_answer(text, fields, place_of(question_id, self.form)))
        self._answers[question_id] = answer
        if self._said.get(question_id, answer.values) != answer.values:
            del self._said[question_id]
            _show(said(titled(question_id), [CHANGED_SINCE]), titled(question_id), again=True)
        return answer

    def clear(self) -> None:
        """Forget every answer kept so far."""
        self._answers.clear()

    def answer(self, question_id: str) -> ChartAnswer:
        """Return the answer kept for a question; an empty one where none was given."""
        return self._answers.get(question_id) or parse_chart("", self.exercise(question_id).fields)

    def check(self, question_id: str) -> None:
        """Say whether an answer is complete; to a person in a lesson, what its form says of it.

        A program that marks is never told here whether an answer is right.
        """
        title, by_hand = titled(question_id), self.cells is not None and self.cells.is_read()
        answer = self.answer(question_id)
        if by_hand and not answer.blank and not self.knows(question_id):
            lines = [OTHER_PATIENT]
        elif answer.blank:
            lines = ["Not answered yet. Run the answer cell above, choose or type, then run "
                     "this cell again."]
        elif by_hand and answer.complete and self.cells and (
                said_now := self.cells.check(question_id)):
            lines = said_now
        else:
            lines = list(status(answer))
        if not by_hand:
            return self._say(title, lines)
        self._said[question_id] = dict(self.answer(question_id).values)
        _show(said(title, lines), title)

    def knows(self, question_id: str) -> bool:
        """Whether the copy at hand asks about the patient that this version of the kit draws."""
        return question_id not in self._copy.others(self.exercises)

    def know(self, question_id: str, key: Any, suggests: Suggests | None = None) -> Exercise:
        """Put an author's key into a question that has none of its own; see ``with_key``."""
        known = with_key(self.exercise(question_id), key, suggests)
        self.exercises = MappingProxyType({**self.exercises, question_id: known})
        return known

    def mark_of(self, question_id: str, key: Any = None, suggests: Suggests | None = None) -> Mark:
        """Mark the answer kept for a question.

        `key` is an authored key, if the author has one, and `suggests` what wrong choices tell.
        """
        asked = self.exercise(question_id)
        exercise = asked if key is None else with_key(asked, key, suggests)
        return mark_tries(exercise, self.answer(question_id), self.counts)

    def mark(self, question_id: str, key: Any = None, suggests: Suggests | None = None) -> float:
        """Show the mark's record, from which the report is made, and return its points."""
        result = self.mark_of(question_id, key, suggests)
        self.show({MARK_MIME: result.record() | {"unit": self.id, "form": self.form},
                   "text/plain": result.sentence()})
        return float(result.points)

    def review(self) -> None:
        """Mark your own work: what you answered, whether it is right, and why."""
        if self.sitting and self._says_what_is_left("review"):
            return
        for exercise in self:
            if not self.knows(exercise.id):
                self._say(titled(exercise.id), [OTHER_PATIENT])
                continue
            result = self.mark_of(exercise.id)
            self.show(folded(titled(exercise.id), *fared(exercise, result),
                             review_lines(exercise, result, self.sitting)))

    def result(self) -> None:
        """Show what a sitting came to, once all is answered, to those who work alone."""
        from .result_page import result_html, result_of, result_text

        known = self._copy.known(self.exercises)
        result = result_of(known, {name: self.mark_of(name) for name in known}, self._taught_in)
        if self._says_what_is_left("result"):
            return
        if left := [titled(name) for name in self.exercises if name not in known]:
            self._say(f"Not counted: {', '.join(left)}", [OTHER_PATIENT])
        self.show({"text/plain": result_text(result), "text/html": result_html(result)})

    def _says_what_is_left(self, what: str) -> bool:
        """Say which questions of a sitting wait for an answer, where any does."""
        left = ", ".join(one.id.removeprefix("q").replace("-", ".") for one in self
                         if self.mark_of(one.id).state in ("blank", "incomplete"))
        if left:
            self._say(f"The {what} waits", [f"Still to answer: {left}. A guess counts as one.",
                                            "Run this cell again when all are answered."])
        return bool(left)

    def glossary(self) -> None:
        """Show the words of the course, this unit's own first; a sitting's short forms alone."""
        from .glossary import glossary_html, glossary_text

        self.show({"text/plain": glossary_text(self.id, self.sitting),
                   "text/html": glossary_html(self.id, self.sitting)})

    def practice(self, topic: str | None = None) -> PracticeScreen:
        """Practice without end: a fresh patient at every press, no points."""
        from acidbase_lib.teaching.hour.opened import open_practice
        from acidbase_lib.teaching.practice.begin import memory_beside

        return open_practice(topic or self.topic or "primary disorder",
                             memory_beside(Path.cwd()) if _shell() is not None else None)

    def opening(self) -> AskedWidget:
        """Ask three questions of earlier units, freshly drawn, for no points."""
        from .lesson.lesson_cells import opening_widget

        return opening_widget(self.id, self.form)

    def twins(self) -> AskedWidget:
        """Go through what was not right at the first try, each with a twin patient to try."""
        from .lesson.lesson_cells import twins_widget

        return twins_widget(self.plan, self._copy.known(self.exercises), self.answer)

    def _say(self, title: str, lines: list[str]) -> None:
        self.show(said(title, lines))


def open_unit(unit_id: str, form: int = 1, picks: str = "", order: str = "",
              counts: str = MENDED_HALF, folder: Path | None = None, questions: str = "",
              school: str = "") -> Unit:
    """Open a unit in a notebook: draws its patients and makes ``%%chart`` cells work.

    Parameters
    ----------
    unit_id : str
        Such as "02_primary_disorder".
    form : int
        Which set of patients; the same number gives the same patients everywhere.
    picks, order : str
        Which candidate of each question was chosen for this form, a digit or a letter each; which
        of the unit's questions stands in each place of a form that was dealt anew.
    counts : str
        Which try earns the points: "first try", "last try", or "mended half", where what was wrong
        at the first try and right at the last earns half.
    questions, school : str
        A school's own questions, and its settings, as its notebooks carry them.
    folder : Path, optional
        Where a question file of your own lies; the notebook's folder by default.

    Raises
    ------
    UnitError
        No such unit, a form outside 1 to 999,999, or what was given does not fit.
    """
    if isinstance(form, bool) or not isinstance(form, int) or not 1 <= form <= 999_999:
        raise UnitError(f"form = {repr(form)[:20]} is outside 1 to 999,999.")
    if counts not in COUNTS:
        raise UnitError(f"counts = {repr(counts)[:40]} is none of {', '.join(map(repr, COUNTS))}.")
    settings = settings_of(school)
    with by_settings(settings), whole(settings.laid_over):
        unit = Unit(plan_called(unit_id, folder, questions), form, picks, order, counts=counts)
    shell = _shell()
    if shell is not None:
        stay_with(settings)
        from acidbase_lib.teaching.lesson.lesson_cells import AllThatIsAsked
        from acidbase_lib.teaching.widgets.chart_cell import register
        from acidbase_lib.teaching.widgets.opens_ready import say_how_to_show

        unit.cells = register(shell, AllThatIsAsked(unit) if unit.unmarked else unit)
        collect()  # each class with slots left its first version behind: a megabyte in all
        say_how_to_show(shell)
    return unit
