"""The wrong idea that explains a whole answer, if one does and only one."""
from __future__ import annotations

from collections.abc import Mapping

from acidbase_lib.teaching.questions.exercise import Exercise, same
from acidbase_lib.teaching.questions.fields import Value

Values = Mapping[str, "Value | None"]


def named_idea(exercise: Exercise, given: Values) -> str | None:
    """Return the misconception whose program explains all that was answered, or None.

    An idea is named only where no line contradicts it, every wrong line is what it would write,
    and no other idea does as well; so a slip in an otherwise right answer names none, unless
    that line is the very one in which the idea differs from a sound reading.

    Parameters
    ----------
    exercise : Exercise
        The question, with what each idea would answer.
    given : mapping
        What was answered, by field; a line left out is absent or None.
    """
    fits = {idea: explained for idea in exercise.predicted
            if (explained := _explained(exercise, given, idea))}
    most = max(fits.values(), default=0)
    best = [idea for idea, explained in fits.items() if explained == most]
    return best[0] if len(best) == 1 else None


def contradicted(exercise: Exercise, given: Values, idea: str) -> tuple[str, ...]:
    """The lines of an answer that a holder of this idea would not have written."""
    told = exercise.predicted.get(idea, exercise.key or {})
    return tuple(
        asked.name for asked in exercise.fields
        if (value := given.get(asked.name)) is not None and asked.name in told
        and not same(asked, value, told[asked.name], exercise.within.get(asked.name, 0.0)))


def _explained(exercise: Exercise, given: Values, idea: str) -> int:
    """How many lines the idea explains; none where a line contradicts it or is not explained."""
    if exercise.key is None or contradicted(exercise, given, idea):
        return 0
    told, explained, wrong = exercise.predicted[idea], 0, 0
    for asked in exercise.fields:
        value, within = given.get(asked.name), exercise.within.get(asked.name, 0.0)
        if value is None:
            continue
        right = same(asked, value, exercise.key.get(asked.name), within)
        if asked.name in told:
            explained += 1
            wrong += not right
        elif not right:
            return 0
    return explained if wrong else 0
