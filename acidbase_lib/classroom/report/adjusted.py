"""Marks as they count after what was decided about them: voids, second answers, points, grants."""
from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from typing import Any, cast

from acidbase_lib.classroom.gradebook.by_hand.cell_points import (
    CellPoints,
    cell_maxima,
    cell_points,
    late_penalties,
)
from acidbase_lib.classroom.gradebook.course_folder import CourseFolder
from acidbase_lib.classroom.gradebook.safekeeping.adjustments import (
    Adjustment,
    adjustments_of,
    fitting,
)
from acidbase_lib.classroom.gradebook.safekeeping.history import SAME_PERSON
from acidbase_lib.classroom.gradebook.safekeeping.receipts import history_of
from acidbase_lib.classroom.gradebook.same_person import same_people
from acidbase_lib.teaching.questions.exercise import RULES, Exercise, Mark, Part, points_in_words
from acidbase_lib.teaching.questions.fields import Value
from acidbase_lib.teaching.questions.which_try import counted_again

from .results import LearnerResult, Note

Totals = Mapping[str, float]


def question_of(cell: str) -> str:
    """Return the question to which a graded cell belongs.

    Examples
    --------
    >>> question_of("q2-3-check"), question_of("q4-8-answer"), question_of("essay")
    ('q2-3', 'q4-8', 'essay')
    """
    for end in ("-check", "-answer"):
        if cell.endswith(end):
            return cell.removesuffix(end)
    return cell


def worth_of(folder: CourseFolder, unit: str) -> dict[str, float]:
    """Return what each question of a sitting is worth, as it was released."""
    worth: dict[str, float] = {}
    for cell, most in cell_maxima(folder, unit).items():
        worth[question_of(cell)] = worth.get(question_of(cell), 0.0) + most
    return worth


def adjusted(folder: CourseFolder, unit: str, results: Sequence[LearnerResult],
             adjustments: tuple[Adjustment, ...] | None = None) -> tuple[LearnerResult, ...]:
    """Return everyone's result with what was decided afterwards; without decisions, the same.

    Parameters
    ----------
    folder : CourseFolder
        The course.
    unit : str
        The sitting.
    results : sequence of LearnerResult
        As the gradebook has them.
    adjustments : tuple of Adjustment, optional
        Those to go by; the ones that hold, as the history tells them, by default.

    Raises
    ------
    GradebookError, HistoryError
        If the gradebook or the history cannot be read.

    Notes
    -----
    The gradebook keeps what the marker and a person gave; nothing of that is touched. In this
    order: a second answer changes what the marker gave, unless a person gave points there; a
    question's other worth scales whatever it earned; a void question leaves points and maximum;
    lateness takes off by the course's own rule; what is allowed to one learner is added last, up
    to the maximum.
    """
    if adjustments is None:
        adjustments = adjustments_of(folder, unit)
    if not adjustments:
        return tuple(results)
    cells, worth = cell_points(folder, unit), worth_of(folder, unit)
    same = same_people(history_of(folder).each(SAME_PERSON)) if any(
        one.learner for one in adjustments) else {}
    about = {one.learner: found for one in results if (found := fitting(
        adjustments, one.learner, same.get(one.learner, one.learner)))}
    changed = {one.learner: _counted(one, about[one.learner], cells.get(one.learner, {}), worth)
               for one in results if one.learner in about}
    penalties = late_penalties(folder, unit, {
        who: result.score for who, result in changed.items() if result.score is not None})
    return tuple(_with_what_was_allowed(changed[one.learner], penalties.get(one.learner, 0.0),
                                        about[one.learner])
                 if one.learner in changed else one for one in results)


def exercises_that_count(exercises: Mapping[str, Exercise], results: Sequence[LearnerResult],
                         ) -> dict[str, Exercise]:
    """Return the exercises without those void for all, each with the points it is now worth."""
    notes = [note for note in (results[0].notes if results else ()) if note.for_all]
    void = {note.question for note in notes if note.void}
    points = {note.question: note.points for note in notes if note.points is not None}
    return {name: replace(one, points=points[name]) if name in points else one
            for name, one in exercises.items() if name not in void}


