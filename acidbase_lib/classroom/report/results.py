"""One learner's result, as the pages, the report and the grade file need it."""
from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from hashlib import sha256
from typing import TYPE_CHECKING

from acidbase_lib.teaching.questions.exercise import Mark

if TYPE_CHECKING:
    from acidbase_lib.classroom.gradebook.mark_class import LearnerMarks, MarkedNotebook

MARKED = "marked"
REPAIRED = "marked after repair"
NOT_MARKED = "not marked"


@dataclass(frozen=True, slots=True)
class Note:
    """What was decided about marks afterwards, as it is said.

    Parameters
    ----------
    question : str
        Empty where it is about the whole sitting.
    sentence : str
        For the learner.
    what, reason : str
        For the instructor: what was done, and why.
    void : bool
        The question does not count.
    for_all : bool
        It is about everyone, not about one learner.
    points : float or None
        What the question is worth now, where that was changed.
    """

    question: str
    sentence: str
    what: str
    reason: str
    void: bool = False
    for_all: bool = True
    points: float | None = None


@dataclass(frozen=True, slots=True)
class LearnerResult:
    """One learner in one assignment; `score` is None, never 0, where nothing could be marked.

    ``comments`` are a person's, by question; ``by_hand`` are the questions that a person marked.
    """

    learner: str
    name: str
    state: str
    score: float | None
    maximum: float
    marks: tuple[Mark, ...] = ()
    why: str = ""
    repairs: tuple[str, ...] = ()
    receipt: str = ""
    notes: tuple[Note, ...] = ()
    comments: Mapping[str, str] = field(default_factory=dict)
    by_hand: frozenset[str] = frozenset()

    @classmethod
    def of(cls, learner: str, name: str, marked: MarkedNotebook | LearnerMarks) -> LearnerResult:
        """Take what is shown from a marked notebook or a row of the class's marks."""
        return cls(learner, name, marked.state, marked.score, marked.maximum, marked.marks,
                   marked.why, tuple(repair.sentence for repair in marked.repairs))

    @property
    def share(self) -> float | None:
        """Points earned over the maximum, 0 to 1."""
        return None if self.score is None or not self.maximum else self.score / self.maximum

    @property
    def left_out(self) -> tuple[str, ...]:
        """Questions left blank or unfinished, but for those that do not count."""
        return tuple(m.question for m in self.marks if m.state in {"blank", "incomplete"}
                     and m.question not in self.void)

    @property
    def waiting(self) -> tuple[str, ...]:
        """Questions that only the instructor can mark."""
        return tuple(m.question for m in self.marks if m.state == "waits for the instructor"
                     and m.question not in self.void)

    @property
    def void(self) -> frozenset[str]:
        """Questions that do not count for this learner."""
        return frozenset(note.question for note in self.notes if note.void)


def codes(learners: Iterable[str]) -> Mapping[str, str]:
    """A code for each learner that does not follow the alphabet: "Learner 07"."""
    order = sorted(learners, key=lambda who: sha256(who.encode()).hexdigest())
    return {who: f"Learner {number:02d}" for number, who in enumerate(order, 1)}
