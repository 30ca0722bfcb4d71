"""Files from a learning management system put where nbgrader collects them; nothing is guessed."""
from __future__ import annotations

import datetime
import hashlib
from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass, field, replace
from pathlib import Path

from acidbase_lib.classroom.atomic_write import write_whole
from acidbase_lib.classroom.folder_lock import one_at_a_time
from acidbase_lib.classroom.gradebook.safekeeping.history import HistoryError
from acidbase_lib.classroom.notebooks.own_numbers import OwnNumbers, numbers_beside
from acidbase_lib.classroom.notebooks.read_notebook import (
    LIMITS,
    FileLimits,
    UnreadableNotebookError,
    parse_notebook,
)
from acidbase_lib.classroom.phrases import printable

from .course_folder import CourseFolder
from .hand_in import in_place, put
from .lateness import Deadline, deadline_of
from .ledger import COPY, LEFT, SAME, TAKEN, Ledger, Offer, set_aside
from .letter_case import told_apart
from .owners import Owners
from .roster import IntakeError, RosterLine, read_roster
from .zip_bundle import Offered, opened

MOST_OF_ONE = 20  # files of one learner in one bundle that are opened
MOST_KEPT = 500_000_000  # of one bundle's files that wait for a decision [bytes]


@dataclass(frozen=True, slots=True)
class Intake:
    """What became of every file.

    Parameters
    ----------
    taken : mapping of str to str
        Learner to the file that is theirs now.
    unchanged : mapping of str to str
        Learner to the file that was there already, the same to the byte.
    earlier : mapping of str to Path
        Learner to where their earlier, different file is kept.
    unmatched : mapping of str to str
        File to why it is nobody's.
    doubtful : mapping of str to str
        File to why it may be more than one person's, or one of several of the same person.
    absent : tuple of str
        Learners of the roster with no file in this bundle.
    debris : tuple of str
        What an operating system or Jupyter left in it (``__MACOSX``, ``.ipynb_checkpoints``), which
        nobody handed in.
    offers : tuple of Offer
        Every file of somebody's, as the ledger is to have it.
    older : mapping of str to Offer
        Learner to a file of theirs that was taken before and has been replaced since.
    """

    taken: Mapping[str, str]
    unchanged: Mapping[str, str]
    earlier: Mapping[str, Path]
    unmatched: Mapping[str, str]
    doubtful: Mapping[str, str]
    absent: tuple[str, ...]
    debris: tuple[str, ...] = ()
    offers: tuple[Offer, ...] = ()
    older: Mapping[str, Offer] = field(default_factory=dict)