def _counted(result: LearnerResult, about: Sequence[Adjustment], cells: Mapping[str, CellPoints],
             worth: Totals) -> LearnerResult:
    """A result with its score before lateness and allowances, and all that is to be said of it."""
    marks = {mark.question: mark for mark in result.marks}
    earned = dict.fromkeys(worth, 0.0)
    by_hand = set()
    for name, cell in cells.items():
        earned[question_of(name)] = earned.get(question_of(name), 0.0) + cell.points
        by_hand |= {question_of(name)} if cell.by_hand else set()
    for question in {one.question for one in about if one.kind == "accept"}:
        if question in marks and result.own is None:  # their own patient has another key
            old = marks[question]
            new = with_second_answers(old, [one for one in about if one.kind == "accept"
                                            and one.question == question])
            if question in by_hand or old.state == "waits for the instructor":
                new = replace(new, points=old.points)  # a person's points stand
            earned[question] = earned.get(question, 0.0) + new.points - old.points
            marks[question] = new
    most = dict(worth)
    for one in about:
        if one.kind == "points" and one.points is not None and worth.get(one.question):
            most[one.question] = one.points  # the last one that holds
    for question, mark in marks.items():
        if question in most and most[question] != worth[question]:
            marks[question] = _scaled(mark, most[question] / worth[question])
    score = result.score
    void = {one.question for one in about if one.kind == "void"}
    if score is not None:
        score = round(sum(
            points if most.get(question) == worth.get(question)
            else round(points * most[question] / worth[question], 4)
            for question, points in earned.items() if question not in void), 6)
    return replace(
        result, score=score, marks=tuple(marks[mark.question] for mark in result.marks),
        maximum=round(sum(most[q] for q in most if q not in void), 6),
        notes=tuple(_note(one, worth) for one in about))


def with_second_answers(mark: Mark, accepted: Sequence[Adjustment]) -> Mark:
    """Return a mark in which some second answers are right too, its points counted anew.

    An answer is accepted where the question had the key beside which it was accepted: another
    learner's own numbers have another key.
    """
    parts = tuple(_by_the_best_key(part, accepted) for part in mark.parts)
    first = mark.first
    if first is not None:
        first = replace(first, parts=tuple(_by_the_best_key(part, accepted)
                                           for part in first.parts))
    if parts == mark.parts and first == mark.first:
        return mark
    return counted_again(cast(Any, accepted[0].rule), replace(mark, parts=parts, first=first))


def _by_the_best_key(part: Part, accepted: Sequence[Adjustment]) -> Part:
    if part.right or part.given is None:
        return part
    rule = RULES[accepted[0].rule]
    ways = [part, *(_by_key(part, one) for one in accepted
                    if one.field == part.field and one.instead_of == part.key)]
    return max(ways, key=lambda way: rule(_ANY, (way,)))


def _by_key(part: Part, one: Adjustment) -> Part:
    right = _alike(part.given, one.value, one.within)
    return replace(part, key=one.value, right=right, suggests=() if right else part.suggests)


def _alike(given: Value | None, wanted: Value | None, within: float) -> bool:
    if isinstance(given, int | float) and isinstance(wanted, int | float):
        return abs(float(given) - float(wanted)) <= within + 1e-9
    return given == wanted


_ANY = Exercise("", "choose one", 1.0, "", (), None)  # the rules go by the parts alone


def _scaled(mark: Mark, by: float) -> Mark:
    first = mark.first
    if first is not None:
        first = replace(first, points=round(first.points * by, 4), last=round(first.last * by, 4))
    return replace(mark, points=round(mark.points * by, 4), maximum=round(mark.maximum * by, 4),
                   first=first)


def _with_what_was_allowed(result: LearnerResult, penalty: float,
                           about: Sequence[Adjustment]) -> LearnerResult:
    if result.score is None:
        return result
    late = any(one.kind == "on time" for one in about)
    score = max(0.0, result.score - (0.0 if late else penalty))
    more = sum(one.points or 0.0 for one in about if one.kind == "allow")
    if more:
        score = max(score, min(result.maximum, score + more))
    return replace(result, score=round(score, 6))


def _note(one: Adjustment, worth: Totals) -> Note:
    """What is said of an adjustment on the page of a learner whom it is about."""
    points = points_in_words(one.points or 0.0)
    was = f"{worth.get(one.question, 0.0):g}"
    sentence = {
        "void": f"This question does not count{' for you' if one.learner else ''}",
        "accept": "A second answer to this question is accepted",
        "points": f"This question is worth {points} instead of {was}",
        "allow": f"{points[0].upper()}{points[1:]} {'was' if one.points == 1 else 'were'} added "
                 "for you",
        "on time": "Nothing is taken off for lateness",
    }[one.kind]
    return Note(one.question, f"{sentence}: {one.reason}", one.what, one.reason,
                one.kind == "void", not one.learner,
                one.points if one.kind == "points" else None)
