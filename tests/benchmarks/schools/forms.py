"""The forms that the schools sit, with their keys: for the runner, not for a maker of learners."""
from __future__ import annotations

from functools import cache

from acidbase_lib.classroom.commands.form import choose_form
from acidbase_lib.teaching.unit import Unit


@cache
def form_of(unit: str, seed: int) -> Unit:
    """Return a form as `acidbase form` chooses it."""
    return choose_form(unit, seed)
