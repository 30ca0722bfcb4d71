"""Texts that are put together end in one sign: no "?.", no "..", no ".;" in any unit."""
from __future__ import annotations

import re
from collections.abc import Iterator

import pytest

from acidbase_lib.classroom.report.feedback import feedback_of, feedback_page
from acidbase_lib.classroom.report.feedback_text import feedback_text
from acidbase_lib.classroom.report.results import MARKED, LearnerResult
from acidbase_lib.teaching.content import content
from acidbase_lib.teaching.feedback.feedback_on_answer import feedback_on
from acidbase_lib.teaching.feedback.review import review_lines
from acidbase_lib.teaching.lesson.twin_patients import twins_of, wrong_ones
from acidbase_lib.teaching.questions.answer_text import write_chart
from acidbase_lib.teaching.questions.exercise import Exercise
from acidbase_lib.teaching.unit import Unit, open_unit

TWO_SIGNS = re.compile(r"[?!][.,;:]|[.,;:][,;:](?!\d)|[,;:]\.|(?<!\.)\.\.(?!\.)| [.,;:?](?!\d)|…\.")
UNITS = sorted(path.name.removesuffix(".toml") for path in content("questions").iterdir()
               if path.name.endswith(".toml"))


def answers_to(exercise: Exercise) -> Iterator[dict]:
    """The key, the answers of wrong ideas, and one wrong option of each kind of field."""
    yield dict(exercise.key or {})
    yield from (dict(one) for one in list(exercise.predicted.values())[:2])
    first = exercise.fields[0]
    if first.kind in ("one", "many"):
        yield from ({first.name: (word,) if first.kind == "many" else word}
                    for word in first.words)
    elif first.kind == "order":
        yield {first.name: tuple(reversed(first.words))}


def texts_of(unit: Unit) -> Iterator[str]:
    for exercise in (*unit, *unit.unmarked.values()):
        yield exercise.prompt
        for values in answers_to(exercise):
            given = unit.record(exercise.id, write_chart(exercise.id, exercise.fields, values))
            says = feedback_on(exercise, given)
            yield from (says.verdict, says.idea_says, *says.hints, *says.reasons, *says.reading)
            yield from (text for line in says.lines for text in (line.given, line.why,
                                                                 line.reading))
            result = unit.mark_of(exercise.id)
            yield from review_lines(exercise, result)
    yield from (place.note for place in twins_of(
        unit.plan, unit.exercises, wrong_ones(unit.exercises, unit.answer), "a"))
    marks = tuple(unit.mark_of(name) for name in unit.exercises)
    told = feedback_of(LearnerResult("a", "A", MARKED, 1.0, 2.0, marks), unit.exercises, {},
                       title="Unit", release_keys=True)
    yield feedback_text(told, 10_000)
    page = re.sub(r"<style>.*?</style>", "", feedback_page(told), flags=re.S)
    yield from (" ".join(re.sub(r"</?(?:strong|span)[^>]*>", "", item).split())
                for item in re.findall(r"<li[^>]*>(.*?)</li>", page, re.S))


@pytest.mark.parametrize("form", [3, 11])
@pytest.mark.parametrize("unit_id", UNITS)
def test_no_two_signs_stand_side_by_side(unit_id: str, form: int) -> None:
    found = {text[max(0, slip.start() - 50):slip.end() + 20]
             for text in texts_of(open_unit(unit_id, form)) for slip in TWO_SIGNS.finditer(text)}
    assert not found
