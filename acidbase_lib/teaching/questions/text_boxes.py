"""A text that is asked for in parts: which of its boxes hold nothing yet."""
from __future__ import annotations

from collections.abc import Sequence

from acidbase_lib.teaching.worded import worded_many

from .answer_text import ChartAnswer
from .fields import Field
from .spelling import fold


def empty_boxes(field: Field, text: str) -> tuple[str, ...]:
    """Return the names of the boxes of a text that are empty, where any of them is named at all.

    A text in one piece has no boxes, and an empty one is told as not answered: neither is listed.

    Examples
    --------
    >>> from acidbase_lib.teaching.questions.fields import Choice
    >>> call = Field("call", "text", boxes=(Choice("Situation"), Choice("Assessment")))
    >>> empty_boxes(call, "Situation: he is drowsy.\\nAssessment:")
    ('Assessment',)
    """
    names = {fold(box.word): box.word for box in field.boxes}
    held: dict[str, str] = {}
    current = ""
    for line in text.splitlines():
        before, colon, after = line.partition(":")
        named = names.get(fold(before)) if colon else None
        current = named or current
        held[current] = held.get(current, "") + (after if named else line).strip()
    if not any(name in held for name in names.values()):
        return ()
    return tuple(name for name in names.values() if not held.get(name))


def empty_boxes_told(fields: Sequence[Field], answer: ChartAnswer) -> str:
    """Name the boxes of an answer that are still empty; nothing is forced. Empty: there is none."""
    left = [name for field in fields if isinstance(text := answer.values.get(field.name), str)
            for name in empty_boxes(field, text)]
    if not left:
        return ""
    return worded_many("Still empty: {boxes}. You may leave it so.",
                       "Still empty: {boxes}. You may leave them so.", len(left),
                       boxes=", ".join(left))
