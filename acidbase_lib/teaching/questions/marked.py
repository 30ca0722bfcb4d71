"""A mark and its parts: what was given, what is right, what it earned, and its record."""
from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any, Literal

from .fields import Value

MarkState = Literal["answered", "incomplete", "blank", "waits for the instructor"]


@dataclass(frozen=True, slots=True)
class Part:
    """One field of a marked answer."""

    field: str
    given: Value | None
    key: Value | None
    right: bool
    suggests: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class FirstMark:
    """What the first try would have earned alone, how sure the learner was, and what counted.

    Parameters
    ----------
    points : float
        Of the first try.
    parts : tuple of Part
        Empty where it was changed since: then nobody knows what was answered first.
    last : float
        The points of the answer as it stands now.
    counts : str
        By which policy the two became the mark; see ``which_try``.
    """

    points: float
    parts: tuple[Part, ...]
    how_sure: str | None
    reason: str | None
    sealed: bool
    last: float
    counts: str


@dataclass(frozen=True, slots=True)
class Mark:
    """What an answer earned, and what it suggests."""

    question: str
    points: float
    maximum: float
    state: MarkState
    parts: tuple[Part, ...]
    problems: tuple[str, ...] = ()
    how_sure: str | None = None
    first: FirstMark | None = None

    @property
    def right(self) -> bool:
        """True where every point was earned."""
        return self.points >= self.maximum

    @property
    def first_parts(self) -> tuple[Part, ...]:
        """What was answered before anything was said; none where nobody knows any more."""
        return self.parts if self.first is None else self.first.parts

    @property
    def first_points(self) -> float:
        """What was earned before anything was said."""
        return self.points if self.first is None else self.first.points

    def record(self) -> dict[str, Any]:
        """Return the mark as plain data, from which feedback and the class report are made."""
        data: dict[str, Any] = {
            "question": self.question, "points": self.points, "maximum": self.maximum,
            "state": self.state, "problems": list(self.problems),
            "parts": [_told(part) for part in self.parts],
        }
        if self.how_sure is not None:
            data["how sure"] = self.how_sure
        if self.first is not None:
            first = self.first
            data["first"] = {
                "points": first.points, "parts": [_told(part) for part in first.parts],
                "how sure": first.how_sure, "reason": first.reason, "sealed": first.sealed,
                "last": first.last, "counts": first.counts}
        return data

    @classmethod
    def from_record(cls, record: Mapping[str, Any]) -> Mark:
        """Read a mark back from its record."""
        data = record.get("first")
        first = None if data is None else FirstMark(
            float(data["points"]), _parts_of(data), data["how sure"], data["reason"],
            bool(data["sealed"]), float(data["last"]), data["counts"])
        return cls(record["question"], float(record["points"]), float(record["maximum"]),
                   record["state"], _parts_of(record), tuple(record["problems"]),
                   record.get("how sure"), first)

    def sentence(self) -> str:
        """Say the mark in one line."""
        return f"{self.question}: {self.points:g} of {self.maximum:g} ({self.state})."


def _told(part: Part) -> dict[str, Any]:
    return {"field": part.field, "given": _plain(part.given), "key": _plain(part.key),
            "right": part.right, "suggests": list(part.suggests)}


def _parts_of(record: Mapping[str, Any]) -> tuple[Part, ...]:
    return tuple(Part(p["field"], _stored(p["given"]), _stored(p["key"]), bool(p["right"]),
                      tuple(p["suggests"])) for p in record["parts"])


def _plain(value: Value | None) -> Any:
    return list(value) if isinstance(value, tuple) else value


def _stored(value: Any) -> Value | None:
    return tuple(value) if isinstance(value, list) else value
