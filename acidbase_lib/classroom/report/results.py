"""One learner's result, as the pages, the report and the grade file need it."""
from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field, replace
from hashlib import sha256
from random import SystemRandom
from typing import TYPE_CHECKING

from acidbase_lib.classroom.gradebook.ledger import UnitFiles, who_waits
from acidbase_lib.teaching.questions.exercise import Exercise, Mark

if TYPE_CHECKING:
    from acidbase_lib.classroom.gradebook.mark_class import LearnerMarks, MarkedNotebook
    from acidbase_lib.classroom.notebooks.own_numbers import OwnSheet

MARKED = "marked"
REPAIRED = "marked after repair"
NOT_MARKED = "not marked"
NOT_HANDED_IN = "not handed in"
FILE_WAITS = "a file waits for your decision"


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
    late: str = ""
    notes: tuple[Note, ...] = ()
    comments: Mapping[str, str] = field(default_factory=dict)
    by_hand: frozenset[str] = frozenset()
    own: OwnSheet | None = None  # where everybody has numbers of their own

    def asked(self, exercises: Mapping[str, Exercise]) -> Mapping[str, Exercise]:
        """What this learner was asked: everybody's exercises, or the same questions' own."""
        return exercises if self.own is None else self.own.by_slot

    @classmethod
    def of(cls, learner: str, name: str, marked: MarkedNotebook | LearnerMarks) -> LearnerResult:
        """Take what is shown from a marked notebook or a row of the class's marks."""
        return cls(learner, name, marked.state, marked.score, marked.maximum, marked.marks,
                   marked.why, tuple(repair.sentence for repair in marked.repairs))

    @property
    def decided(self) -> float:
        """The most that could be earned by what is marked so far."""
        return self.maximum - sum(m.maximum for m in self.marks if m.question in self.waiting)

    @property
    def points_in_words(self) -> str:
        """The points so far, of those that are marked, and how many answers wait."""
        if self.score is None:
            return "none"
        waits = f", {len(self.waiting)} waiting" if self.waiting else ""
        return f"{self.score:g} of {self.decided:g}{waits}"

    @property
    def share(self) -> float | None:
        """Points earned over the most that what is marked so far could earn, 0 to 1."""
        return self.score / self.decided if self.score is not None and self.decided > 0 else None

    @property
    def handed_in(self) -> bool:
        """Whether there is a hand-in of theirs; a file of which that is not decided is none yet."""
        return self.state not in {NOT_HANDED_IN, FILE_WAITS}

    @property
    def left_out(self) -> tuple[str, ...]:
        """Questions left blank, but for those that do not count."""
        return tuple(m.question for m in self.marks if m.state == "blank"
                     and m.question not in self.void)

    @property
    def unfinished(self) -> tuple[str, ...]:
        """Questions of which some lines were left out, but for those that do not count."""
        return tuple(m.question for m in self.marks if m.state == "incomplete"
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


def with_files(results: Iterable[LearnerResult], files: UnitFiles) -> tuple[LearnerResult, ...]:
    """Return the results with what the ledger of files tells of them.

    What came under an earlier id is of the person that it is now; nobody has handed in nothing
    whose file waits; and who was late is told to be.
    """
    late = files.late
    if files.same:
        results = _of_people(results, files.same)
        late = {files.same.get(who, who): why for who, why in files.late.items()}
    whose = who_waits(files.waiting)

    def told(one: LearnerResult) -> LearnerResult:
        if one.state == NOT_HANDED_IN and one.learner in whose:
            return replace(one, state=FILE_WAITS, why="; ".join(
                f"{offer.file}: {offer.why}" for offer in whose[one.learner]))
        why = late.get(one.learner, "") if one.handed_in else ""
        return replace(one, late=why) if why else one
    return tuple(map(told, results))


def _of_people(results: Iterable[LearnerResult],
               same: Mapping[str, str]) -> list[LearnerResult]:
    """One result a person: under the id that counts now, where that has handed in, else another."""
    found: dict[str, LearnerResult] = {}
    for one in results:
        now = same.get(one.learner, one.learner)
        there = found.get(now)
        if there is None:
            found[now] = replace(one, learner=now, name=now if now != one.learner else one.name)
        elif one.learner == now:
            found[now] = one if one.handed_in else replace(there, name=one.name)
        elif not there.handed_in and one.handed_in:
            found[now] = replace(one, learner=now, name=there.name)
    return sorted(found.values(), key=lambda one: one.learner)


def drawn_codes(learners: Iterable[str]) -> Mapping[str, str]:
    """A code for each learner, drawn by chance each time: whoever has the ids finds nobody by it.

    For what may be passed on: a code that follows from the id, in whatever way, is found again by
    trying the ids.
    """
    order = sorted(learners)
    SystemRandom().shuffle(order)
    return {who: f"Learner {number:02d}" for number, who in enumerate(order, 1)}


def codes(learners: Iterable[str]) -> Mapping[str, str]:
    """A code for each learner that does not follow the alphabet, the same each time: "Learner 07".

    For a screen of the instructor's own. It follows from the ids: nothing with it is passed on.
    """
    order = sorted(learners, key=lambda who: sha256(who.encode()).hexdigest())
    return {who: f"Learner {number:02d}" for number, who in enumerate(order, 1)}
