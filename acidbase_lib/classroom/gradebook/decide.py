"""A file that waited is given to whose it is, or to nobody: decided by a person, kept as such."""
from __future__ import annotations

import re
from collections.abc import Collection
from difflib import get_close_matches

from acidbase_lib.classroom.folder_lock import one_at_a_time
from acidbase_lib.classroom.gradebook.safekeeping.class_history import note_intake
from acidbase_lib.classroom.notebooks.read_notebook import UnreadableNotebookError, read_file

from .course_folder import CourseFolder
from .hand_in import put_in_place
from .ledger import CHOSEN, NOBODYS, NOT_CHOSEN, Ledger, Offer, set_aside
from .roster import IntakeError

NOBODY = "nobody"


def decide(folder: CourseFolder, unit: str, decision: str, learners: Collection[str]) -> str:
    """Settle one file by what a person has decided; deciding again takes another way.

    Parameters
    ----------
    folder : CourseFolder
        The course.
    unit : str
        Such as "02_primary_disorder".
    decision : str
        The number of a file that waits and whose it is, such as "41=n102", or "41=nobody".
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
        raise IntakeError(f"No file of {unit} that was left alone has the number {number}; those "
                          f"that wait are: {there or 'none'}.")
    if learner == NOBODY and NOBODY not in learners:
        ledger.note(unit, [_about(offer, NOBODYS, "")])
        return f"{offer.file} was set aside for good: it is nobody's."
    if learner not in learners:
        near = get_close_matches(learner, learners, 1, 0.85)
        raise IntakeError(f"Nobody on the roster has the id {learner[:40]!r}."
                          + (f" Did you mean {near[0]}?" if near else ""))
    if not offer.can_be_taken:
        raise IntakeError(f"{offer.file} cannot be anybody's hand-in: {offer.why}. Ask for the "
                          f"notebook, or set it aside for good with --decide {number}={NOBODY}.")
    kept = set_aside(folder, unit, offer.digest)
    try:
        data = read_file(kept)
    except UnreadableNotebookError as error:
        raise IntakeError(f"{offer.file} is no longer kept as {kept} ({error}). Hand its folder "
                          "or zip to `acidbase collect` again.") from None
    with one_at_a_time(folder.lock_folder):
        put_in_place(folder, unit, learner, data)
    note_intake(folder, unit, {learner: offer.file}, f"{offer.bundle}, decided by a person")
    others = [one for one in ledger.waiting(unit) if one.number != number
              and one.learner == learner and one.can_be_taken]
    ledger.note(unit, [_about(offer, CHOSEN, learner),
                       *(_about(one, NOT_CHOSEN, learner) for one in others)])
    return f"{offer.file} is {learner}'s hand-in now" + (
        f"; not chosen: {', '.join(one.file for one in others)}." if others else ".")


def _parts(decision: str) -> tuple[int, str]:
    found = re.fullmatch(r"\s*(\d{1,12})\s*=\s*(.+?)\s*", decision)
    if found is None:
        raise IntakeError(f"--decide {decision[:40]!r} is no decision; write the number of the "
                          f"file and whose it is, such as 41=n102 or 41={NOBODY}.")
    return int(found[1]), found[2]


def _about(offer: Offer, became: str, learner: str) -> Offer:
    return Offer(offer.file, offer.bundle, became, learner, (), "", offer.digest,
                 about=offer.number, late=offer.late)
