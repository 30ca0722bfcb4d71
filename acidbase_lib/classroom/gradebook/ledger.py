"""The ledger of hand-ins: what became of every file over all runs; it only grows."""
from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from acidbase_lib.classroom.gradebook.safekeeping.history import OFFERED, SAME_PERSON, HistoryError
from acidbase_lib.classroom.gradebook.safekeeping.integrity import grading_folder
from acidbase_lib.classroom.gradebook.safekeeping.receipts import history_of

from .course_folder import CourseFolder
from .lateness import IN_TIME
from .same_person import same_people

TAKEN, SAME, LEFT = "taken", "the same as before", "left alone"
CHOSEN, NOT_CHOSEN, NOBODYS = "taken by decision", "not the one chosen", "nobody's by decision"
COPY = "the same to the byte as the one taken"


@dataclass(frozen=True, slots=True)
class Offer:
    """One file of one run.

    Parameters
    ----------
    file, bundle : str
        Its name, and that of the folder or zip it came in.
    became : str
        What became of it.
    learner : str
        Whose it is; empty where nobody knows.
    may_be : tuple of str
        Whose it may be, where it may be several people's.
    why : str
        Why it was left alone.
    digest : str
        Its SHA-256; empty where it could not be read.
    unit : str
        What it was handed in for.
    number, at : int, str
        The line of the history that tells of it, and when (UTC).
    about : int
        The number of the offer that a decision is about; 0 where it is none.
    late : str
        How it is known that it came late; "in time"; empty where that is not known.
    before : str
        The SHA-256 of the file whose place it took; empty where there was none.
    """

    file: str
    bundle: str
    became: str
    learner: str = ""
    may_be: tuple[str, ...] = ()
    why: str = ""
    digest: str = ""
    unit: str = ""
    number: int = 0
    at: str = ""
    about: int = 0
    late: str = ""
    before: str = ""

    @property
    def key(self) -> tuple[str, str]:
        """What tells the file from others: its name in its bundle, and what it holds."""
        return self.file, self.digest

    @property
    def people(self) -> tuple[str, ...]:
        """Everybody whose file it may be."""
        return (self.learner,) if self.learner else self.may_be

    @property
    def can_be_taken(self) -> bool:
        """Whether it was kept, so that a decision can give it to somebody."""
        return bool(self.digest)


class Ledger:
    """All files ever offered to a course, oldest first.

    Raises
    ------
    HistoryError
        If the history, in which the ledger stands, cannot be read.
    """

    def __init__(self, folder: CourseFolder) -> None:
        self._folder = folder
        lines = [line for line in history_of(folder).each()
                 if line.what in {OFFERED, SAME_PERSON} and line.details]
        self.offers = tuple(_offer(line.number, line.at, line.details) for line in lines
                            if line.what == OFFERED and line.details)
        self.same = same_people(lines)

    def of(self, unit: str) -> tuple[Offer, ...]:
        """Return what was offered for one unit."""
        return tuple(one for one in self.offers if one.unit == unit)

    def waiting(self, unit: str) -> tuple[Offer, ...]:
        """Return the files that wait for a decision: left alone, and nothing has settled them.

        A decision settles a file, and so does the same file taken later for the first time: a copy
        of a file that was taken before may be another person's. Where it is known whose it is, any
        later file of that person settles it; one that could be no hand-in (not a notebook, or not
        to be read) also an earlier one.
        """
        offers = self.of(unit)
        same_file: dict[str, int] = {}  # the first line that tells of it as taken
        same_person: dict[str, int] = {}
        last_word = {one.about: one.number for one in offers if one.about}
        for one in offers:
            if one.became in _HELD and last_word.get(one.about, one.number) == one.number:
                same_file.setdefault(one.digest, one.number)
                same_person[one.learner] = one.number
        decided = {one.key: one.number for one in offers if one.about}
        last: dict[tuple[str, str], Offer] = {one.key: one for one in offers if one.became == LEFT}

        def settled(one: Offer) -> bool:
            if decided.get(one.key, 0) > one.number or (
                    one.can_be_taken and same_file.get(one.digest, 0) > one.number):
                return True
            then = same_person.get(one.learner, 0) if one.learner else 0
            return then > (one.number if one.can_be_taken else 0)
        return tuple(one for one in last.values() if not settled(one))

    def rejected(self, unit: str) -> frozenset[tuple[str, str]]:
        """Return the files that a decision has set aside for good."""
        last = {one.key: one.became for one in self.of(unit)
                if one.became in {CHOSEN, NOT_CHOSEN, NOBODYS, LEFT}}
        chosen = [[one.key for one in files if one.became == CHOSEN]
                  for files in self.held(unit).values()]
        return frozenset(key for key, became in last.items() if became in {NOT_CHOSEN, NOBODYS}
                         ).union(*(keys[:-1] for keys in chosen))

    def chosen(self, unit: str) -> Mapping[tuple[str, str], str]:
        """Return the files that a decision gave to somebody, and to whom."""
        last = {who: [one.key for one in files if one.became == CHOSEN][-1:]
                for who, files in self.held(unit).items()}
        return {key: who for who, keys in last.items() for key in keys}

    def numbered(self, unit: str, number: int) -> Offer | None:
        """Return the file of a number, left alone or taken, if it is one of this unit's."""
        return next((one for one in self.of(unit) if one.number == number and not one.about), None)

    def held(self, unit: str) -> Mapping[str, tuple[Offer, ...]]:
        """Return everybody's files that were taken, the one that counts last; see `files_held`."""
        return files_held(self.of(unit))

    def set_aside_for(self, unit: str, learner: str) -> tuple[Offer, ...]:
        """Return a learner's files that were not chosen, as files that wait again."""
        offers = self.of(unit)
        last = {one.key: one.became for one in offers if one.about or one.became == LEFT}
        left = {one.key: one for one in offers if one.became == LEFT}
        return tuple(one for key, one in left.items() if last[key] == NOT_CHOSEN
                     and one.learner == learner)

    def replaced(self, unit: str) -> Mapping[str, tuple[Offer, ...]]:
        """Return whose file took the place of an earlier one: all, that which counts last.

        An earlier id's are the person's that it is now.
        """
        return {who: files for who, files in files_held(self.of(unit), self.same).items()
                if len(files) > 1}

    def late(self, unit: str) -> Mapping[str, str]:
        """Return whose hand-in came late, and how that is known."""
        return {who: one.late for who, one in self._last_taken(unit).items()
                if one.late and one.late != IN_TIME}

    def names(self, unit: str) -> dict[str, str]:
        """Return how everybody's file was called in what the platform gave, folders and all."""
        return {self.same.get(who, who): one.file for who, one in self._last_taken(unit).items()}

    def _last_taken(self, unit: str) -> dict[str, Offer]:
        return {who: files[-1] for who, files in self.held(unit).items()}

    def note(self, unit: str, offers: Iterable[Offer]) -> None:
        """Add what became of files; one of which the same is told already is not told twice."""
        last, taken = {one.key: one for one in self.of(unit)}, self._last_taken(unit)
        new = [one for one in offers if one.about or not _is_told(
            taken.get(one.learner) if one.became in {TAKEN, SAME} else last.get(one.key), one)]
        self.settle(unit, new)

    def settle(self, unit: str, offers: Sequence[Offer]) -> None:
        """Add what became of files by a decision: all of it, whatever was told before."""
        history_of(self._folder).add(OFFERED, *(_details(unit, one) for one in offers))
        self.offers = Ledger(self._folder).offers if offers else self.offers


