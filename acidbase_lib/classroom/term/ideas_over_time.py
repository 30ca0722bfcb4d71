"""Which wrong ideas came, went and returned in a term, learner by learner and in the class."""
from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from acidbase_lib.classroom.diagnosis.diagnosis import HELD, NOT_HELD, UNCLEAR
from acidbase_lib.teaching.misconceptions.catalog import MISCONCEPTIONS

from .gather import Person, Sitting, Term

CAME, WENT, RETURNED = "came", "went", "returned"


@dataclass(frozen=True, slots=True)
class Turn:
    """One change of one person in one idea: what, and between which sittings."""

    learner: str
    idea: str
    what: str
    before: Sitting
    now: Sitting


@dataclass(frozen=True, slots=True)
class Count:
    """An idea in one sitting: how many hold it, do not, or cannot be told."""

    sitting: Sitting
    held: int
    not_held: int
    unclear: int

    @property
    def in_words(self) -> str:
        """The count as a table has it; an idea that was not asked about is no zero."""
        if not self.held + self.not_held + self.unclear:
            return "not asked"
        return (f"{self.held} held, {self.not_held} shown without it, {self.unclear} with too "
                "little to tell")


@dataclass(frozen=True, slots=True)
class IdeaStory:
    """One idea through the term.

    Parameters
    ----------
    idea, name : str
        The idea's key, and its name.
    counts : tuple of Count
        One a sitting.
    turns : tuple of Turn
        Every change of everybody.
    holders : tuple of str
        Who holds it by the last answers that tell.
    free, untold : int
        How many do not hold it by these, and of how many nothing can be said.
    """

    idea: str
    name: str
    counts: tuple[Count, ...]
    turns: tuple[Turn, ...]
    holders: tuple[str, ...]
    free: int
    untold: int

    def who(self, what: str) -> tuple[str, ...]:
        """Whose last change of this kind it is."""
        return tuple(dict.fromkeys(turn.learner for turn in self.turns if turn.what == what))

    @property
    def counted(self) -> str:
        """Who holds it and who does not, of everybody on the class list."""
        held = len(self.holders)
        untold = f"; of {self.untold} nothing can be said" if self.untold else ""
        return (f"{_people(held)} {'holds' if held == 1 else 'hold'} it and {self.free} "
                f"{'does' if self.free == 1 else 'do'} not{untold}")

    @property
    def sentence(self) -> str:
        """What happened, counted over the same people."""
        said = [f"By the last answers that tell, {self.counted}."]
        for what, words in ((CAME, "came, after answers without it"),
                            (WENT, "went, shown by answers without it"),
                            (RETURNED, "came back after it had gone")):
            if who := self.who(what):
                said.append(f"It {words}, in {_people(len(who))}.")
        return " ".join(said)


def stories(term: Term) -> tuple[IdeaStory, ...]:
    """Return every idea that somebody held at some time, the most widely held now first.

    Notes
    -----
    Someone holds an idea at a sitting where the diagnosis names it, and does not where at least
    three answers could have shown it and their explanation is without it. Everything else is
    unclear: so "no single idea explains the answers" neither keeps an idea nor mends it.
    """
    found = []
    for idea, known in MISCONCEPTIONS.items():
        if not any(person.entries[one.name].stands.get(idea) == HELD
                   for person in term.people for one in term.sittings):
            continue
        counts = tuple(_count(term.people, one, idea) for one in term.sittings)
        last = {person.learner: latest for person in term.people
                if (latest := _latest(person, term.sittings, idea))}
        holders = tuple(who for who, where in last.items() if where == HELD)
        found.append(IdeaStory(
            idea, known.name, counts,
            tuple(turn for person in term.people for turn in turns(person, term.sittings, idea)),
            holders, len(last) - len(holders), len(term.people) - len(last)))
    return tuple(sorted(found, key=lambda one: (-len(one.holders), one.free)))


def turns(person: Person, sittings: Sequence[Sitting], idea: str) -> Iterable[Turn]:
    """Yield each change of one person in one idea; what is unclear in between changes nothing."""
    before: tuple[Sitting, str] | None = None
    has_held = False
    for one in sittings:
        where = person.entries[one.name].stands.get(idea, UNCLEAR)
        if where == UNCLEAR:
            continue
        if before is not None and before[1] != where:
            what = WENT if where == NOT_HELD else RETURNED if has_held else CAME
            yield Turn(person.learner, idea, what, before[0], one)
        before, has_held = (one, where), has_held or where == HELD


def held_by(person: Person, sittings: Sequence[Sitting]) -> tuple[str, ...]:
    """The ideas that a person holds by the last answers that tell."""
    return tuple(idea for idea in MISCONCEPTIONS
                 if _latest(person, sittings, idea) == HELD)


def _latest(person: Person, sittings: Sequence[Sitting], idea: str) -> str:
    """Held or not held by the last sitting that tells; nothing where none does."""
    for one in reversed(sittings):
        where = person.entries[one.name].stands.get(idea, UNCLEAR)
        if where != UNCLEAR:
            return where
    return ""


def _count(people: Sequence[Person], sitting: Sitting, idea: str) -> Count:
    where = [person.entries[sitting.name].stands.get(idea) for person in people]
    return Count(sitting, where.count(HELD), where.count(NOT_HELD), where.count(UNCLEAR))


def _people(count: int) -> str:
    return "1 person" if count == 1 else f"{count} people"
