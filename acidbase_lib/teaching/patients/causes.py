"""Causes of acid–base disorders, and where potassium, chloride and the gap tend to go with each."""
from __future__ import annotations

import tomllib
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from functools import cache
from types import MappingProxyType
from typing import Any, Final

from acidbase_lib.reading.disorders import DISORDERS
from acidbase_lib.reading.settings_in_force import in_force
from acidbase_lib.reading.sources import SOURCES
from acidbase_lib.teaching.content import content_text

from .patient_sources import PATIENT_SOURCES

LEVELS: Final = ("low", "little change", "high")


@dataclass(frozen=True, slots=True)
class Cause:
    """A cause as the table has it, or as a reader remembers it.

    The words say where a number tends to go: a push, never a correction to act on.

    Parameters
    ----------
    key, text : str
        The name in the table, and the words of an option.
    story, ward : str
        A short history of an invented patient, and where it is told.
    disorder : str
        The disorder that the cause tends to bring.
    gap : str
        "normal" or "high".
    potassium, store : str
        The blood level, and what the whole body holds: "low", "little change" or "high".
    chloride : str
        "low", "normal" or "high".
    because : str
        Why, in a sentence or two.
    insulin : str
        Where the blood's potassium tends to go once insulin works; nothing where none is given.
    loses : str
        "stomach juice", "bowel juice" or nothing.
    signs : tuple of str
        What is often seen.
    source : tuple of str
        Where it stands.
    fits : mapping
        What the cause brings by itself of paco2 [mmHg] or hco3 [mmol/L]: lowest and highest.
    """

    key: str
    text: str
    story: str
    ward: str
    disorder: str
    potassium: str
    store: str
    chloride: str
    because: str
    gap: str = "normal"
    insulin: str = ""
    loses: str = ""
    signs: tuple[str, ...] = ()
    source: tuple[str, ...] = ()
    fits: Mapping[str, tuple[float, float]] = field(default_factory=lambda: MappingProxyType({}))

    def reaches(self, **printed: float) -> bool:
        """Whether this cause by itself goes as far as these printed values."""
        return all(low <= printed[name] <= high for name, (low, high) in self.fits.items()
                   if name in printed)


def sources_text(used: Iterable[Cause]) -> str:
    """Where causes stand, as a learner reads it."""
    keys = dict.fromkeys(key for cause in used for key in cause.source)
    known = {**SOURCES, **PATIENT_SOURCES}
    named = ["common practice" if key == "CommonPractice" else known[key].citation.rstrip(".")
             for key in keys]
    return f"Source: {'; '.join(named)}." if named else ""


def causes() -> Mapping[str, Cause]:
    """Every cause of the table, by key.

    Raises
    ------
    ValueError
        A row holds a word that is none of those allowed; names the row and the word.
    """
    return _causes(in_force().laid_over)


@cache
def _causes(laid_over: str) -> Mapping[str, Cause]:
    text = content_text("patients", "causes.toml")
    return MappingProxyType({key: _cause(key, row) for key, row in tomllib.loads(text).items()})


def _cause(key: str, row: Mapping[str, Any]) -> Cause:
    try:
        given: dict[str, Any] = {name: tuple(value) if isinstance(value, list) else value
                                for name, value in row.items()}
        given["fits"] = MappingProxyType({name: (span[0], span[1]) for name, span in
                                         given.get("fits", {}).items()})
        cause = Cause(key=key, **given)
    except TypeError as error:
        raise ValueError(f"causes.toml, {key}: {error}.") from None
    for value, allowed in ((cause.disorder, DISORDERS), (cause.gap, ("normal", "high")),
                           (cause.potassium, LEVELS), (cause.store, LEVELS),
                           (cause.chloride, ("low", "normal", "high")),
                           (cause.insulin, ("", "falls")),
                           (cause.loses, ("", "stomach juice", "bowel juice"))):
        if value not in allowed:
            raise ValueError(f"causes.toml, {key}: {value!r} is none of {', '.join(allowed)}.")
    unknown = set(cause.source) - set(SOURCES) - set(PATIENT_SOURCES)
    if unknown or not cause.source:
        raise ValueError(f"causes.toml, {key}: a source is named by a key of SOURCES, not "
                         f"{', '.join(unknown) or 'nothing'}.")
    return cause
