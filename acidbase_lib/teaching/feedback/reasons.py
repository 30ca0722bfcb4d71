"""Reasons to choose from after an error: claims about this patient, one of them true."""
from __future__ import annotations

from collections.abc import Iterable
from typing import Final

from acidbase_lib.teaching.questions.exercise import Exercise, Part
from acidbase_lib.teaching.questions.fields import Value
from acidbase_lib.teaching.seeded_random import SeededRandom

MOST: Final = 4
LEAST: Final = 3  # of two, one guesses


def first_reasons(exercise: Exercise, parts: Iterable[Part]) -> tuple[tuple[str, ...], int]:
    """Return the reasons for the first wrong line that has any to choose from."""
    for part in parts:
        if not part.right and part.given is not None:
            reasons, right = reasons_for(exercise, part.field, part.given)
            if reasons:
                return reasons, right
    return (), 0


def reasons_for(exercise: Exercise, field: str, given: Value | None,
                ) -> tuple[tuple[str, ...], int]:
    """Return the reasons to choose from for one line, in a drawn order, and the right one's place.

    They are what each option takes for true of this patient, that of the chosen one first of all.
    Empty where no such claims are known, where there are fewer than three, or where one of them
    is said already: to low, normal or high nothing can be asked that its reason does not tell.
    """
    claims = exercise.claims.get(field, {})
    key = (exercise.key or {}).get(field)
    if not isinstance(key, str) or key not in claims:
        return (), 0
    own = [claims[given]] if isinstance(given, str) and given in claims else []
    wrong = dict.fromkeys([*own, *(text for word, text in claims.items() if word != key)])
    right = claims[key]
    offered = [right, *[text for text in wrong if text and text != right][:MOST - 1]]
    above = exercise.why.get(field, {}).get(str(given), "")
    cause = right.split(". ")[0]  # where the cause was seen, only a word for the helper is wrong
    if (len(offered) < LEAST or any(text.startswith(cause) for text in own)
            or any(text.rstrip(".") in above for text in offered)):
        return (), 0
    order = SeededRandom(f"{exercise.id}|{field}|{exercise.prompt}|reasons").shuffled(offered)
    return tuple(order), order.index(right)
