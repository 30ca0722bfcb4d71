"""A file that waited is given to whose it is, or to nobody: decided by a person, kept as such."""
from __future__ import annotations

import re
from collections.abc import Collection, Mapping, Sequence
from contextlib import suppress
from dataclasses import replace
from difflib import get_close_matches

from acidbase_lib.classroom.atomic_write import write_whole
from acidbase_lib.classroom.folder_lock import one_at_a_time
from acidbase_lib.classroom.gradebook.safekeeping.class_history import (
    note_intake,
    note_taken_away,
)
from acidbase_lib.classroom.notebooks.read_notebook import UnreadableNotebookError, read_file

from .course_folder import CourseFolder
from .hand_in import in_place, kept_copy, put_in_place, take_away
from .ledger import CHOSEN, NOBODYS, NOT_CHOSEN, Ledger, Offer, files_held, set_aside
from .roster import IntakeError
from .write_gradebook import take_out

NOBODY = "nobody"


def decide(folder: CourseFolder, unit: str, decision: str, learners: Collection[str]) -> str:
    """Settle one file by what a person has decided; deciding again undoes that.

    Whoever had the file has it no longer: the one before it counts again for them.

    Parameters
    ----------
    folder : CourseFolder
        The course.
    unit : str
        Such as "02_primary_disorder".
    decision : str
        The number of a file and whose it is, such as "41=n102", or "41=nobody".
    learners : collection of str
        The class list.

    Returns
    -------
    str
        What was done, in a sentence.

    Raises
    ------
    IntakeError
        If there is no such file or nobody of that id, or the file was not kept.
    HistoryError
        If the history cannot be read or written.
    """
    number, learner = _parts(decision)
    ledger = Ledger(folder)
    offer = ledger.numbered(unit, number)
    if offer is None:
        there = ", ".join(f"{one.number}" for one in ledger.waiting(unit)[:12])
        raise IntakeError(f"No file of {unit} has the number {number}; those that wait are: "
                          f"{there or 'none'}. The numbers of all are in intake.csv.")
    nobodys = learner == NOBODY and NOBODY not in learners
    if not nobodys:
        _check(offer, number, learner, learners)
    with one_at_a_time(folder.lock_folder):
        before = ledger.held(unit)
        if (learner in before and before[learner][-1].key == offer.key
                and in_place(folder, unit, learner) == offer.digest):
            return f"{offer.file} is {learner}'s hand-in already."
        data = _kept(folder, unit, offer, before)
        if data is None and not nobodys:
            raise IntakeError(f"{offer.file} is no longer kept as "
                              f"{set_aside(folder, unit, offer.digest)}. Hand its folder or zip "
                              "to `acidbase collect` again.")
        others = [] if nobodys else [
            one for one in ledger.waiting(unit) if one.key != offer.key
            and one.learner == learner and one.can_be_taken]
        there = "" if nobodys else in_place(folder, unit, learner)
        new = [_about(offer, NOBODYS, "") if nobodys else replace(
            _about(offer, CHOSEN, learner), before="" if there == offer.digest else there),
            *(_about(one, NOT_CHOSEN, learner) for one in others)]
        after = files_held([*ledger.of(unit), *new])
        losers = {one.learner for one in ledger.of(unit)
                  if one.learner and one.key == offer.key} - {learner}
        back = [_Back(folder, unit, who, offer, after.get(who, ())) for who in sorted(losers)]
        back = [one for one in back if one.is_to_do]
        again = [one for who in losers for one in ledger.set_aside_for(unit, who)
                 if who in before and (before[who][-1].key, before[who][-1].became) == (
                     offer.key, CHOSEN) and after.get(who, (offer,))[-1].became != CHOSEN]
        if data is not None:  # whatever is moved, the file stays kept
            write_whole(set_aside(folder, unit, offer.digest), data)
        ledger.settle(unit, [*new, *again])
        kept = None if nobodys or data is None else put_in_place(folder, unit, learner, data)
        told = [one.done() for one in back]
    if not nobodys:
        note_intake(folder, unit, {learner: offer.file}, f"{offer.bundle}, decided by a person")
    said = (f"{offer.file} was set aside for good: it is nobody's." if nobodys else
            f"{offer.file} is {learner}'s hand-in now" + (
                f"; not chosen: {', '.join(one.file for one in others)}." if others else "."))
    if kept is not None:
        was = next((one.file for one in reversed(before.get(learner, ()))
                    if one.digest == there), "the file that was there")
        said += (f" It takes the place of {learner}'s {was}, which is kept as {kept}: --decide "
                 f"{number}={NOBODY} brings that back.")
    waits = f" To be decided again: {', '.join(one.file for one in again)}." if again else ""
    return " ".join([said, *told]) + waits


