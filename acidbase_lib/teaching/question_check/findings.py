"""What a check of a handwritten question can say: findings, their weight, and their source."""
from __future__ import annotations

from dataclasses import asdict, dataclass, field
from typing import Any, Final, Literal

from acidbase_lib.physiology.references import FROM_MEMORY, Reference
from acidbase_lib.reading.priority.sources import PRIORITY_SOURCES
from acidbase_lib.reading.sources import cite_row
from acidbase_lib.teaching.handwritten.question_sheet import Broken

Weight = Literal["must be mended", "look again", "a thought"]
MUST: Final[Weight] = "must be mended"
LOOK: Final[Weight] = "look again"
THOUGHT: Final[Weight] = "a thought"
WEIGHTS: Final[tuple[Weight, ...]] = (MUST, LOOK, THOUGHT)

HALADYNA: Final = Reference(
    "journal", "Haladyna TM, Downing SM, Rodriguez MC. Appl Meas Educ 2002;15:309-34.",
    FROM_MEMORY,
    "seen in print: 31 rules, vary the place of the key, homogeneous options")
#: What a finding may cite.
CITED: Final = {**PRIORITY_SOURCES, "Haladyna2002": HALADYNA}


@dataclass(frozen=True, slots=True)
class Finding:
    """One thing that was found: `kind` in a word or three, where, why, and what would mend it."""

    weight: Weight
    kind: str
    line: int
    says: str
    mend: str
    source: str = ""


@dataclass(frozen=True, slots=True)
class CheckedQuestion:
    """One question after its check; `read` tells what the check understood of it."""

    name: str
    line: int
    first_words: str
    read: tuple[str, ...]
    findings: tuple[Finding, ...]

    def of(self, weight: Weight) -> tuple[Finding, ...]:
        """The findings of one weight."""
        return tuple(one for one in self.findings if one.weight == weight)


@dataclass(frozen=True, slots=True)
class Audit:
    """A whole file after its check: the questions, what concerns all of them, and broken lines."""

    questions: tuple[CheckedQuestion, ...]
    whole: tuple[Finding, ...] = ()
    broken: tuple[Broken, ...] = field(default=())

    @property
    def findings(self) -> tuple[Finding, ...]:
        """Every finding, the file's own last."""
        return tuple(one for question in self.questions for one in question.findings) + self.whole

    def count(self, weight: Weight) -> int:
        """How many findings carry this weight; a broken line must be mended."""
        found = sum(one.weight == weight for one in self.findings)
        return found + (len(self.broken) if weight == MUST else 0)

    @property
    def sound(self) -> bool:
        """Whether nothing must be mended."""
        return self.count(MUST) == 0

    def as_dict(self) -> dict[str, Any]:
        """Plain values, ready for JSON."""
        from acidbase_lib.caution import CAUTION

        return {"questions": [asdict(one) for one in self.questions],
                "whole_file": [asdict(one) for one in self.whole],
                "broken_lines": [asdict(one) for one in self.broken],
                "counts": {weight: self.count(weight) for weight in WEIGHTS},
                "sources": {key: cite(key) for key in cited(self)}, "caution": CAUTION}


def cited(audit: Audit) -> tuple[str, ...]:
    """The source keys of an audit, each once, in order."""
    return tuple(dict.fromkeys(one.source for one in audit.findings if one.source in CITED))


def cite(key: str) -> str:
    """A source as an author reads it."""
    return cite_row(CITED[key])
