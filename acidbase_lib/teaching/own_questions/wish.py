"""A gas that a question wishes for: ``{gas: partially compensated metabolic acidosis, mild}``."""
from __future__ import annotations

import re
from collections.abc import Iterator
from typing import Any, Final

from acidbase_lib.reading.disorders import DISORDERS
from acidbase_lib.teaching.patients.cases import CaseRequest, CaseRequestError
from acidbase_lib.teaching.patients.requests import (
    COMPENSATION_WORDS,
    DISORDER_WORDS,
    SEVERITY_WORDS,
    case_types_for,
)

GAS: Final = re.compile(r"\{\s*gas\s*:\s*([^{}]*)\}", re.I)
PATIENT: Final = re.compile(r"\{\s*patient\s*\}", re.I)
BRACES: Final = re.compile(r"\{([^{}\n]{0,60})\}?|\}")
EXAMPLE: Final = "{gas: partially compensated metabolic acidosis, moderate}"
_FLAGS: Final = {"chronic": ("chronic", True), "acute": ("chronic", False),
                 "borderline": ("borderline", True), "with electrolytes": ("electrolytes", True),
                 "with oxygen": ("oxygen", True)}
_WORDS: Final[tuple[tuple[str, dict[str, Any]], ...]] = (
    ("compensation", dict(COMPENSATION_WORDS)), ("severity", dict(SEVERITY_WORDS)),
    ("disorder", dict(DISORDER_WORDS)))


def wish_in(text: str) -> dict[str, Any]:
    """What the words of a wish ask of a patient.

    Raises
    ------
    CaseRequestError
        A word is not known, or no patient can be so; the message gives the reason.

    Examples
    --------
    >>> wish_in("fully compensated respiratory acidosis, chronic")["compensation"]
    'fully compensated'
    """
    wish: dict[str, Any] = {}
    folded = " ".join(text.casefold().replace("aemi", "emi").replace(",", " ").split())
    first, _, second = folded.partition(" with ")
    if second and second in DISORDERS:
        wish["second"], folded = second, first
    for words, (name, value) in _FLAGS.items():
        folded, found = _taken(folded, words)
        if found:
            wish[name] = value
    for name, known in _WORDS:
        for words in sorted(known, key=len, reverse=True):
            folded, found = _taken(folded, words)
            if found:
                wish[name] = known[words]
                break
    if folded:
        raise CaseRequestError(f"{folded[:40]!r} is not understood in a wish for a gas. A wish "
                               "names a disorder, its compensation and mild, moderate or severe: "
                               f"{EXAMPLE}.")
    if "disorder" not in wish:
        raise CaseRequestError("A wish for a gas names a disorder: metabolic acidosis, respiratory "
                               f"alkalosis, normal, or the like: {EXAMPLE}.")
    case_types_for(CaseRequest(**wish))
    return wish


def odd_braces(text: str) -> Iterator[str]:
    """Yield each piece in braces that stands for nothing here."""
    for found in BRACES.finditer(PATIENT.sub("", GAS.sub("", text))):
        yield found[0]


def _taken(text: str, words: str) -> tuple[str, bool]:
    left, times = re.subn(rf"\b{re.escape(words)}\b", " ", text, count=1)
    return " ".join(left.split()), bool(times)
