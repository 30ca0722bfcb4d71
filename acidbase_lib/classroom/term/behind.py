"""Who is falling behind in a term, and on what evidence: counted signs, in plain sentences."""
from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from math import sqrt
from statistics import fmean, median

from .gather import Entry, Person, Sitting, Term

LEAST_SITTINGS = 2  # of one sitting nobody can say who is falling behind
LOW = 0.5  # of the points
RECENT = 3  # the last marked sittings of a person, of which two below LOW are a sign
FALL = 0.20  # of the points, against the middle of the class
SURE = 2.5  # standard errors: about one false sign in 160 people who did not change
LEAST_SPREAD = 20  # degrees of freedom from which the spread of the class is worth using
LEFT_OUT = 0.25  # of the questions


@dataclass(frozen=True, slots=True)
class Sign:
    """One reason to ask a person how it goes: what kind, and a sentence with its numbers."""

    kind: str
    sentence: str


@dataclass(frozen=True, slots=True)
class Behind:
    """A person with at least one sign, and how much they missed."""

    learner: str
    signs: tuple[Sign, ...]
    missing: int


def falling_behind(term: Term) -> tuple[Behind, ...]:
    """Return who shows signs of falling behind, most signs first.

    Parameters
    ----------
    term : Term
        Counted from the class list. What was handed in and could not be marked, or waits for a
        person, counts against nobody.

    Returns
    -------
    tuple of Behind
        Empty with fewer than two sittings: of one nobody can say.
    """
    begun = term.begun
    if len(begun) < LEAST_SITTINGS:
        return ()
    middle = middles(term)
    spread = _spread(term.people, begun, middle)
    found = []
    for person in term.people:
        signs = tuple(sign for sign in (
            _missing(person, begun), _low(person, begun), _fallen(person, begun, middle, spread),
            _left_out(person, begun)) if sign is not None)
        if signs:
            found.append(Behind(person.learner, signs, len(missed(person, begun))))
    return tuple(sorted(found, key=lambda one: (-len(one.signs), -one.missing, one.learner)))


def middles(term: Term) -> Mapping[str, float]:
    """The median share of the points in each sitting; none where nobody was marked."""
    shares = {one.name: [share for person in term.people
                         if (share := person.entries[one.name].share) is not None]
              for one in term.begun}
    return {name: median(all_) for name, all_ in shares.items() if all_}


def missed(person: Person, begun: Sequence[Sitting]) -> list[Sitting]:
    """The sittings that others handed in and this person did not."""
    return [one for one in begun if not person.entries[one.name].handed_in]


def _missing(person: Person, begun: Sequence[Sitting]) -> Sign | None:
    gone = missed(person, begun)
    if len(gone) < 2:
        return None
    which = (", the last ones in a row" if gone == list(begun[-len(gone):])
             and len(gone) < len(begun) else "")
    return Sign("missing", f"Handed in nothing in {len(gone)} of {len(begun)} sittings{which}: "
                f"{'; '.join(one.title for one in gone)}.")


def _marked(person: Person, begun: Sequence[Sitting]) -> list[tuple[Sitting, Entry, float]]:
    return [(one, entry, share) for one in begun
            if (share := (entry := person.entries[one.name]).share) is not None]


def _low(person: Person, begun: Sequence[Sitting]) -> Sign | None:
    last = _marked(person, begun)[-RECENT:]
    low = [(one, entry) for one, entry, share in last if share < LOW]
    if len(low) < 2:
        return None
    told = "; ".join(f"{entry.score:g} of {entry.decided:g} in {one.title}" for one, entry in low)
    return Sign("low", f"Less than half of the points in {len(low)} of the last {len(last)} "
                f"marked sittings: {told}.")


def _fallen(person: Person, begun: Sequence[Sitting], middle: Mapping[str, float],
            spread: float | None) -> Sign | None:
    """A fall against the middle of the class, larger than this class's own ups and downs."""
    marked = _marked(person, begun)
    if spread is None or len(marked) < 4:
        return None
    away = [share - middle[one.name] for one, _, share in marked]
    before, now = fmean(away[:-2]), fmean(away[-2:])
    fall = before - now
    if fall < max(FALL, SURE * spread * sqrt(1 / 2 + 1 / (len(away) - 2))):
        return None
    return Sign("fallen", f"Was {_against(before)} in the first {len(away) - 2} marked sittings "
                f"and {_against(now)} in the last 2.")


def _against(share: float) -> str:
    points = round(abs(100 * share))
    if not points:
        return "in the middle of the class"
    return (f"{points} of 100 points {'above' if share > 0 else 'below'} the middle of the "
            "class")


def _spread(people: Sequence[Person], begun: Sequence[Sitting],
            middle: Mapping[str, float]) -> float | None:
    """How far the sittings of one person lie around that person's own mean, over the class."""
    squares, free = 0.0, 0
    for person in people:
        away = [share - middle[one.name] for one, _, share in _marked(person, begun)]
        if len(away) > 1:
            mean = fmean(away)
            squares += sum((one - mean) ** 2 for one in away)
            free += len(away) - 1
    return sqrt(squares / free) if free >= LEAST_SPREAD else None


def _left_out(person: Person, begun: Sequence[Sitting]) -> Sign | None:
    much = [(one, entry) for one, entry, _ in _marked(person, begun)
            if entry.questions and entry.left_out >= max(2, LEFT_OUT * entry.questions)]
    if len(much) < 2:
        return None
    told = "; ".join(f"{entry.left_out} of {entry.questions} in {one.title}" for one, entry in much)
    return Sign("left out", "Left out, or did not finish, a quarter of the questions or more in "
                f"{len(much)} sittings: {told}.")
