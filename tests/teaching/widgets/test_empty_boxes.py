"""A text in parts: an empty box is named before and after the text is kept; nothing is forced."""
from __future__ import annotations

import pytest

from acidbase_lib.teaching.questions.answer_text import parse_chart
from acidbase_lib.teaching.questions.question_file import unit_ids
from acidbase_lib.teaching.questions.text_boxes import empty_boxes_told
from acidbase_lib.teaching.unit import open_unit
from acidbase_lib.teaching.widgets.chart_cell import summary
from acidbase_lib.teaching.widgets.compare_text import KEPT, TextCompared, is_compared

WRITTEN = [(unit, exercise) for unit in map(open_unit, unit_ids()) for exercise in unit
           if any(field.boxes for field in exercise.fields)]
WORDS = "word " * 15


def text_of(exercise, filled):
    (field,) = exercise.fields
    lines = [f"{name}: {WORDS}".strip() for name in filled]
    return f"%%chart {exercise.id}\n{field.name}: " + "\n".join(lines)


@pytest.mark.parametrize(("unit", "exercise"), WRITTEN, ids=lambda one: one.id)
def test_each_empty_box_of_every_written_answer_is_named(unit, exercise):
    (field,) = exercise.fields
    names = [box.word for box in field.boxes]
    for left in names:
        text = text_of(exercise, [name for name in names if name != left])
        answer = parse_chart(text.partition("\n")[2], exercise.fields)
        told = f"Still empty: {left}. You may leave it so."
        assert answer.complete, "nothing is forced"
        assert told in list(summary(answer, exercise.fields))
        if not is_compared(exercise):
            continue
        compared = TextCompared(unit, exercise.id, {})
        assert compared.follow(text)[1]["compare"]["says"].endswith(told)
        kept, lines = compared.typed(text)
        assert lines[0] == f"{KEPT} {told}"
        assert compared.press(kept)[1]["compare"]["says"] == f"{KEPT} {told}"
        assert told not in list(summary(answer, exercise.fields, beside=True)), "said once"


@pytest.mark.parametrize(("unit", "exercise"), WRITTEN, ids=lambda one: one.id)
def test_a_full_call_and_a_text_in_one_piece_have_no_empty_box(unit, exercise):
    (field,) = exercise.fields
    full = text_of(exercise, [box.word for box in field.boxes])
    for text in (full, f"%%chart {exercise.id}\n{field.name}: {WORDS * 2}"):
        answer = parse_chart(text.partition("\n")[2], exercise.fields)
        assert empty_boxes_told(exercise.fields, answer) == ""
