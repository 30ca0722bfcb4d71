"""A plan for the next hour: the class's ideas, each with question, card, patients and an exit."""
from __future__ import annotations

from collections.abc import Collection, Iterator, Sequence
from dataclasses import dataclass
from itertools import islice
from zlib import crc32

from acidbase_lib.classroom.diagnosis.observation import same
from acidbase_lib.classroom.phrases import CardSteps, card_steps
from acidbase_lib.classroom.report.report_questions import enough, in_words
from acidbase_lib.teaching.misconceptions.catalog import MISCONCEPTIONS, Misconception
from acidbase_lib.teaching.questions.exercise import Exercise
from acidbase_lib.teaching.questions.question_file import load_plan
from acidbase_lib.teaching.recipes.book import cook, cook_one

from .gather import Term
from .ideas_over_time import IdeaStory

MOST = 3  # more than three ideas is more than one hour mends
PATIENTS = 2
FORMS_TRIED = 3  # forms of a unit in which an idea is looked for
MORE = 30  # and of the questions that showed it, before another unit is looked into
UNITS = ("twelve_charts", "01_ranges", "02_primary_disorder", "03_compensation",
         "04_beyond_the_shortcut", "05_oxygenation", "06_causes_and_electrolytes",
         "07_clinical_priority", "09_further")
MINUTES = (("Ask, and wait for answers", 2), ("Teach it again with the card", 4),
           ("Two fresh patients, in pairs", 7), ("Exit question, on paper, alone", 2))


@dataclass(frozen=True, slots=True)
class Fresh:
    """A fresh question: what it asks, its key in words, why, and what the idea would answer."""

    prompt: str
    key: tuple[tuple[str, str], ...]
    because: tuple[str, ...]
    mistaken: tuple[tuple[str, str], ...]


@dataclass(frozen=True, slots=True)
class Lesson:
    """One idea's part of the hour."""

    idea: str
    misconception: Misconception
    counted: str
    steps: CardSteps
    patients: tuple[Fresh, ...]
    leave: Fresh | None


def lesson_plan(term: Term, stories: Sequence[IdeaStory], most: int = MOST) -> tuple[Lesson, ...]:
    """Plan the next hour from the ideas that most people hold now.

    Parameters
    ----------
    term : Term
        Whose forms are not drawn again: the patients are fresh to this class.
    stories : sequence of IdeaStory
        The term's ideas, the most widely held first; one that nobody holds now, or a
        single person of a class, is no lesson.
    most : int
        How many ideas at most.
    """
    lessons = []
    shown: set[str] = set()
    least = enough(len(term.people))
    for story in [one for one in stories if len(one.holders) >= least][:most]:
        drawn = list(islice(_drawn(story.idea, _form_for(term), term.forms, shown), PATIENTS + 1))
        shown |= {exercise.prompt for exercise in drawn}
        # what is asked last, alone and in two minutes, has the fewest lines to fill
        leave = min(drawn, key=lambda e: len(e.fields)) if len(drawn) > PATIENTS else None
        lessons.append(Lesson(
            story.idea, MISCONCEPTIONS[story.idea], story.counted,
            card_steps(MISCONCEPTIONS[story.idea].card),
            tuple(_fresh(e, story.idea) for e in drawn if e is not leave),
            None if leave is None else _fresh(leave, story.idea)))
    return tuple(lessons)


def _form_for(term: Term) -> int:
    """A form that changes as the term goes on, and stays the same for the same gradebook."""
    told = "|".join(f"{one.name} {sum(p.entries[one.name].handed_in for p in term.people)}"
                    for one in term.sittings)
    return 1_000 + crc32(told.encode()) % 900_000


def _drawn(idea: str, first: int, used: Collection[int], shown: Collection[str],
           ) -> Iterator[Exercise]:
    """Yield fresh questions in which an idea shows: first of its own unit, of each kind one."""
    met = set(shown)
    home = MISCONCEPTIONS[idea].unit
    forms = [form for form in range(first, first + FORMS_TRIED + MORE + len(used))
             if form not in used]
    for unit in (home, *(one for one in UNITS if one != home)):
        plan = load_plan(unit)
        kinds: set[str] = set()
        later: list[Exercise] = []  # the same question, with another patient
        for exercise in (e for form in forms[:FORMS_TRIED] for e in cook(plan, form)):
            if _shows(exercise, idea) and exercise.prompt not in met:
                met.add(exercise.prompt)
                if exercise.id in kinds:
                    later.append(exercise)
                else:
                    kinds.add(exercise.id)
                    yield exercise
        yield from later
        for form in forms[FORMS_TRIED:FORMS_TRIED + MORE]:  # of what showed it, cheaply
            for question in (one for one in plan.questions if one.id in kinds):
                exercise = cook_one(plan, question, form, 0, form % 4)
                if _shows(exercise, idea) and exercise.prompt not in met:
                    met.add(exercise.prompt)
                    yield exercise


def _shows(exercise: Exercise, idea: str) -> bool:
    """Whether somebody with this idea answers otherwise, in a question with a computed key."""
    return exercise.key is not None and bool(_mistaken(exercise, idea))


def _mistaken(exercise: Exercise, idea: str) -> list[str]:
    key = exercise.key or {}
    return [field for field, answer in exercise.predicted.get(idea, {}).items()
            if answer is not None and not same(answer, key.get(field))]


def _fresh(exercise: Exercise, idea: str) -> Fresh:
    book, key = {exercise.id: exercise}, exercise.key or {}

    def told(field: str, value: object) -> tuple[str, str]:
        return field, in_words(book, exercise.id, field, value)

    return Fresh(exercise.prompt, tuple(told(f.name, key.get(f.name)) for f in exercise.fields),
                 exercise.because,
                 tuple(told(field, exercise.predicted[idea][field])
                       for field in _mistaken(exercise, idea)))
