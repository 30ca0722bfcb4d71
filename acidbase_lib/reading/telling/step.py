"""One step of reasoning, as every reading, strike-out and report prints it."""
from __future__ import annotations

from dataclasses import asdict, dataclass


@dataclass(frozen=True, slots=True)
class Step:
    """A question, what was found, why, and the key of the source that says so."""

    question: str
    finding: str
    because: str
    source: str

    def as_dict(self) -> dict[str, str]:
        """Plain values, ready for JSON."""
        return asdict(self)

    def __str__(self) -> str:
        return f"{self.question} {self.finding} {self.because}"
