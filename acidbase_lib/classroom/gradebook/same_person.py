"""Two ids of one person: said by somebody, kept in the history, and taken back the same way."""
from __future__ import annotations

import csv
from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import replace

from acidbase_lib.classroom.gradebook.safekeeping.erased import people_in
from acidbase_lib.classroom.gradebook.safekeeping.history import SAME_PERSON, Line
from acidbase_lib.classroom.gradebook.safekeeping.receipts import history_of

from .course_folder import CourseFolder
from .roster import IntakeError, RosterLine, words_of


def same_people(lines: Iterable[Line]) -> dict[str, str]:
    """Return each earlier id and the one that its person has now, by what the history tells."""
    said: dict[str, str] = {}
    for line in lines:
        if line.what == SAME_PERSON and line.details:
            if line.details["same"]:
                said[line.details["from"]] = line.details["learner"]
            else:
                said.pop(line.details["from"], None)
    return {old: _now(old, said) for old in said}


def say_same(folder: CourseFolder, said: str, listed: Collection[str]) -> str:
    """Let two ids be one person's: what was handed in by the earlier one is the other one's.

    Nothing is moved or marked anew, so that it can be taken back.

    Parameters
    ----------
    folder : CourseFolder
        The course.
    said : str
        The earlier id and the one that counts, such as "n102=s2031".
    listed : collection of str
        The class list.

    Raises
    ------
    IntakeError
        If it is no such pair, the earlier id is still somebody's on the class list, or either is
        known to nobody.
    """
    old, _, new = (part.strip() for part in said.partition("="))
    if not old or not new or old == new:
        raise IntakeError(f"--same {said[:40]!r} is no pair of ids; write the earlier one and the "
                          "one on the roster, such as n102=s2031.")
    if old in listed:
        raise IntakeError(f"{old} is on the roster: an id that is somebody's there is nobody "
                          "else's earlier one. Take it off, if it is the same person.")
    if new not in listed:
        raise IntakeError(f"Nobody on the roster has the id {new[:40]!r}.")
    if old not in people_in(folder):
        raise IntakeError(f"Nobody was ever called {old[:40]!r} in this course.")
    if same_people(history_of(folder).each()).get(old) == new:
        return f"{old} and {new} are the same person already."
    history_of(folder).add(SAME_PERSON, {"from": old, "learner": new, "same": True})
    return (f"{old} and {new} are the same person from now on; --not-same {old} takes that back.")


def pairs_of(said: str) -> tuple[str, ...]:
    """Return the pairs that are said: one, or all of a table's with the columns old and new.

    Raises
    ------
    IntakeError
        If the table cannot be read or has no such columns.
    """
    if not said.casefold().endswith(".csv"):
        return (said,)
    try:
        with open(said, encoding="utf-8-sig", newline="") as file:
            rows = list(csv.DictReader(file))
        return tuple(f"{row['old']}={row['new']}" for row in rows)
    except (OSError, UnicodeError, csv.Error, KeyError) as error:
        raise IntakeError(f"The table {said} of ids that have changed cannot be used ({error}). It "
                          "has a column old, a column new, and is saved as CSV, UTF-8.") from None


def say_not_same(folder: CourseFolder, old: str) -> str:
    """Take back that an earlier id is somebody's on the class list.

    Raises
    ------
    IntakeError
        If nobody said so.
    """
    said = same_people(history_of(folder).each())
    if old not in said:
        raise IntakeError(f"Nobody said whose earlier id {old[:40]!r} is; those said are: "
                          f"{', '.join(sorted(said)) or 'none'}.")
    history_of(folder).add(SAME_PERSON, {"from": old, "learner": said[old], "same": False})
    return f"{old} and {said[old]} are two people again."


def called_also(roster: Sequence[RosterLine], same: Mapping[str, str]) -> tuple[RosterLine, ...]:
    """Return the class list, on which everybody is called by their earlier ids as well."""
    earlier: dict[str, list[tuple[str, ...]]] = {}
    for old, new in same.items():
        earlier.setdefault(new, []).append(words_of(old))
    return tuple(replace(line, also=(*line.also, *earlier[line.learner]))
                 if line.learner in earlier else line for line in roster)


def _now(old: str, said: Mapping[str, str]) -> str:
    """Follow a chain of changed ids; a ring ends where it began."""
    seen = {old}
    while (new := said[old]) in said and new not in seen:
        seen.add(new)
        old = new
    return new
