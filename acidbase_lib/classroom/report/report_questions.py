"""The class report on its questions: how each went, and the wrong answers it drew."""
from __future__ import annotations

from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from math import ceil
from typing import Any

from acidbase_lib.classroom.diagnosis import item_statistics as items
from acidbase_lib.classroom.phrases import number_of
from acidbase_lib.teaching.questions.exercise import Exercise, Mark, Part, shown
from acidbase_lib.teaching.recipes.book import AN_HOUR

from .results import LearnerResult

ACCEPTED = "A second answer was accepted: mend the question or its key before you ask it again."
FEW = 5  # learners in a class so small that one of them is many
RIGHT_FOR_EACH = "the right answer, each to their own patient"


@dataclass(frozen=True, slots=True)
class Shown:
    """One wrong answer that shows an idea, and how many of its holders gave it."""

    question: str
    field: str
    given: str
    key: str
    count: int


@dataclass(frozen=True, slots=True)
class QuestionReport:
    """How one question served."""

    question: str
    figures: items.ItemStatistics
    fields: tuple[tuple[str, tuple[items.Chosen, ...]], ...]
    commonest: tuple[Shown, tuple[str, ...]] | None
    blank: int


@dataclass(frozen=True, slots=True)
class DecisionReport:
    """How a class chose at one decision of an hour: who was right, and what drew the others.

    `drew` is the wrong answer given most often, by two at least; `ideas` are the bedside ideas
    that would give it.
    """

    question: str
    field: str
    answered: int
    right: int
    drew: Shown | None
    ideas: tuple[str, ...]

    @property
    def share(self) -> float:
        """The share of those who answered that was right."""
        return self.right / self.answered


def in_words(exercises: Mapping[str, Exercise], question: str, field: str, value: Any) -> str:
    """An answer as a person reads it; of several options chosen, the letters alone."""
    if value is None:
        return "left out"
    asked = next((f for f in exercises[question].fields if f.name == field), None)
    if asked is None:
        return str(value)
    if isinstance(value, tuple) and asked.kind == "many":
        return ", ".join(value) or "none of them"
    return shown(exercises[question], field, value)


def place_of(exercises: Mapping[str, Exercise], question: str, field: str) -> str:
    """Where an answer stands: the question, and the line of it where it has several."""
    number = number_of(question)
    return number if len(exercises[question].fields) == 1 else f"{number}, {field}"


def question_reports(marked: Sequence[LearnerResult], exercises: Mapping[str, Exercise],
                     ) -> tuple[tuple[QuestionReport, ...], float | None]:
    """Every question's report, and alpha over the learners who answered all of them."""
    asked = [q for q in exercises if _is_told(q, marked)]
    by_learner = [{m.question: m for m in r.marks} for r in marked]
    complete = [marks for marks in by_learner if all(
        q in marks and marks[q].state != "waits for the instructor" for q in asked)]
    scores = [[_score(exercises[q], marks[q]) for q in asked] for marks in complete]
    maximum = [float(exercises[q].points) for q in asked]
    own = any(r.own is not None for r in marked)
    fields = {q: _fields(exercises[q], complete, asked, maximum, own) for q in asked}
    figures = items.item_statistics(asked, scores, maximum,
                                    {q: [chosen for _, chosen in f] for q, f in fields.items()},
                                    [q for q in asked if exercises[q].kind == "rationale"])
    accepted = {note.question for r in marked[:1] for note in r.notes
                if note.for_all and note.question and not note.void and note.points is None}
    figures = tuple(replace(one, mend=ACCEPTED) if one.question in accepted else one
                    for one in figures)
    answered = [row for row, marks in zip(scores, complete, strict=True)
                if all(marks[q].state == "answered" for q in asked)]
    return tuple(QuestionReport(
        figure.question, figure, fields[figure.question],
        _commonest(exercises[figure.question], [m[figure.question].first_parts for m in complete]),
        sum(m[figure.question].state == "blank" for m in complete),
    ) for figure in figures), items.cronbach_alpha(answered)


