"""An exercise kept as plain data is the same exercise when it is read back."""
from __future__ import annotations

import json
from dataclasses import fields

import pytest
from for_each import for_each

from acidbase_lib.teaching.questions.exercise_record import exercise_of, record_of
from acidbase_lib.teaching.questions.question_file import sitting_ids, unit_ids
from acidbase_lib.teaching.unit import open_unit


@pytest.mark.slow
@for_each([*unit_ids(), *sitting_ids()])
def test_every_exercise_comes_back_as_it_was(unit_id: str) -> None:
    for exercise in open_unit(unit_id, form=3):
        back = exercise_of(json.loads(json.dumps(record_of(exercise))))
        for field in fields(exercise):
            assert getattr(back, field.name) == getattr(exercise, field.name), field.name
