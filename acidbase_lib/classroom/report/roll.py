"""The class list called: who handed in, who is missing, whose file waits, and how to settle it."""
from __future__ import annotations

import shlex
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from pathlib import Path

from acidbase_lib.classroom.gradebook.course_folder import CourseFolder
from acidbase_lib.classroom.gradebook.decide import NOBODY
from acidbase_lib.classroom.gradebook.ledger import Ledger, Offer
from acidbase_lib.classroom.gradebook.roster import RosterLine, words_of
from acidbase_lib.classroom.gradebook.safekeeping.history import HistoryError
from acidbase_lib.classroom.phrases import counted

from .grade_file import write_table
from .results import FILE_WAITS, NOT_HANDED_IN, LearnerResult


@dataclass(frozen=True, slots=True)
class Roll:
    """Everybody on the class list, counted from it.

    Parameters
    ----------
    listed, handed_in : int
        How many people are on the list, and of how many there is a hand-in.
    missing, waiting : tuple of LearnerResult
        Who handed in nothing, and of whom there is only a file that waits for a decision.
    strangers : tuple of LearnerResult
        Who handed in and is not on the list.
    files : tuple of Offer
        The files that wait, whoever's they are.
    late : tuple of LearnerResult
        Whose hand-in came late, as far as that is known.
    """

    listed: int
    handed_in: int
    missing: tuple[LearnerResult, ...]
    waiting: tuple[LearnerResult, ...]
    strangers: tuple[LearnerResult, ...]
    files: tuple[Offer, ...]
    late: tuple[LearnerResult, ...] = ()

    @property
    def sentence(self) -> str:
        """The count in words."""
        waits = (f", {len(self.waiting)} with a file that waits for a decision"
                 if self.waiting else "")
        more = f" Not on it: {len(self.strangers)} who handed in." if self.strangers else ""
        late = f" ({len(self.late)} late)" if self.late else ""
        return (f"On the class list: {self.listed}; {self.handed_in} handed in{late}, "
                f"{len(self.missing)} did not{waits}.{more}")


def roll_of(results: Sequence[LearnerResult], listed: Iterable[str],
            files: Iterable[Offer] = ()) -> Roll:
    """Call the class list.

    Parameters
    ----------
    results : sequence of LearnerResult
        Everybody's result in one sitting, those of the class list included.
    listed : iterable of str
        The ids on the class list.
    files : iterable of Offer
        The files that wait for a decision.
    """
    on = set(listed)
    of_list = [one for one in results if one.learner in on]
    return Roll(len(of_list), sum(one.handed_in for one in of_list),
                tuple(one for one in of_list if one.state == NOT_HANDED_IN),
                tuple(one for one in of_list if one.state == FILE_WAITS),
                tuple(one for one in results if one.learner not in on and one.handed_in),
                tuple(files), tuple(one for one in results if one.late))


def decision_for(offer: Offer) -> str:
    """The words that settle a file: its number, and whose it is as far as that is known."""
    if not offer.can_be_taken:
        return f"--decide {offer.number}={NOBODY}"
    whose = f"{offer.number}={offer.learner or 'ID'}"
    return f"--decide {shlex.quote(whose)}"


def decisions_for(files: Iterable[Offer]) -> tuple[str, ...]:
    """The words that settle several files at once; of one learner's files the first is chosen."""
    chosen: set[str] = set()
    words = []
    for one in files:
        if one.learner and one.can_be_taken:
            if one.learner in chosen:
                continue  # choosing one sets the others aside
            chosen.add(one.learner)
        words.append(decision_for(one))
    return tuple(words)


def ids_that_changed(roll: Roll, lines: Iterable[RosterLine]) -> str:
    """Say that the class list has other ids than who handed in had; "" where it has not."""
    now = {words: line.learner for line in lines for words in line.also}
    strangers = [one.learner for one in roll.strangers]
    known = [(one, now[words]) for one in strangers if (words := words_of(one)) in now]
    if known:
        old, new = known[0]
        return (f"{counted(len(known), 'learner')} who handed in before "
                f"{'stand' if len(known) > 1 else 'stands'} on this class list under another id, "
                f"such as {old}, now {new}: its ids are taken from another column. Give the list "
                f"a column 'id' with the earlier ids, or say --same {old}={new} (for many: a table "
                "with the columns old and new).")
    if strangers and 2 * len(strangers) >= roll.listed:
        return (f"{len(strangers)} who handed in before are not on this class list, such as "
                f"{strangers[0]}. Is it another class's, or have the ids changed? --same OLD=NEW "
                "says that two ids are one person's.")
    return ""


def question_of(offer: Offer) -> str:
    """What a person has to decide about a file."""
    if not offer.can_be_taken:
        return "no hand-in can be made of it: ask for the notebook, or set it aside for good"
    if offer.learner:
        return "is this the one that counts?"
    return f"whose is it: {', '.join(offer.may_be[:5])}?" if offer.may_be else "whose is it?"


def write_ledger(out: Path, folder: CourseFolder, unit: str, roll: Roll) -> Path:
    """Write every file of every run of a unit as a table, and who handed in nothing."""
    try:
        offers = Ledger(folder).of(unit)
    except HistoryError:  # told elsewhere
        offers = ()
    rows: list[tuple[object, ...]] = [
        (one.file, one.learner, f"{one.became}: {one.why}" if one.why else one.became,
         one.at, one.bundle, one.about or one.number) for one in offers]
    rows += [("", one.learner, "no file", "", "", "") for one in roll.missing]
    return write_table(out / "intake.csv", ("file", "id", "what became of it", "when (UTC)",
                                            "from", "number"), rows)