def decision_reports(marked: Sequence[LearnerResult], exercises: Mapping[str, Exercise],
                     ) -> tuple[DecisionReport, ...]:
    """Every decision of every hour in the sitting, in the order of the sheet.

    Left out where each had patients of their own: an answer there is another one for each.
    """
    if any(r.own is not None for r in marked):
        return ()
    found = []
    for exercise in (e for e in exercises.values() if e.recipe == AN_HOUR):
        given = [m.first_parts for r in marked for m in r.marks if m.question == exercise.id]
        for field in exercise.fields:
            parts = [p for parts in given for p in parts
                     if p.field == field.name and p.given is not None]
            if parts:
                drew, ideas = _commonest(exercise, [parts]) or (None, ())
                found.append(DecisionReport(exercise.id, field.name, len(parts),
                                            sum(p.right for p in parts), drew, ideas))
    return tuple(found)


def _is_told(question: str, marked: Sequence[LearnerResult]) -> bool:
    """Whether a question is marked in as many learners as it waits in: figures of few mislead."""
    states = [m.state for r in marked for m in r.marks if m.question == question]
    return 2 * states.count("waits for the instructor") <= len(states) > 0


def enough(learners: int) -> int:
    """How many must show an idea before an hour is planned for it: one is a word to one learner."""
    return 1 if learners <= FEW else max(2, ceil(learners / 20))


def widespread(questions: Sequence[QuestionReport], told: Mapping[str, int],
               ) -> tuple[QuestionReport, ...]:
    """The questions to which a fifth of the class, and three at least, gave one wrong answer.

    Left out are those whose answer an idea that is told already explains; `told` is how many show
    each of these. Most first.
    """
    found = [q for q in questions if q.commonest and q.commonest[0].count >= max(
        3, ceil(q.figures.learners / 5)) and not any(
            2 * told.get(idea, 0) >= q.commonest[0].count for idea in q.commonest[1])]
    return tuple(sorted(found, key=lambda q: -(q.commonest[0].count if q.commonest else 0)))


def _score(exercise: Exercise, mark: Mark) -> float:
    """What a question's figures go by: the first try.

    Of a first thought, whose marks are free, the right part of it.
    """
    if exercise.kind != "first thought" or not mark.first_parts:
        return float(mark.first_points)
    parts = mark.first_parts
    return float(exercise.points) * sum(part.right for part in parts) / len(parts)


def _fields(exercise: Exercise, complete: Sequence[Mapping[str, Any]], asked: Sequence[str],
            maximum: Sequence[float], own: bool,
            ) -> tuple[tuple[str, tuple[items.Chosen, ...]], ...]:
    others = sum(maximum) - float(exercise.points)
    result = []
    for field in exercise.fields:
        answers = []
        for marks in complete:
            part = next((p for p in marks[exercise.id].first_parts if p.field == field.name), None)
            if part is None:
                continue
            rest = sum(marks[q].first_points for q in asked if q != exercise.id)
            given = in_words({exercise.id: exercise}, exercise.id, field.name, part.given)
            if own and part.right:  # what is right for one is wrong for another
                given = RIGHT_FOR_EACH
            answers.append((given, part.right, rest / others if others else None))
        result.append((field.name, items.distractors(answers)))
    return tuple(result)


def _commonest(exercise: Exercise, given: Sequence[Sequence[Part]],
               ) -> tuple[Shown, tuple[str, ...]] | None:
    """The wrong answer given most often, by two learners at least, and the ideas it speaks for."""
    wrong = [p for parts in given for p in parts if not p.right and p.given is not None]
    counted = Counter((p.field, p.given, p.key) for p in wrong)
    if not counted or counted.most_common(1)[0][1] < 2:
        return None
    (field, value, key), count = counted.most_common(1)[0]
    part = next(p for p in wrong if (p.field, p.given, p.key) == (field, value, key))
    book = {exercise.id: exercise}
    return Shown(exercise.id, field, in_words(book, exercise.id, field, value),
                 in_words(book, exercise.id, field, part.key), count), part.suggests
