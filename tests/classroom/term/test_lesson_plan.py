"""The next hour: the class's ideas, with fresh questions in which each idea shows."""
from __future__ import annotations

from dataclasses import replace

import pytest
from small_term import entry, term_of

from acidbase_lib.classroom.diagnosis.diagnosis import HELD, NOT_HELD
from acidbase_lib.classroom.term.ideas_over_time import stories
from acidbase_lib.classroom.term.lesson_plan import MINUTES, lesson_plan
from acidbase_lib.teaching.misconceptions.catalog import MISCONCEPTIONS

pytestmark = pytest.mark.slow

IDEAS = list(MISCONCEPTIONS)


def class_with(*held: tuple[str, ...]):
    return term_of({f"s{n}": [entry(12, stands=dict.fromkeys(ideas, HELD))]
                    for n, ideas in enumerate(held)})


def plan(term):
    return lesson_plan(term, stories(term))


def test_the_three_widest_ideas_make_the_hour() -> None:
    a, b, c, d = IDEAS[:4]
    lessons = plan(class_with((a, b, c, d), (a, b, c), (a, b), (a,)))
    assert [lesson.idea for lesson in lessons] == [a, b, c]
    assert len(lessons) * sum(minutes for _, minutes in MINUTES) <= 60


@pytest.mark.parametrize("idea", IDEAS)
def test_every_idea_has_two_patients_and_an_exit_in_which_it_shows(idea: str) -> None:
    lesson, = plan(class_with((idea,)))
    assert len(lesson.patients) == 2
    assert lesson.leave is not None
    assert lesson.steps.ask
    assert lesson.steps.tell
    asked = [*lesson.patients, lesson.leave]
    assert len({one.prompt for one in asked}) == 3
    for one in asked:
        key = dict(one.key)
        assert one.mistaken
        assert all(key[field] != answer for field, answer in one.mistaken)


def test_patients_that_the_class_has_met_are_not_drawn_again() -> None:
    term = class_with((IDEAS[0],))
    first = plan(term)[0].patients[0].prompt
    assert plan(term)[0].patients[0].prompt == first  # the same gradebook, the same plan
    from acidbase_lib.classroom.term.lesson_plan import _form_for

    assert plan(replace(term, forms=(_form_for(term),)))[0].patients[0].prompt != first


def test_an_idea_that_nobody_holds_any_more_is_no_lesson() -> None:
    rows = {"a": [entry(9, stands={IDEAS[0]: HELD}), entry(18, stands={IDEAS[0]: NOT_HELD})]}
    assert plan(term_of(rows)) == ()


def test_an_idea_of_one_person_in_a_class_is_a_word_and_no_hour() -> None:
    one, two = IDEAS[:2]
    nobody: list[tuple[str, ...]] = [()] * 26
    assert [lesson.idea for lesson in plan(class_with((one, two), (two,), *nobody))] == [two]
    assert plan(class_with((one,), *nobody)) == ()