def take_in(course: str | Path | CourseFolder, assignment: str, bundle: str | Path,
            roster: str | Path | Sequence[RosterLine], *, limits: FileLimits = LIMITS,
            handed_in: datetime.datetime | None = None,
            left_out: Collection[str] = (), due: datetime.datetime | None = None) -> Intake:
    """Put each learner's file where nbgrader collects it; run it again with later files.

    Parameters
    ----------
    course : path or CourseFolder
        The course's folder.
    assignment : str
        Such as "02_primary_disorder".
    bundle : path
        A folder, or a zip, of single .ipynb files as the learning management system gave them.
    roster : path or sequence of RosterLine
        The class list.
    limits : FileLimits
        The longest file that is taken.
    handed_in : datetime, optional
        When this bundle was handed in (UTC), if lateness is to be reckoned.
    left_out : collection of str
        Learners who were erased: their files are passed over, and nothing is said of them.
    due : datetime, optional
        When the files were due, in this computer's own time.

    Returns
    -------
    Intake
        Every file of the bundle is in it. A file that differs from one taken before replaces it,
        unless it was itself replaced before; the earlier one is kept beside the submissions.

    Raises
    ------
    IntakeError
        If the bundle or the roster cannot be read, or the course's disk takes two ids for one.
    """
    folder = CourseFolder.find(course)
    notebook = folder.source_notebook(assignment).name
    lines = read_roster(roster) if isinstance(roster, str | Path) else tuple(roster)
    if why := told_apart([line.learner for line in lines], [folder.root]):
        raise IntakeError(why)
    taken: dict[str, str] = {}
    unchanged: dict[str, str] = {}
    earlier: dict[str, Path] = {}
    older: dict[str, Offer] = {}
    mine: dict[str, list[Offered]] = {}
    owners = Owners(lines, assignment)
    beside, known = numbers_beside(folder.source_notebook(assignment).parent), {
        line.learner: line.by_name for line in lines}
    numbers = None if beside is None else OwnNumbers(beside)
    debris: list[str] = []
    with one_at_a_time(folder.lock_folder), opened(bundle, limits) as files:
        sorting = _Sorting(folder, assignment, Path(bundle).name, {
            line.learner: line for line in lines}, deadline_of(due, (
                one.written for one in files if not one.debris and not one.why_not)))
        for offered in files:
            if offered.debris:
                debris.append(offered.name)
                continue
            learner, why, may_be = owners.found(offered.name)
            # of namesakes the questions tell which; against an account's name they tell nothing
            if numbers is not None and learner is None and (len(may_be) < 2 or all(
                    known[one] and known[one] == known[may_be[0]] for one in may_be)):
                learner = _by_its_numbers(offered, numbers, may_be or known)
            if learner in left_out or (may_be and set(may_be) <= set(left_out)):
                continue
            learner = sorting.given(offered) or learner  # what a person has decided comes first
            if offered.why_not:
                sorting.leave(offered, offered.why_not, learner or "", may_be, read=False)
            elif learner is None:
                sorting.leave(offered, why, "", may_be)
            else:
                mine.setdefault(learner, []).append(offered)
        for learner in sorted(mine):  # one file at a time: memory stays flat
            one, data = sorting.one_of(learner, mine[learner])
            if one is not None and (seen := sorting.replaced(learner, _digest(data))) is not None:
                older[learner] = seen
            elif one is not None:
                name = one.name
                changed, kept = put(folder.folder("submitted", learner, assignment), notebook,
                                     data, handed_in)
                (taken if changed else unchanged)[learner] = name
                sorting.offers.append(Offer(
                    name, sorting.bundle, TAKEN if changed else SAME, learner,
                    digest=_digest(data), late=sorting.late(one, learner),
                    before="" if kept is None else _digest_of(kept)))
                if kept is not None:
                    earlier[learner] = kept
    return Intake(taken, unchanged, earlier, sorting.unmatched, sorting.doubtful,
                  tuple(line.learner for line in lines
                        if line.learner not in mine and line.learner not in left_out),
                  tuple(debris), sorting.in_order(), older)


def _by_its_numbers(offered: Offered, numbers: OwnNumbers, known: Collection[str]) -> str | None:
    """Whose a file is where its name tells nobody: who was given the questions in it, all one's."""
    try:
        one = None if offered.why_not else numbers.owner_of(parse_notebook(offered.read()))
    except UnreadableNotebookError:
        return None
    return one if one in known else None