_HELD = frozenset({TAKEN, SAME, CHOSEN})


def files_held(offers: Iterable[Offer],
               same: Mapping[str, str] | None = None) -> dict[str, tuple[Offer, ...]]:
    """Return everybody's files that were taken, the one that counts last.

    A decision takes a file away from whoever has it; then the one before it counts again.
    """
    held: dict[str, list[Offer]] = {}
    for one in offers:
        if one.about:
            for files in held.values():
                files[:] = [other for other in files if other.key != one.key]
        if one.became not in _HELD:
            continue
        files = held.setdefault((same or {}).get(one.learner, one.learner), [])
        files[:] = [other for other in files if other.key != one.key]
        if one.before and all(other.digest != one.before for other in files):
            files.append(Offer("the file that was there", "", TAKEN, one.learner,
                               digest=one.before))  # collected by another program
        files.append(one)
    return {who: tuple(files) for who, files in held.items() if files}


def who_waits(waiting: Iterable[Offer]) -> dict[str, tuple[Offer, ...]]:
    """Return everybody of whom a file waits for a decision, with these files."""
    found: dict[str, tuple[Offer, ...]] = {}
    for one in waiting:
        for learner in one.people:
            found[learner] = (*found.get(learner, ()), one)
    return found


@dataclass(frozen=True, slots=True)
class UnitFiles:
    """What the history tells of a unit's files: those that wait, whose came late; changed ids."""

    waiting: tuple[Offer, ...] = ()
    late: Mapping[str, str] = field(default_factory=dict)
    same: Mapping[str, str] = field(default_factory=dict)


def files_of(folder: CourseFolder, units: Sequence[str]) -> Mapping[str, UnitFiles]:
    """Return what the ledger tells of units; nothing where the history cannot be read."""
    try:
        ledger = Ledger(folder)
    except HistoryError:  # the marking tells of it
        return dict.fromkeys(units, UnitFiles())
    return {unit: UnitFiles(ledger.waiting(unit), ledger.late(unit), ledger.same)
            for unit in units}


def set_aside(folder: CourseFolder, unit: str, digest: str) -> Path:
    """Return where the file of this digest is kept until somebody has decided."""
    return grading_folder(folder) / "set_aside" / unit / f"{digest}.ipynb"


def _is_told(before: Offer | None, now: Offer) -> bool:
    """Whether the last that was told of a file says the same, or a decision that still holds.

    Of a file that was taken, `before` is the last that was taken of the same person.
    """
    if before is None:
        return False
    if now.became in {TAKEN, SAME}:
        return before.key == now.key and now.late in {"", before.late}
    return before.became in {NOT_CHOSEN, NOBODYS} or (
        before.became, before.why, before.learner, before.may_be) == (
            now.became, now.why, now.learner, now.may_be)


def _details(unit: str, one: Offer) -> dict[str, Any]:
    return {"unit": unit, "from": one.file, "bundle": one.bundle, "became": one.became,
            "learner": one.learner, "may be": list(one.may_be), "why": one.why,
            "file": one.digest, "about": one.about, "late": one.late, "before": one.before}


def _offer(number: int, at: str, told: Mapping[str, Any]) -> Offer:
    return Offer(told["from"], told["bundle"], told["became"], told["learner"],
                 tuple(map(str, told["may be"])), told["why"], told["file"], told["unit"], number,
                 at, told["about"], told["late"], str(told.get("before", "")))
