"""The result of a sitting sat alone: by unit, by idea, and only once all is answered."""
from __future__ import annotations

import pytest

from acidbase_lib.teaching.questions.answer_text import write_chart
from acidbase_lib.teaching.result_page import advice, result_html, result_of, result_text
from acidbase_lib.teaching.unit import Unit, open_unit


def sat(idea: str | None = None) -> Unit:
    """The sitting of a learner who holds one idea, or none; judgment is answered with an A."""
    unit = open_unit("08_sitting")
    for exercise in unit:
        answers = dict(exercise.key or {})
        if idea in exercise.predicted:
            answers |= exercise.predicted[idea]
        for field in exercise.fields:
            answers.setdefault(field.name, ("A",) if field.kind == "many" else "A")
        unit.record(exercise.id, write_chart(exercise.id, exercise.fields, answers))
    return unit


def result(unit: Unit):
    return result_of(unit.exercises, {e.id: unit.mark_of(e.id) for e in unit}, unit._taught_in)


def test_a_sound_learner_hears_that_nothing_stands_out():
    found = result(sat())
    assert found.points == found.maximum
    assert (found.ideas, found.wrong) == ((), ())
    assert advice(found)[0].startswith("No unit needs more work.")


@pytest.mark.parametrize("idea", [
    "directions swapped", "sides swapped", "bicarbonate range wrong",
    "compensated with an abnormal pH", "second disorder never looked for"])
def test_a_planted_idea_is_named_first_with_where_it_is_mended(idea: str):
    found = result(sat(idea))
    assert found.ideas[0].key == idea
    assert "Go back to unit" in advice(found)[0]


def test_one_wrong_answer_is_no_idea():
    unit = sat()
    exercise = unit.exercises["q8-2"]
    slip = next(iter(exercise.predicted.values()))
    unit.record("q8-2", write_chart("q8-2", exercise.fields, slip))
    found = result(unit)
    assert found.ideas == ()
    assert "may be mistakes by chance" in advice(found)[0]


def test_questions_of_judgment_count_and_what_a_person_reads_does_not():
    unit = sat()
    found = result(unit)
    assert found.waiting == tuple(e.id for e in unit if e.key is None)
    assert found.maximum == sum(e.points for e in unit if e.key is not None)
    assert all(unit.exercises[q].kind == "rationale" for q in found.waiting)
    assert ("Not counted here" in result_text(found)) == bool(found.waiting)


def test_it_waits_until_all_is_answered(capsys: pytest.CaptureFixture[str]):
    unit = sat()
    unit.record("q8-5", "")
    unit.result()
    printed = capsys.readouterr().out
    assert "Still to answer: 8.5." in printed
    assert "Your result" not in printed
    sat().result()
    assert "Your result" in capsys.readouterr().out


def test_the_page_is_read_without_color_and_escapes_what_was_typed():
    unit = sat("sides swapped")
    html = result_html(result(unit))
    assert "<caption>Points by unit</caption>" in html
    assert 'scope="col"' in html
    assert "not for care" in html
    assert "<script" not in html
