"""Before and after: unit 0's first thoughts beside the first tries of the units that teach them."""
from __future__ import annotations

from collections.abc import Iterable
from typing import Any, Final

from .learner_units import LearnerUnit
from .progress import asks_another, opened, progress_in

THOUGHTS: Final = "00_start_here"
NOT_YET: Final = "not begun yet"


def before_and_after(units: Iterable[LearnerUnit]) -> list[dict[str, Any]]:
    """Return a row for each unit that teaches what unit 0 asked; none before unit 0 is begun.

    A first thought earns its points either way; here it is held against the reading of its gas.
    """
    all_units = list(units)
    asked = _thoughts(all_units)
    return [{"title": next((unit.title for unit in all_units if _is(unit, taught)), taught),
             "before": f"{right} of {count}", **_after(all_units, taught)}
            for taught, (right, count) in sorted(asked.items())]


def _thoughts(units: Iterable[LearnerUnit]) -> dict[str, tuple[int, int]]:
    """By the unit that teaches it: how many first thoughts were right, and how many were kept."""
    found: dict[str, tuple[int, int]] = {}
    for unit in units:
        marked = opened(unit) if _is(unit, THOUGHTS) and unit.answered else None
        if marked is None:
            continue
        first, taught_in = marked[0], {
            question.id: str(question.more.get("shown_in", "")) for question in
            marked[0].plan.questions}
        for name in unit.answered:
            exercise, taught = first.exercises.get(name), taught_in.get(name)
            if exercise is None or not taught or asks_another(unit, exercise):
                continue
            first.record(name, unit.texts[name])
            parts = first.mark_of(name).first_parts
            if parts:  # a first try changed by hand tells nothing
                right, count = found.get(taught, (0, 0))
                found[taught] = (right + all(part.right for part in parts), count + 1)
    return found


def _after(units: Iterable[LearnerUnit], taught: str) -> dict[str, str]:
    """How the first tries of the unit that teaches it fared, and how its answers stand now."""
    counted = next((row for unit in units if _is(unit, taught) and unit.answered
                    and (row := progress_in(unit)) is not None and row.checked), None)
    if counted is None:
        return {"after": NOT_YET, "now": "–"}
    return {"after": f"{counted.first} of {counted.checked}",
            "now": f"{counted.now} of {counted.checked}"}


def _is(unit: LearnerUnit, name: str) -> bool:
    """Whether this is a unit's own copy, not a newer one beside it."""
    return unit.path == f"{name}/{name}.ipynb"