class _Sorting:
    """What is left alone of a bundle, and why; what a person has decided before still holds."""

    def __init__(self, folder: CourseFolder, unit: str, bundle: str,
                 roster: Mapping[str, RosterLine], deadline: Deadline) -> None:
        self.folder, self.unit, self.bundle = folder, unit, printable(bundle)
        self._roster, self._deadline = roster, deadline
        self.unmatched: dict[str, str] = {}
        self.doubtful: dict[str, str] = {}
        self.offers: list[Offer] = []
        self._kept = 0
        self._replaced: Mapping[str, tuple[Offer, ...]] = {}
        try:
            ledger = Ledger(folder)
        except HistoryError:  # the marking that follows tells of it
            self._rejected, self._chosen = frozenset[tuple[str, str]](), {}
            return
        self._replaced = ledger.replaced(unit)
        self._rejected = ledger.rejected(unit)
        self._chosen = dict(ledger.chosen(unit))

    def given(self, offered: Offered) -> str:
        """To whom a person has given this very file; nobody where none has."""
        if not self._chosen or not any(name == offered.name for name, _ in self._chosen):
            return ""
        try:
            return self._chosen.get((offered.name, _digest(offered.read())), "")
        except UnreadableNotebookError:
            return ""

    def replaced(self, learner: str, digest: str) -> Offer | None:
        """Return this file as it was taken before, if a later one has taken its place since."""
        *before, last = self._replaced.get(learner, (None,))
        if last is None or last.digest == digest or not in_place(
                self.folder, self.unit, last.learner):
            return None
        return next((one for one in before if one is not None and one.digest == digest), None)

    def in_order(self) -> tuple[Offer, ...]:
        """Return every file for the ledger, those left alone last: a copy of a taken one waits."""
        taken = {one.digest: one for one in self.offers if one.became in {TAKEN, SAME}}
        left = [one for one in self.offers if one.became == LEFT]
        return (*(one for one in self.offers if one.became != LEFT), *(replace(
            one, why=f"{one.why}; it is the same to the byte as {taken[one.digest].file}, which is "
            f"{taken[one.digest].learner}'s") if one.digest in taken else one for one in left))

    def late(self, offered: Offered, learner: str) -> str:
        """Whether a file came late, as far as that is known."""
        return self._deadline.told(offered.name, offered.written, self._roster.get(learner))

    def leave(self, offered: Offered, why: str, learner: str, may_be: tuple[str, ...] = (), *,
              read: bool = True, doubtful: bool | None = None) -> None:
        """Leave a file alone, and keep it where a decision can still make it somebody's."""
        digest = ""
        if read and self._kept <= MOST_KEPT:  # else it is told, and no decision can take it
            try:
                data = offered.read()
                digest = _digest(data)
                if (offered.name, digest) in self._rejected:
                    return
                self._keep(data, digest)
            except UnreadableNotebookError as error:
                why = f"{why}; {printable(str(error))}"
        elif (offered.name, "") in self._rejected:
            return
        list_ = self.doubtful if (bool(may_be) and read if doubtful is None else doubtful) \
            else self.unmatched
        list_[offered.name] = why
        self.offers.append(Offer(offered.name, self.bundle, LEFT, learner, may_be, why, digest,
                                 late=self.late(offered, learner)))

    def one_of(self, learner: str, mine: Sequence[Offered],
               ) -> tuple[Offered | None, bytes]:
        """Choose a learner's file: the only one, or one of several that are alike to the byte.

        Of different files none is chosen, whatever their names and dates say, unless a person has
        said which is not the one. One file at a time is in memory; what the chosen one holds is
        returned beside it.
        """
        chosen, data, digests = None, b"", {}
        for offered in mine[:MOST_OF_ONE]:
            try:
                read = offered.read()
            except UnreadableNotebookError as error:
                self.leave(offered, printable(str(error)), learner, read=False)
                continue
            digest = _digest(read)
            if (offered.name, digest) in self._rejected:
                continue
            digests[offered.name] = digest
            if chosen is None:
                chosen, data = offered, read
        untold = [offered.name for offered in mine[MOST_OF_ONE:]]
        if len(set(digests.values())) > 1 or untold:
            files = [*digests, *untold]
            count = f"{len(files)} files" if untold else f"{len(files)} different files"
            for offered in mine:
                if offered.name in files:
                    self.leave(offered, f"{learner} has {count} in this bundle; say which one "
                               "counts", learner, read=offered.name in digests, doubtful=True)
            return None, b""
        self.offers += [Offer(name, self.bundle, COPY, learner, digest=digest)
                        for name, digest in digests.items()
                        if chosen is not None and name != chosen.name]
        return chosen, data

    def _keep(self, data: bytes, digest: str) -> None:
        """Keep a file until somebody has decided; no more of one bundle than a disk can take."""
        self._kept += len(data)
        place = set_aside(self.folder, self.unit, digest)
        if not place.is_file():
            write_whole(place, data)


def _digest(data: bytes) -> str:
    return hashlib.sha256(data).hexdigest()


def _digest_of(path: Path) -> str:
    with path.open("rb") as file:
        return hashlib.file_digest(file, "sha256").hexdigest()