class _Back:
    """Somebody from whom a decision takes a file: the file before it counts again, or none."""

    def __init__(self, folder: CourseFolder, unit: str, learner: str, offer: Offer,
                 held: Sequence[Offer]) -> None:
        self._folder, self._unit, self._learner = folder, unit, learner
        self._then = held[-1] if held else None
        self._data: bytes | None = None
        # where another file has come meanwhile, nothing is taken back from them
        self.is_to_do = in_place(folder, unit, learner) == offer.digest and (
            self._then is None or self._then.digest != offer.digest)
        if self.is_to_do and self._then is not None:
            self._data = _kept(folder, unit, replace(self._then, learner=learner), {})
            if self._data is None:
                raise IntakeError(f"{learner}'s earlier file {self._then.file} is no longer kept. "
                                  f"Hand it to `acidbase collect` again. Nothing was changed.")

    def done(self) -> str:
        """Put the earlier file back, or take the hand-in away; say which."""
        folder, unit, who = self._folder, self._unit, self._learner
        if self._then is None or self._data is None:
            take_away(folder, unit, who)
            take_out(folder, unit, who)
            note_taken_away(folder, unit, who)
            return f"{who} has no hand-in now."
        put_in_place(folder, unit, who, self._data)
        note_intake(folder, unit, {who: self._then.file}, "the file before, by a decision")
        return f"{who}'s own earlier file counts again: {self._then.file}."


def _check(offer: Offer, number: int, learner: str, learners: Collection[str]) -> None:
    if learner not in learners:
        near = get_close_matches(learner, learners, 1, 0.85)
        raise IntakeError(f"Nobody on the roster has the id {learner[:40]!r}."
                          + (f" Did you mean {near[0]}?" if near else ""))
    if not offer.can_be_taken:
        raise IntakeError(f"{offer.file} cannot be anybody's hand-in: {offer.why}. Ask for the "
                          f"notebook, or set it aside for good with --decide {number}={NOBODY}.")


def _kept(folder: CourseFolder, unit: str, offer: Offer,
          held: Mapping[str, Sequence[Offer]]) -> bytes | None:
    """Return a file's bytes from where it is kept: aside, or with somebody who handed it in."""
    if not offer.digest:
        return None
    with suppress(UnreadableNotebookError):
        return read_file(set_aside(folder, unit, offer.digest))
    whose = [offer.learner, *(who for who, files in held.items()
                              if any(one.digest == offer.digest for one in files))]
    return next((data for who in whose if who and (
        data := kept_copy(folder, unit, who, offer.digest)) is not None), None)


def _parts(decision: str) -> tuple[int, str]:
    found = re.fullmatch(r"\s*(\d{1,12})\s*=\s*(.+?)\s*", decision)
    if found is None:
        raise IntakeError(f"--decide {decision[:40]!r} is no decision; write the number of the "
                          f"file and whose it is, such as 41=n102 or 41={NOBODY}.")
    return int(found[1]), found[2]


def _about(offer: Offer, became: str, learner: str) -> Offer:
    return Offer(offer.file, offer.bundle, became, learner, (), "", offer.digest,
                 about=offer.number, late=offer.late)
