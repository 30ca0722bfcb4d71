"""The wrong idea that explains a whole answer, if one does and only one: the one place for it."""
from __future__ import annotations

from collections.abc import Mapping

from acidbase_lib.teaching.questions.exercise import Answers, Exercise, Mark, Part, same
from acidbase_lib.teaching.questions.fields import Value

Values = Mapping[str, "Value | None"]
#: So many lines (or options of a choice of several) must tell of an idea before a learner hears of
#: it: one wrong press is a slip as often as a belief.
LEAST_TELLING = 2


def named_idea(exercise: Exercise, given: Values) -> str | None:
    """Return the misconception whose program explains all that was answered, or None.

    An idea is named only where no line contradicts it, every wrong line is what it would write,
    at least two lines are wrong so, and no other idea does as well; so one wrong line names none.
    A first thought names none: nothing has been taught yet.

    Parameters
    ----------
    exercise : Exercise
        The question, with what each idea would answer.
    given : mapping
        What was answered, by field; a line left out is absent or None.
    """
    if telling(exercise, given) < LEAST_TELLING:
        return None
    fits = [idea for idea in exercise.predicted if _explains(exercise, given, idea)]
    return fits[0] if len(fits) == 1 and fits[0] in nameable(exercise) else None


def nameable(exercise: Exercise) -> Mapping[str, Answers]:
    """Return the ideas that two lines of a full answer tell from all others, with that answer."""
    key = exercise.key
    if key is None or exercise.kind in ("first thought", "rationale"):
        return {}
    full = {idea: {f.name: text.get(f.name, key[f.name]) for f in exercise.fields}
            for idea, text in exercise.predicted.items()}
    return {idea: answer for idea, answer in full.items()
            if telling(exercise, answer) >= LEAST_TELLING
            and not any(_alike(exercise, answer, other, twice=True)
                        for name, other in full.items() if name != idea)}


def telling(exercise: Exercise, given: Values) -> int:
    """How many lines differ from the key; of a choice of several, each option that does.

    "None of them" is one press, whatever it leaves out; so is an order that is not right.
    """
    key, count = exercise.key or {}, 0
    for asked in exercise.fields:
        value, right = given.get(asked.name), key.get(asked.name)
        if value is None or same(asked, value, right, exercise.within.get(asked.name, 0.0)):
            continue
        several = asked.kind == "many" and isinstance(value, tuple) and isinstance(right, tuple)
        count += len(set(value) ^ set(right)) if several and value else 1  # type: ignore[arg-type]
    return count


def contradicted(exercise: Exercise, given: Values, idea: str) -> tuple[str, ...]:
    """The lines of an answer that a holder of this idea would not have written."""
    text = exercise.predicted.get(idea, exercise.key or {})
    return tuple(
        asked.name for asked in exercise.fields
        if (value := given.get(asked.name)) is not None and asked.name in text
        and not same(asked, value, text[asked.name], exercise.within.get(asked.name, 0.0)))


def ideas_that_fit(exercise: Exercise, result: Mark, part: Part) -> tuple[str, ...]:
    """The ideas that would write this line so, and that no line of the answer contradicts."""
    given = {one.field: one.given for one in result.first_parts}
    return tuple(idea for idea in part.suggests if idea in exercise.predicted
                 and not contradicted(exercise, given, idea))


def idea_of(exercise: Exercise, result: Mark) -> str | None:
    """Return the idea that explains the whole of a first try; see `named_idea`."""
    return named_idea(exercise, {part.field: part.given for part in result.first_parts})


def _explains(exercise: Exercise, given: Values, idea: str) -> bool:
    """Whether the idea writes every wrong line as it stands, and contradicts none of the rest."""
    if exercise.key is None or contradicted(exercise, given, idea):
        return False
    wrong = [asked.name for asked in exercise.fields
             if (value := given.get(asked.name)) is not None
             and not same(asked, value, exercise.key.get(asked.name),
                          exercise.within.get(asked.name, 0.0))]
    return bool(wrong) and all(name in exercise.predicted[idea] for name in wrong)


def _alike(exercise: Exercise, one: Answers, other: Answers, *, twice: bool = False) -> bool:
    """Whether two answers cannot be told apart; `twice` for two numbers that may both be near."""
    return all(same(f, one[f.name], other[f.name],
                    exercise.within.get(f.name, 0.0) * (2 if twice else 1))
               for f in exercise.fields)
