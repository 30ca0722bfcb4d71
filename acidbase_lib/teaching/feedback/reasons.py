"""Reasons to choose from after an error: the right one, and up to three of wrong ideas."""
from __future__ import annotations

from collections.abc import Iterable
from typing import Final

from acidbase_lib.teaching.misconceptions.catalog import MISCONCEPTIONS
from acidbase_lib.teaching.questions.exercise import Exercise
from acidbase_lib.teaching.questions.fields import Value
from acidbase_lib.teaching.seeded_random import SeededRandom

MOST: Final = 4

#: Ideas of one subject, from which reasons are borrowed where too few show on this question.
_NEAR: Final[tuple[tuple[str, ...], ...]] = (
    ("act before assess", "look again when the finding is given", "full oxygen without a target",
     "normal PaCO2 reassures", "oxygen withheld"),
    ("usual oxygen target for everyone", "low oxygen target for everyone",
     "full oxygen without a target", "oxygen withheld"),
    ("vomiting and diarrhea swapped", "potassium told by the pH alone",
     "every metabolic acidosis has a high gap", "too little and too much breathing swapped"),
    ("failure types swapped", "oxygen low only below 60", "inspired oxygen ignored",
     "oxygen names the disorder"),
    ("inspired taken for alveolar", "inspired oxygen ignored", "oxygen low only below 60"),
    ("bicarbonate left out of the gap", "every metabolic acidosis has a high gap",
     "anion gap never worked out"),
    ("added oxygen not scored", "one SpO2 scale for everyone", "normal PaCO2 reassures"),
    ("bicarbonate thought to be measured", "kPa read as mmHg", "pH scale linear",
     "one range for every laboratory"),
    ("helper expected in its range", "second disorder never looked for", "both off means partial"),
    ("directions swapped", "sides swapped", "PaCO2 sign reversed", "PaCO2 decides everything"),
)


def reasons_for(exercise: Exercise, field: str, given: Value | None,
                ) -> tuple[tuple[str, ...], int]:
    """Return the reasons to choose from for one line, in a drawn order, and the right one's place.

    Where each option has a claim of one form, the claims of the options are offered, that of the
    chosen one first of all. Else the step that settles the line stands among what wrong ideas
    would say that show on this question. Empty where nothing is known to choose from.
    """
    right, wrong = _claims(exercise, field, given) or _ideas(exercise, field, given)
    others = [text for text in dict.fromkeys(wrong) if text and text != right][:MOST - 1]
    if not right or not others:
        return (), 0
    order = SeededRandom(f"{exercise.id}|{field}|{exercise.prompt}|reasons").shuffled(
        [right, *others])
    return tuple(order), order.index(right)


def _claims(exercise: Exercise, field: str, given: Value | None,
            ) -> tuple[str, tuple[str, ...]] | None:
    claims = exercise.claims.get(field, {})
    key = (exercise.key or {}).get(field)
    if not isinstance(key, str) or key not in claims:
        return None
    own = [claims[given]] if isinstance(given, str) and given in claims else []
    return claims[key], (*own, *(text for word, text in claims.items() if word != key))


def _ideas(exercise: Exercise, field: str, given: Value | None) -> tuple[str, tuple[str, ...]]:
    shows = list(exercise.predicted)
    fits = [idea for idea in shows if exercise.predicted[idea].get(field) == given]
    near = max(_NEAR, key=lambda row: len(set(row) & set(shows)) + _about(exercise, row))
    ordered: Iterable[str] = dict.fromkeys([*fits, *shows, *near])
    return (exercise.settles.get(field, ""),
            tuple(MISCONCEPTIONS[idea].claim for idea in ordered if idea in MISCONCEPTIONS))


def _about(exercise: Exercise, row: tuple[str, ...]) -> float:
    """A little more for ideas of the unit in which the question stands."""
    unit = exercise.id[1:2].zfill(2)
    return sum(MISCONCEPTIONS[idea].unit.startswith(unit) for idea in row) / 100
